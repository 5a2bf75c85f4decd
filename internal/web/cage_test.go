package web

import (
	"net/http"
	"strings"
	"testing"

	"broodlight/internal/aviary"
)

func cageOf(id aviary.ID) string { return "/cage/" + id.String() }

func TestCage_TellsHowItStands(t *testing.T) {
	m := roundRoom(t, Config{})
	m.get(cageOf(rA1)).wants(http.StatusOK, "A1: 5 full eggs, hatch 10–15 Jan (8 in 10).", "FC 24-31", "FC 24-76", "since 1 Nov 2025", "1st clutch", "Look for chicks", "Journal", "5 eggs, 0 chicks, 5 full",
		"Who lived here", "2 Aug 2025 to now", "Bay 1, row 1, column 1", "Laid here", "hatch 10–15 Jan", `class="pic`, "End the pair", "/pair/"+rid(2200).String()+"/end").sound()
	m.get(cageOf(rA7)).wants(http.StatusOK, "A7: nobody lives here.", "Nobody lives here, so nothing is due.", "/pair/new?place="+rA7.String(), "Empty").sound()
	m.get(cageOf(rFlight)).wants(http.StatusOK, "Flight 1: 0 birds of 30.", "Birds counted").sound()
	m.get(cageOf(rA6)).wants(http.StatusOK, "A6: the box is empty.", "A look into the box").sound()
	m.get(cageOf(rA3)).wants(http.StatusOK, "Also here", "FC 25-201", "See whether 3 young feed themselves").sound()
	m.get("/cage/"+rid(4242).String()).wants(http.StatusNotFound, "no such cage")
	m.get("/cage/xyz").wants(http.StatusNotFound)
}

func TestCage_EventsSayWhatTheyRestOn(t *testing.T) {
	m := roundRoom(t, Config{})
	a := m.get(cageOf(rA1)).wants(http.StatusOK, "Rests on", "Sitting from", "Ringing", "Fledging", "incubation", "Candled at a look")
	if !strings.Contains(a.Body.String(), "<summary>Its days, and what each rests on</summary>") {
		t.Error("the basis is more than one tap away")
	}
}

func TestCage_MoveEggsToAnotherNest(t *testing.T) {
	m := roundRoom(t, Config{})
	move := cageOf(rA5) + "/move"
	base := fields(t, m.get(cageOf(rA5)).Body.String(), move)
	m.post(move, with(base, "eggs", "2")...).wants(422, "Choose the cage whose nest takes them").sound()
	m.post(move, with(base, "eggs", "9", "to_place", rA6.String())...).wants(422, "9 eggs cannot go from a nest in which 5 were counted")
	m.post(move, with(base, "eggs", "-2", "to_place", rA6.String())...).wants(422, "-2 eggs cannot be")
	m.post(move, with(base, "to_place", rA6.String())...).wants(422, "Say how many eggs or chicks were moved")
	m.post(move, with(base, "eggs", "1", "to_place", rid(4242).String())...).wants(422)
	send := with(base, "eggs", "2", "to_place", rA6.String(), "marks", "a b")
	m.post(move, send...).wants(http.StatusSeeOther)
	m.post(move, send...).wants(http.StatusSeeOther) // a double tap
	_, b := last[*aviary.NestMoved](m, "nest_moved")
	if b.Eggs != 2 || b.ToPlace != rA6 || strings.Join(b.Marks, " ") != "a b" || len(m.entries("nest_moved")) != 1 {
		t.Errorf("written %+v, %d times", b, len(m.entries("nest_moved")))
	}
	m.get(cageOf(rA5)).wants(http.StatusOK, "A5: 3 eggs").sound()
	m.get(cageOf(rA6)).wants(http.StatusOK, "A6: 2 eggs", "2 eggs from A5 put in on 13 Jan").sound()
}

func TestCage_FosteredChickIsRingedWithItsOwnParents(t *testing.T) {
	m := roundRoom(t, Config{}, on("2026-01-06", &aviary.NestMoved{Place: rA5, ToPlace: rA2, Eggs: 1}))
	ring := cageOf(rA2) + "/ring"
	page := m.get("/round").card("Ring 3 chicks")
	if !strings.Contains(page, "Laid at A5") || !strings.Contains(page, "Laid here") {
		t.Fatalf("the card does not ask whose egg it was")
	}
	base := fields(t, page, ring)
	m.post(ring, with(base, "ring0", "FC 26-019", "on", "0", "laid", rA5.String(), "hatched", "2026-01-04")...).wants(http.StatusSeeOther)
	m.post(ring, with(base, "once", newID().String(), "ring0", "FC 26-020", "on", "0", "laid", "own", "hatched", "2026-01-04")...).wants(http.StatusSeeOther)
	m.post(ring, with(base, "once", newID().String(), "ring0", "FC 26-021", "on", "0", "laid", rid(4242).String())...).wants(422, "Choose the nest from the list")
	m.book.View(func(r *aviary.Room) {
		for number, hen := range map[string]aviary.ID{"019": rid(2104), "020": rid(2101)} {
			b := r.Wearer(aviary.Ring{Issuer: "FC", Year: 2026, Number: number})
			if b == nil || r.Parents(b.ID).Dam != hen {
				t.Errorf("ring %s: dam is not the hen whose egg it was", number)
			}
		}
	})
}

func TestCage_BoxHungCleanedSwappedTaken(t *testing.T) {
	m := roundRoom(t, Config{})
	box := cageOf(rA6) + "/box"
	old := rid(2305).String()
	m.post(box, "act", "clean", "box", old).wants(http.StatusSeeOther)
	m.get(cageOf(rA6)).wants(http.StatusOK, "cleaned 13 Jan 2026")
	m.post(box, "act", "swap", "box", old).wants(http.StatusSeeOther)
	m.post(box, "act", "hang", "name", "Low box").wants(http.StatusSeeOther)
	m.get(cageOf(rA6)).wants(http.StatusOK, "Low box", "Which box").sound()
	m.post(box, "act", "take", "box", rid(4242).String()).wants(422)
	m.post(box, "part", "box").wants(422, "Say what was done with the box")
	m.post(box, "part", "box", "act", "burn").wants(422)
	m.book.View(func(r *aviary.Room) {
		if n := len(r.Place(rA6).BoxesHung()); n != 2 {
			t.Errorf("%d boxes hang at A6, want 2", n)
		}
	})
	// One undo takes back the whole swap.
	e, _ := last[*aviary.BoxTaken](m, "box_taken")
	m.post("/strike", "id", e.Batch.String()).wants(http.StatusSeeOther)
	m.book.View(func(r *aviary.Room) {
		hung := r.Place(rA6).BoxesHung()
		if len(hung) != 2 || hung[0].ID.String() != old {
			t.Errorf("after the undo %+v hang there", hung)
		}
	})
}

func TestCage_WholeClutchPulledNeedsItsReason(t *testing.T) {
	m := roundRoom(t, Config{})
	pull := cageOf(rA4) + "/pull"
	base := fields(t, m.get(cageOf(rA4)).Body.String(), pull)
	m.post(pull, with(base, "eggs_removed", "3")...).wants(422, "Say why the clutch was pulled").sound()
	m.post(pull, with(base, "eggs_removed", "", "removed_why", "hen to rest")...).wants(422, "Say how many eggs were taken out")
	m.post(pull, with(base, "eggs_removed", "-3", "removed_why", "hen to rest")...).wants(422, "-3")
	m.post(pull, with(base, "eggs_removed", "3", "removed_why", "hen to rest")...).wants(http.StatusSeeOther)
	m.get(cageOf(rA4)).wants(http.StatusOK, "Clutches before", "3 taken out").sound()
}

func TestCage_CountedMaterialNote(t *testing.T) {
	m := roundRoom(t, Config{})
	m.post(cageOf(rA1)+"/count", "part", "count").wants(422, "Write how many birds you counted").sound()
	m.post(cageOf(rA1)+"/count", "part", "count", "found", "-1").wants(422, "-1 birds cannot be")
	a := m.post(cageOf(rA1)+"/count", "found", "1").wants(http.StatusSeeOther)
	m.follow(a).wants(http.StatusOK, "A1: 1 found, the book says 2. It is on the list")
	m.get("/sort").wants(http.StatusOK, "1 found, the book says 2")
	m.post(cageOf(rA1)+"/material", "what", "hay").wants(http.StatusSeeOther)
	m.post(cageOf(rA1)+"/note", "part", "note", "text", " ").wants(422, "The note is empty")
	m.post(cageOf(rA1)+"/note", "text", "hen <i>plucked</i>").wants(http.StatusSeeOther)
	m.get(cageOf(rA1)).wants(http.StatusOK, "Nest material given: hay", "Hen &lt;i&gt;plucked").lacks("<i>plucked").sound()
}

func TestCage_LookIsStruckAndCorrectedInTheJournal(t *testing.T) {
	m := roundRoom(t, Config{})
	m.post(cageOf(rA1)+"/check", "answer", "changed", "eggs", "4", "chicks", "2", "evened", "yes", "signs", "singing", "text", "loud").wants(http.StatusSeeOther)
	e, _ := last[*aviary.NestCheck](m, "nest_check")
	correct := cageOf(rA1) + "/correct/" + e.ID.String()
	page := m.get(correct).wants(http.StatusOK, "Correct the look of 13 Jan at A1", `name="eggs" type="number" inputmode="numeric" min="0" max="60" step="1" value="4"`, ">loud<", `value="2026-01-13"`, `value="06:48"`).sound()
	base := fields(t, page.Body.String(), correct)
	m.post(correct, with(base, "eggs", "-4", "chicks", "1")...).wants(422, "-4 eggs cannot be").sound()
	m.post(correct, with(base, "eggs", "4", "chicks", "1", "day", "2026-02-01")...).wants(422, "has not come yet")
	send := with(base, "eggs", "4", "chicks", "1", "day", "2026-01-13", "time", "06:48", "signs", "singing", "text", "loud")
	m.post(correct, send...).wants(http.StatusSeeOther)
	m.post(correct, send...).wants(http.StatusSeeOther) // a double tap
	anew, b := last[*aviary.NestCheck](m, "nest_check")
	if *b.Eggs != 4 || *b.Chicks != 1 || b.Text != "loud" || anew.Batch == (aviary.ID{}) {
		t.Errorf("corrected to %+v", b)
	}
	m.get(cageOf(rA1)).wants(http.StatusOK, `<li class="struck">`, "struck out 13 Jan by Keeper: corrected").sound()
	m.get(correct).wants(http.StatusConflict, "struck out already")
	// One strike puts the look back as it was.
	m.post("/strike", "id", anew.Batch.String()).wants(http.StatusSeeOther)
	m.book.View(func(r *aviary.Room) {
		if r.Struck(e.ID) || !r.Struck(anew.ID) {
			t.Error("the undo does not put the look back as it was")
		}
	})
	m.get(cageOf(rA1) + "/correct/" + rid(4242).String()).wants(http.StatusNotFound)
	m.get(cageOf(rA2) + "/correct/" + e.ID.String()).wants(http.StatusNotFound)
}

func TestCage_HelperCorrectsOnlyWhatHeWrote(t *testing.T) {
	m := roundRoom(t, Config{LAN: true})
	theirs, _ := last[*aviary.NestCheck](m, "nest_check")
	m.logIn("Tom", helperPhrase)
	m.post(cageOf(rA1)+"/check", "answer", "changed", "eggs", "5", "chicks", "0").wants(http.StatusSeeOther)
	mine, _ := last[*aviary.NestCheck](m, "nest_check")
	page := m.get(cageOf(rA1)).wants(http.StatusOK, "/correct/"+mine.ID.String())
	page.lacks("/correct/" + theirs.ID.String())
	correct := "/correct/" + mine.ID.String()
	m.post(cageOf(rA1)+correct, "answer", "changed", "eggs", "4", "chicks", "1").wants(http.StatusSeeOther)
	b := theirs.Body.(*aviary.NestCheck)
	m.post(cageOf(b.Place)+"/correct/"+theirs.ID.String(), "answer", "changed", "eggs", "4").wants(http.StatusForbidden)
}

func TestCage_BackdatedLookStandsInItsPlace(t *testing.T) {
	m := roundRoom(t, Config{})
	m.post(cageOf(rA5)+"/check", "answer", "changed", "eggs", "3", "chicks", "0", "day", "2026-01-04", "time", "08:00").wants(http.StatusSeeOther)
	_, b := last[*aviary.NestCheck](m, "nest_check")
	if *b.Eggs != 3 {
		t.Errorf("written %+v", b)
	}
	m.book.View(func(r *aviary.Room) {
		c := r.Place(rA5).Clutches[0]
		if eggs, _, _, _ := c.Known(); eggs != 5 || len(c.Entries()) != 3 {
			t.Errorf("a look of 4 Jan changes what was counted on the 6th: %d eggs, %d looks", eggs, len(c.Entries()))
		}
	})
}

func TestCage_ClutchBeyondTheLimitIsWarnedOfAfterwards(t *testing.T) {
	m := roundRoom(t, Config{}, on("2026-01-01", &aviary.SpeciesSet{Species: "zebra", Parameter: "max_clutches_per_season", High: some(1.0), Typical: some(1.0), Low: some(1.0)}),
		on("2026-01-09", &aviary.NestCheck{Place: rA4, Eggs: some(3), Removed: some(3), RemovedWhy: "clear"}),
		on("2026-01-11", &aviary.NestCheck{Place: rA4, Eggs: some(0), Chicks: some(0)}))
	a := m.post(cageOf(rA4)+"/check", "answer", "changed", "eggs", "1").wants(http.StatusSeeOther)
	m.follow(a).wants(http.StatusOK, "A4 saved: 1 egg", "the limit for Zebra finch is 1")
}
