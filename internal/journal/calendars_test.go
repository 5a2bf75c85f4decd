package journal

import (
	"bytes"
	"encoding/base64"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"broodlight/internal/aviary"
)

func TestCalendar_IsFoundByItsTokenUntilItIsRevoked(t *testing.T) {
	now := noon
	dir := t.TempDir()
	j, err := Open(dir, Options{Create: true, Now: func() time.Time { return now }})
	must(t, err)
	ann, err := j.AddPerson(ctx, "Ann", aviary.Keeper)
	must(t, err)
	ben, err := j.AddPerson(ctx, "Ben", aviary.Helper)
	must(t, err)
	first, err := j.AddCalendar(ctx, id(1), ann.ID, " phone ", []string{"wean", "hatch", "wean"})
	must(t, err)
	second, err := j.AddCalendar(ctx, id(2), ann.ID, "", nil)
	must(t, err)
	other, err := j.AddCalendar(ctx, id(3), ben.ID, "", nil)
	must(t, err)
	if raw, err := base64.RawURLEncoding.DecodeString(first); err != nil || len(raw) != 32 || first == second {
		t.Errorf("tokens %q and %q: want 256 bits each, %v", first, second, err)
	}
	finds := func(token string, want bool, n int) {
		t.Helper()
		c, ok, err := j.FindCalendar(ctx, token)
		if err != nil || ok != want || (ok && c.ID != id(n)) {
			t.Errorf("%q: %+v, %v, %v", token, c, ok, err)
		}
	}
	finds(first, true, 1)
	finds(second, true, 2)
	finds(other, true, 3)
	for _, wrong := range []string{"", first[1:], first + "A", strings.ToLower(first), strings.Repeat("A", 43)} {
		finds(wrong, false, 0)
	}
	mine, err := j.Calendars(ctx, ann.ID)
	must(t, err)
	if len(mine) != 2 || mine[0].Name != "phone" || !slices.Equal(mine[0].Kinds, []string{"hatch", "wean"}) || mine[1].Kinds != nil || !mine[0].LastRead.IsZero() || !mine[0].Made.Equal(now) || mine[0].Person != ann.ID {
		t.Errorf("%+v", mine)
	}

	read := func() time.Time {
		t.Helper()
		c, _, err := j.FindCalendar(ctx, first)
		must(t, err)
		must(t, j.NoteCalendarRead(ctx, c))
		c, _, err = j.FindCalendar(ctx, first)
		must(t, err)
		return c.LastRead
	}
	now = noon.Add(time.Hour)
	if got := read(); !got.Equal(now) {
		t.Errorf("read at %v, want %v", got, now)
	}
	at := now
	now = now.Add(30 * time.Second)
	if got := read(); !got.Equal(at) {
		t.Errorf("noted again within a minute: %v", got)
	}
	now = at.Add(-time.Hour) // the clock is set back
	if got := read(); !got.Equal(now) {
		t.Errorf("read at %v, want %v", got, now)
	}

	if err := j.RevokeCalendar(ctx, ben.ID, id(1)); !isRefused(err, aviary.NotFound, "calendar") {
		t.Errorf("somebody else's: %v", err)
	}
	must(t, j.RevokeCalendar(ctx, ann.ID, id(1)))
	finds(first, false, 0)
	if err := j.RevokeCalendar(ctx, ann.ID, id(1)); !isRefused(err, aviary.NotFound, "calendar") {
		t.Errorf("twice: %v", err)
	}
	must(t, j.RemovePerson(ctx, ben.ID))
	finds(other, false, 0)
	finds(second, true, 2)
	must(t, j.Close())
	data, err := os.ReadFile(filepath.Join(dir, FileName))
	must(t, err)
	for _, token := range []string{first, second, other} {
		if bytes.Contains(data, []byte(token)) {
			t.Error("the file holds a token itself")
		}
	}
	reader, err := OpenReadOnly(dir)
	must(t, err)
	defer reader.Close()
	if _, err := reader.AddCalendar(ctx, id(9), ann.ID, "", nil); !errors.Is(err, ErrNotWritable) {
		t.Errorf("read-only: %v", err)
	}
}

func TestCalendar_Refusals(t *testing.T) {
	j := mustOpen(t, t.TempDir())
	ann, err := j.AddPerson(ctx, "Ann", aviary.Keeper)
	must(t, err)
	for _, c := range []struct {
		name  string
		kinds []string
		field string
	}{
		{strings.Repeat("x", longestCalendar+1), nil, "name"},
		{"a\x00b", nil, "name"},
		{"", []string{"hatch,wean"}, "kinds"},
		{"", []string{""}, "kinds"},
		{"", []string{strings.Repeat("x", longestKinds+1)}, "kinds"},
	} {
		if _, err := j.AddCalendar(ctx, id(1), ann.ID, c.name, c.kinds); !isRefused(err, aviary.Invalid, c.field) {
			t.Errorf("%q, %q: %v", c.name, c.kinds, err)
		}
	}
	if _, err := j.AddCalendar(ctx, id(1), id(99), "", nil); !isRefused(err, aviary.NotFound, "person") {
		t.Errorf("nobody's: %v", err)
	}
	_, err = j.AddCalendar(ctx, id(1), ann.ID, "", nil)
	must(t, err)
	if _, err := j.AddCalendar(ctx, id(1), ann.ID, "", nil); !isRefused(err, aviary.Conflict, "") || !strings.Contains(err.Error(), "made already") {
		t.Errorf("the same form twice: %v", err)
	}
	for n := 2; n <= calendarsOfPerson; n++ {
		_, err := j.AddCalendar(ctx, id(n), ann.ID, "", nil)
		must(t, err)
	}
	if _, err := j.AddCalendar(ctx, id(50), ann.ID, "", nil); !isRefused(err, aviary.Conflict, "") || !strings.Contains(err.Error(), "20 calendar addresses") {
		t.Errorf("one too many: %v", err)
	}
}

func TestCalendar_OfAReleasedForm(t *testing.T) {
	data, err := os.ReadFile("testdata/room-0003.db")
	must(t, err)
	dir := t.TempDir()
	must(t, os.WriteFile(filepath.Join(dir, FileName), data, 0o600))
	j, err := OpenReadOnly(dir)
	must(t, err)
	defer j.Close()
	people, err := j.People(ctx)
	must(t, err)
	list, err := j.Calendars(ctx, people[0].ID)
	must(t, err)
	if len(list) != 1 || list[0].ID != id(40) || list[0].Name != "kitchen" || !slices.Equal(list[0].Kinds, []string{"hatch", "ring"}) || !list[0].LastRead.IsZero() {
		t.Errorf("%+v", list)
	}
}
