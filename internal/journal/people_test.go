package journal

import (
	"bytes"
	"crypto/subtle"
	"encoding/base64"
	"encoding/hex"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"golang.org/x/crypto/argon2"

	"broodlight/internal/aviary"
)

func TestPeople_AddListRemove(t *testing.T) {
	j := mustOpen(t, t.TempDir())
	ann, err := j.AddPerson(ctx, "  Ann ", aviary.Keeper)
	must(t, err)
	ben, err := j.AddPerson(ctx, "Ben", aviary.Helper)
	must(t, err)
	for _, c := range []struct {
		name  string
		role  aviary.Role
		code  aviary.Code
		field string
	}{
		{"", aviary.Helper, aviary.Invalid, "name"},
		{"   ", aviary.Helper, aviary.Invalid, "name"},
		{"ANN", aviary.Helper, aviary.Conflict, "name"},
		{"Cas", "owner", aviary.Invalid, "role"},
		{"a\x00b", aviary.Helper, aviary.Invalid, "name"},
		{"\xff", aviary.Helper, aviary.Invalid, "name"},
		{strings.Repeat("x", longestName+1), aviary.Helper, aviary.Invalid, "name"},
	} {
		if _, err := j.AddPerson(ctx, c.name, c.role); !isRefused(err, c.code, c.field) {
			t.Errorf("%q, %q: %v", c.name, c.role, err)
		}
	}
	must(t, j.SetPassphrase(ctx, ben.ID, "a long enough phrase"))
	people, err := j.People(ctx)
	must(t, err)
	if want := []Person{{ann.ID, "Ann", aviary.Keeper, false}, {ben.ID, "Ben", aviary.Helper, true}}; len(people) != 2 || people[0] != want[0] || people[1] != want[1] {
		t.Errorf("%+v", people)
	}
	must(t, j.SetPassphrase(ctx, ann.ID, "another long phrase"))
	if err := j.RemovePerson(ctx, ann.ID); !isRefused(err, aviary.Conflict, "person") {
		t.Errorf("the last keeper: %v", err)
	}
	must(t, j.RemovePerson(ctx, ben.ID))
	if err := j.RemovePerson(ctx, ben.ID); !isRefused(err, aviary.NotFound, "person") {
		t.Errorf("twice: %v", err)
	}
	must(t, j.RemovePerson(ctx, ann.ID))
	var left int
	if err := j.db.QueryRow(`SELECT (SELECT count(*) FROM passphrase) + (SELECT count(*) FROM session) + (SELECT count(*) FROM person)`).Scan(&left); err != nil || left != 0 {
		t.Errorf("%d rows left, %v", left, err)
	}
}

func TestPassphrase_IsCheckedAndNotKept(t *testing.T) {
	dir := t.TempDir()
	j := mustOpen(t, dir)
	ann, err := j.AddPerson(ctx, "Ann", aviary.Keeper)
	must(t, err)
	const phrase = "finches sing at six"
	check := func(person aviary.ID, phrase string, want bool) {
		t.Helper()
		if ok, err := j.CheckPassphrase(ctx, person, phrase); ok != want || err != nil {
			t.Errorf("%q: %v, %v", phrase, ok, err)
		}
	}
	check(ann.ID, "", false) // none is set
	check(ann.ID, phrase, false)
	must(t, j.SetPassphrase(ctx, ann.ID, phrase))
	check(ann.ID, phrase, true)
	for _, wrong := range []string{"", phrase + " ", phrase[1:], strings.ToUpper(phrase), strings.Repeat("x", 1<<20)} {
		check(ann.ID, wrong, false)
	}
	check(id(99), phrase, false)
	for _, c := range []struct{ phrase, says string }{{"short", "at least 8"}, {strings.Repeat("x", 201), "at most"}, {"\xff\xff\xff\xff\xff\xff\xff\xff\xff", "cannot be read"}} {
		if err := j.SetPassphrase(ctx, ann.ID, c.phrase); !isRefused(err, aviary.Invalid, "passphrase") || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%q: %v", c.phrase, err)
		}
	}
	if err := j.SetPassphrase(ctx, id(99), phrase); !isRefused(err, aviary.NotFound, "person") {
		t.Errorf("nobody: %v", err)
	}
	check(ann.ID, phrase, true)
	token, err := j.NewSession(ctx, ann.ID)
	must(t, err)
	var hash string
	must(t, j.db.QueryRow(`SELECT hash FROM passphrase`).Scan(&hash))
	if !strings.HasPrefix(hash, "$argon2id$v=19$m=65536,t=1,p=2$") {
		t.Errorf("hash %s", hash)
	}
	must(t, j.Close())
	for _, f := range []string{FileName} {
		data, err := os.ReadFile(filepath.Join(dir, f))
		must(t, err)
		if bytes.Contains(data, []byte(phrase)) || bytes.Contains(data, []byte(token)) {
			t.Errorf("%s holds the passphrase or the token itself", f)
		}
	}
}

// The string is a test vector of the argon2 reference implementation (P-H-C/phc-winner-argon2, src/test.c:
// argon2id, version 0x13, t=2, m=2^16 KiB, p=1, password "password", salt "somesalt"), quoted from memory;
// that it comes out confirms it.
func TestPassphrase_ReadsThePHCStringOfTheReferenceImplementation(t *testing.T) {
	const encoded = "$argon2id$v=19$m=65536,t=2,p=1$c29tZXNhbHQ$CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc"
	if ok, err := matches("password", encoded); !ok || err != nil {
		t.Errorf("%v, %v", ok, err)
	}
	key := argon2.IDKey([]byte("password"), []byte("somesalt"), 2, 64*1024, 1, 32)
	want, err := hex.DecodeString("09316115d5cf24ed5a15a31a3ba326e5cf32edc24702987c02b6566f61913cf7")
	if err != nil || subtle.ConstantTimeCompare(key, want) != 1 {
		t.Errorf("got %x", key)
	}
	for _, bad := range []string{
		"", "x", "$argon2i$v=19$m=65536,t=2,p=1$c29tZXNhbHQ$aaaa", "$argon2id$v=16$m=65536,t=2,p=1$c29tZXNhbHQ$aaaa",
		"$argon2id$v=19$m=65536,t=0,p=1$c29tZXNhbHQ$aaaa", "$argon2id$v=19$m=65536,t=1,p=0$c29tZXNhbHQ$aaaa", "$argon2id$v=19$m=4294967295,t=1,p=1$c29tZXNhbHQ$aaaa",
		"$argon2id$v=19$m=64,t=1,p=1$!$aaaa", "$argon2id$v=19$m=64,t=1,p=1$c29tZXNhbHQ$", "$argon2id$v=19$m=64,t=1,p=1$c29tZXNhbHQ$!",
	} {
		if ok, err := matches("password", bad); ok || !errors.Is(err, ErrDamaged) {
			t.Errorf("%q: %v, %v", bad, ok, err)
		}
	}
	if got := phc("password", []byte("0123456789abcdef")); !strings.HasSuffix(got, base64.RawStdEncoding.EncodeToString(argon2.IDKey([]byte("password"), []byte("0123456789abcdef"), 1, 64*1024, 2, 32))) {
		t.Errorf("got %s", got)
	}
}

func TestSession_LastsWhileItIsUsed(t *testing.T) {
	now := noon
	dir := t.TempDir()
	j, err := Open(dir, Options{Create: true, Now: func() time.Time { return now }})
	must(t, err)
	defer j.Close()
	ann, err := j.AddPerson(ctx, "Ann", aviary.Keeper)
	must(t, err)
	token, err := j.NewSession(ctx, ann.ID)
	must(t, err)
	other, err := j.NewSession(ctx, ann.ID)
	must(t, err)
	if token == other || len(token) < 26 {
		t.Errorf("tokens %q and %q", token, other)
	}
	in := func(token string, want bool) {
		t.Helper()
		p, ok, err := j.Session(ctx, token)
		if ok != want || err != nil || (ok && (p.Name != "Ann" || p.Role != aviary.Keeper || p.ID != ann.ID)) {
			t.Errorf("%+v, %v, %v", p, ok, err)
		}
	}
	in(token, true)
	in("", false)
	in(strings.ToLower(token), false)
	for range 5 { // used every ten days, it lasts
		now = now.AddDate(0, 0, 10)
		in(token, true)
	}
	in(other, false) // not used for more than a month
	now = now.AddDate(0, 0, 31)
	in(token, false)
	var n int
	if err := j.db.QueryRow(`SELECT count(*) FROM session`).Scan(&n); err != nil || n != 0 {
		t.Errorf("%d stale log-ins are kept, %v", n, err)
	}
	if token, err = j.NewSession(ctx, ann.ID); err != nil {
		t.Fatal(err)
	}
	must(t, j.EndSession(ctx, token))
	must(t, j.EndSession(ctx, token))
	in(token, false)
	if token, err = j.NewSession(ctx, ann.ID); err != nil {
		t.Fatal(err)
	}
	must(t, j.SetPassphrase(ctx, ann.ID, "a long enough phrase"))
	in(token, false) // a changed passphrase ends log-ins
	if token, err = j.NewSession(ctx, ann.ID); err != nil {
		t.Fatal(err)
	}
	must(t, j.RemovePerson(ctx, ann.ID))
	in(token, false)
	if _, err := j.NewSession(ctx, ann.ID); !isRefused(err, aviary.NotFound, "person") {
		t.Errorf("nobody: %v", err)
	}
}

func TestSetting_KeepsReplacesErases(t *testing.T) {
	j := mustOpen(t, t.TempDir())
	is := func(want string) {
		t.Helper()
		if got, err := j.Setting(ctx, "vet_phone"); got != want || err != nil {
			t.Errorf("got %q, %v; want %q", got, err, want)
		}
	}
	is("")
	for _, v := range []string{"01 234", "05 678", ""} {
		must(t, j.SetSetting(ctx, "vet_phone", v))
		is(v)
	}
	if err := j.SetSetting(ctx, "vet_phone", strings.Repeat("x", longestSetting+1)); !isRefused(err, aviary.Invalid, "vet_phone") {
		t.Errorf("too long: %v", err)
	}
}

func TestContact_IsErasedFromTheBytesOfTheFile(t *testing.T) {
	dir := t.TempDir()
	j := mustOpen(t, dir)
	const name, address = "Zebedee Quill", "12 Lantern Row, telephone 555 0199"
	c, err := j.AddContact(ctx, " "+name+" ", address)
	must(t, err)
	kept, err := j.AddContact(ctx, "Mo Reed", "")
	must(t, err)
	all, err := j.Contacts(ctx)
	must(t, err)
	if len(all) != 2 || all[0] != kept || all[1] != (Contact{c.ID, name, address}) {
		t.Errorf("%+v", all)
	}
	holds := func() bool {
		for _, f := range []string{FileName, FileName + "-wal"} {
			data, err := os.ReadFile(filepath.Join(dir, f))
			if err == nil && (bytes.Contains(data, []byte("Zebedee")) || bytes.Contains(data, []byte("Lantern Row"))) {
				return true
			}
		}
		return false
	}
	if !holds() {
		t.Fatal("the test looks in the wrong place")
	}
	must(t, j.EraseContact(ctx, c.ID))
	if holds() {
		t.Error("the erased address is still in the file")
	}
	if err := j.EraseContact(ctx, c.ID); !isRefused(err, aviary.NotFound, "contact") {
		t.Errorf("twice: %v", err)
	}
	for _, bad := range []struct{ name, address, field string }{{"", "x", "name"}, {"Mo", strings.Repeat("x", longestContact+1), "address"}} {
		if _, err := j.AddContact(ctx, bad.name, bad.address); !isRefused(err, aviary.Invalid, bad.field) {
			t.Errorf("%+v: %v", bad, err)
		}
	}
}
