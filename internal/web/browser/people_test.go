//go:build browser

package browser_test

import (
	"sync"
	"testing"

	"broodlight/internal/aviary"
	"broodlight/internal/web"
)

const (
	keeperPhrase = "four plain words here"
	helperPhrase = "seed and water daily"
)

// lanWall is the small room as it is opened to the network, with a keeper and a helper who log in.
func lanWall(t *testing.T) *wall {
	t.Helper()
	w := &wall{}
	w.furnish()
	w.site = open(t, t.TempDir(), morning)
	w.write(w.entries...)
	for name, role := range map[string]aviary.Role{"Nora": aviary.Keeper, "Tom": aviary.Helper} {
		person, err := w.book.AddPerson(t.Context(), name, role)
		if err == nil {
			err = w.book.SetPassphrase(t.Context(), person.ID, map[aviary.Role]string{aviary.Keeper: keeperPhrase, aviary.Helper: helperPhrase}[role])
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	w.start(web.Config{LAN: true})
	w.clock.move(lidsMayBeLifted)
	return w
}

// logIn logs somebody in on a phone of his own.
func (w *wall) logIn(name, phrase string) *tab {
	w.Helper()
	p := w.tab(phone)
	p.load(navigate(w.url + "/round"))
	p.fill("Name…", name)
	p.fill("Passphrase…", phrase)
	p.follow("button", "Log in")
	return p
}

// TestPeople_LogIn keeps everybody out who is not known, and a helper from what is the keeper's.
func TestPeople_LogIn(t *testing.T) {
	t.Parallel()
	w := lanWall(t)
	axe := axeSource(t)
	p := w.tab(phone, light)
	p.load(navigate(w.url + "/wall"))
	p.lacks("A1", "FC 24-004", "Back room")
	for _, said := range p.axe(axe, true) {
		t.Errorf("log-in, axe: %s", said)
	}
	for _, said := range p.sideways() {
		t.Errorf("log-in is too wide: %s", said)
	}
	p.shot("journey-login", false)
	p.expectStatus(401)
	p.expectStatus(403)
	p.expectStatus(422)
	p.fill("Name…", "Tom")
	p.fill("Passphrase…", "not this one")
	if status := p.follow("button", "Log in"); status == 200 {
		t.Error("a wrong passphrase is taken")
	}
	p.lacks("A1", "FC 24-004")
	p.fill("Name…", "Tom")
	p.fill("Passphrase…", helperPhrase)
	p.follow("button", "Log in")
	if got := p.path(); got != "/wall" {
		t.Errorf("after the log-in the helper is on %s, want the wall that he asked for", got)
	}

	// a helper writes a look under his own name
	p.show("/round")
	before := len(w.standing("nest_check"))
	p.in(inHand).follow("button", "Looked, same…")
	if list := w.standing("nest_check"); len(list) != before+1 || list[before].By != "Tom" && lastBy(list) != "Tom" {
		t.Errorf("the look is not written by Tom")
	}
	// ringing is the keeper's, and so are birds
	p.wantJob("B1 Ring 3 chicks")
	p.says("Ringing is the keeper's")
	p.shot("journey-helper", false)
	p.show("/birds")
	if p.has("link", "Add a bird") {
		t.Error("a helper is offered to add a bird")
	}
	if status := p.load(navigate(w.url + "/birds/new")); status != 403 {
		t.Errorf("a helper gets the form for a bird with status %d, want 403", status)
	}
	p.says("This is for the keeper")
	p.show("/cage/" + w.b2.String())
	if p.has("link", "End the pair") || p.has("DisclosureTriangle", "Nest box hung…") {
		t.Error("a helper is offered to end a pair, or to take a box out")
	}

	// the keeper may
	k := w.logIn("Nora", keeperPhrase)
	k.show("/birds/new")
	k.show("/settings/people")
	k.says("Tom")
}

func lastBy(list []*aviary.Entry) string {
	var late *aviary.Entry
	for _, e := range list {
		if late == nil || e.Written.After(late.Written) {
			late = e
		}
	}
	return late.By
}

// TestPeople_TwoPhonesOneCage lets two phones write the same cage in the same minute: both looks are kept.
func TestPeople_TwoPhonesOneCage(t *testing.T) {
	t.Parallel()
	w := lanWall(t)
	nora, tom := w.logIn("Nora", keeperPhrase), w.logIn("Tom", helperPhrase)
	before := len(w.standing("nest_check"))
	// both have the same card in hand, and each has seen something
	nora.wantJob("A1 Look for chicks")
	tom.wantJob("A1 Look for chicks")
	nora.in(inHand).tap("button", "One more chick")
	tom.in(inHand).tap("button", "One more chick")
	tom.in(inHand).tap("button", "One more chick")
	a, b := nora.in(inHand).find("button", "Save 4 eggs, 1 chick…"), tom.in(inHand).find("button", "Save 3 eggs, 2 chicks…")
	var both sync.WaitGroup
	for _, s := range []*spot{a, b} {
		both.Go(func() { s.p.load(s.press()) })
	}
	both.Wait()
	if got := len(w.standing("nest_check")); got != before+2 {
		t.Fatalf("%d looks stand, want both kept beside the %d before", got, before)
	}
	by := map[string]int{}
	for _, e := range w.standing("nest_check") {
		if c := e.Body.(*aviary.NestCheck); c.Place == w.a1 && e.Day == demoDay {
			by[e.By] = *c.Chicks
		}
	}
	if by["Nora"] != 1 || by["Tom"] != 2 {
		t.Errorf("kept are %v, want 1 chick by Nora and 2 by Tom", by)
	}
	// both see both
	nora.show("/cage/" + w.a1.String())
	nora.says("4 eggs, 1 chick", "3 eggs, 2 chicks")
}
