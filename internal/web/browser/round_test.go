//go:build browser

package browser_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"broodlight/internal/aviary"
	"broodlight/internal/web"
)

// lidsMayBeLifted is how long after the morning the round begins: at 09:00, when hens have fed.
const lidsMayBeLifted = 2*time.Hour + 12*time.Minute

// inHand is the card that is to be done now.
const inHand = ".job.now"

// job is the title of the card in hand.
func (p *tab) job() string {
	p.Helper()
	return js[string](p, `(() => { const j = document.querySelector(".job.now"); return j ? j.querySelector(".plate").textContent.trim() + " " + j.querySelector("h2").textContent.trim() : ""; })()`)
}

// wantJob waits until a job is in hand.
func (p *tab) wantJob(want string) {
	p.Helper()
	p.wait(fmt.Sprintf("%q is in hand (it is %q)", want, p.job()), func() bool { return p.job() == want })
}

// TestRound_GoesByThumb takes the round as it is meant to go: two taps a nest.
func TestRound_GoesByThumb(t *testing.T) {
	t.Parallel()
	w := smallWall(t, web.Config{})
	w.move(lidsMayBeLifted)
	p := w.open(phone, "/round")
	if got, want := p.headline(), "Morning round: 0 of 3 done, 3 left"; got != want {
		t.Fatalf("the headline says %q, want %q", got, want)
	}
	p.wantJob("A1 Look for chicks")
	p.shot("journey-round-1", false)

	// one tap: a chick more takes one egg, and the button says so
	card := p.in(inHand)
	before := len(w.standing("nest_check"))
	card.tap("button", "One more chick")
	if eggs, chicks := card.value("eggs"), card.value("chicks"); eggs != "4" || chicks != "1" {
		t.Fatalf("after one tap there are %s eggs and %s chicks, want 4 and 1", eggs, chicks)
	}
	save := card.find("button", "Save …")
	if !strings.Contains(save.name, "4 eggs") || !strings.Contains(save.name, "1 chick") {
		t.Errorf("the button says %q, not what will be saved", save.name)
	}
	p.shot("journey-round-2", false)

	// the second tap saves, and the next job is open
	save.follow()
	p.wantJob("B1 Ring 3 chicks")
	p.says("1 of 3 done, 2 left", "A1 saved")
	look := last[*aviary.NestCheck](w.site, before+1)
	if *look.Eggs != 4 || *look.Chicks != 1 || look.Place != w.a1 {
		t.Errorf("written is %+v", look)
	}
	p.shot("journey-round-3", false)

	// undo brings it back, and the look stays in the books as struck out
	p.in(".undo").follow("button", "Undo")
	p.wantJob("A1 Look for chicks")
	if got := len(w.standing("nest_check")); got != before {
		t.Errorf("after Undo %d looks stand, want %d", got, before)
	}
	if eggs := p.in(inHand).value("eggs"); eggs != "5" {
		t.Errorf("after Undo the card says %s eggs, want 5", eggs)
	}

	// the usual case is one tap
	p.in(inHand).follow("button", "Looked, same…")
	p.wantJob("B1 Ring 3 chicks")

	// rings: the next ones of the list stand there
	card = p.in(inHand)
	if ring := js[string](p, `document.querySelector(".job.now .ringin").value`); ring != "FC 26-019" {
		t.Errorf("the first ring offered is %q, want FC 26-019", ring)
	}
	for _, on := range card.all("checkbox", "On") {
		on.tap()
	}
	card.find("button", "Save 3 rings…").follow()
	p.wantJob("A2 Candle 5 eggs")
	if got := len(w.standing("chick_ringed")); got != 3 {
		t.Errorf("%d chicks are ringed, want 3", got)
	}

	// candling by tapping eggs: once is full, twice is clear
	card = p.in(inHand)
	for n, taps := range []int{1, 1, 2, 1, 0} {
		for range taps {
			card.tap("button", fmt.Sprintf("Egg %d…", n+1))
		}
	}
	save = card.find("button", "Save 3 full, 1 clear…")
	p.shot("journey-round-4", false)
	save.follow()
	p.says("all 3 done")
	candled := last[*aviary.NestCheck](w.site, before+2)
	if got := strings.Join(candled.Candled, ","); got != "fertile,fertile,clear,fertile" && got != "fertile,fertile,clear,fertile," {
		t.Errorf("candled is %q", got)
	}
	p.shot("journey-round-5", true)
}

// TestRound_PutsOffWithAReason puts a job off and brings it back.
func TestRound_PutsOffWithAReason(t *testing.T) {
	t.Parallel()
	w := smallWall(t, web.Config{})
	w.move(lidsMayBeLifted)
	p := w.open(phone, "/round")
	card := p.in(inHand)
	card.tap("DisclosureTriangle", "Later")
	card.fill("Why if you like", "hen restless")
	card.follow("button", "Put it off")
	p.wantJob("B1 Ring 3 chicks")
	p.says("Put off", "until 14 Jan: hen restless")
	skip := last[*aviary.JobSkipped](w.site, 1)
	if skip.Place != w.a1 || skip.Reason != "hen restless" {
		t.Errorf("written is %+v", skip)
	}
	p.follow("button", "Bring back")
	p.wantJob("A1 Look for chicks")

	// something odd is two taps on
	card = p.in(inHand)
	card.tap("DisclosureTriangle", "Something odd")
	card.follow("button", "Water out")
	if odd := last[*aviary.OddSeen](w.site, 1); odd.What != "water out" || odd.Place != w.a1 {
		t.Errorf("written is %+v", odd)
	}
	p.show("/sort")
	p.says("Water out")
}

// TestRound_WholeRoomSeen closes what only wanted a look, but for a cage.
func TestRound_WholeRoomSeen(t *testing.T) {
	t.Parallel()
	w := smallWall(t, web.Config{})
	w.move(lidsMayBeLifted)
	p := w.open(phone, "/round")
	p.tap("DisclosureTriangle", "Whole room seen, all well but…")
	p.tap("checkbox", "B2")
	p.follow("button", "Whole room seen")
	seen := last[*aviary.RoundSeen](w.site, 1)
	if len(seen.Except) != 1 || seen.Except[0] != w.b2 {
		t.Errorf("written is %+v, want all but B2", seen)
	}
	p.says("09:00")
}

// TestRound_WithoutScripts takes the same round where scripts do not run: every form is a form.
func TestRound_WithoutScripts(t *testing.T) {
	t.Parallel()
	w := smallWall(t, web.Config{})
	w.move(lidsMayBeLifted)
	p := w.open(phone, "/round", noScript)
	if js[bool](p, `document.documentElement.dataset.theme === "off" || !!document.querySelector(".count button")`) {
		t.Fatal("scripts run where they should not")
	}
	p.wantJob("A1 Look for chicks")
	p.shot("journey-noscript", true)
	before := len(w.standing("nest_check"))

	card := p.in(inHand)
	card.fill("chicks", "1")
	card.follow("button", "Save changes…")
	p.wantJob("B1 Ring 3 chicks")
	look := last[*aviary.NestCheck](w.site, before+1)
	if *look.Eggs != 4 || *look.Chicks != 1 {
		t.Errorf("written is %d eggs and %d chicks, want 4 and 1", *look.Eggs, *look.Chicks)
	}

	p.in(".undo").follow("button", "Undo")
	p.wantJob("A1 Look for chicks")
	p.in(inHand).follow("button", "Looked, same…")
	p.wantJob("B1 Ring 3 chicks")

	card = p.in(inHand)
	for _, on := range card.all("checkbox", "On") {
		on.tap()
	}
	card.follow("button", "Save rings…")
	p.wantJob("A2 Candle 5 eggs")

	card = p.in(inHand)
	for n, what := range []string{"full", "full", "clear", "full"} {
		card.choose(fmt.Sprintf("Egg %d", n+1), what)
	}
	card.follow("button", "Save candling…")
	p.says("all 3 done")
	if got := len(w.standing("chick_ringed")); got != 3 {
		t.Errorf("%d chicks are ringed, want 3", got)
	}

	// a fold opens without scripts, and skipping is a form as well
	p.show("/cage/" + w.b2.String())
	p.tap("DisclosureTriangle", "Something odd")
	p.follow("button", "Water out")
	if got := len(w.standing("odd_seen")); got != 1 {
		t.Errorf("%d odd things are written, want 1", got)
	}
}
