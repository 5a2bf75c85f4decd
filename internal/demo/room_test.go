package demo

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
	"broodlight/internal/nest"
	"broodlight/internal/species"
)

var update = flag.Bool("update", false, "write the golden files anew")

// days are todays in each season of the calendar, on a leap day, on the days on which clocks change, and on the
// first and last day of a year.
var days = []string{"2026-01-13", "2026-03-29", "2027-07-01", "2028-02-29", "2026-10-25", "2026-12-31", "2027-01-01"}

func zone(tb testing.TB, name string) *time.Location {
	tb.Helper()
	loc, err := time.LoadLocation(name)
	if err != nil {
		tb.Fatal(err)
	}
	return loc
}

func TestRoom_SameSeedAndDayGiveTheSameBytes(t *testing.T) {
	today := aviary.MustDate(days[0])
	written := func(seed uint64) string {
		var b bytes.Buffer
		for _, e := range Room(seed, today, zone(t, "Europe/Dublin")) {
			body, err := aviary.EncodeBody(e.Body)
			if err != nil {
				t.Fatal(err)
			}
			fmt.Fprintln(&b, e.ID, e.Kind, e.Day, e.Time, e.Written, e.By, e.Batch, e.Strikes, string(body))
		}
		return b.String()
	}
	one := written(1)
	if one != written(1) {
		t.Error("the same seed gave another room")
	}
	if one == written(2) {
		t.Error("two seeds gave the same room")
	}
}

func TestRoom_EachEntryPassesTheDoorOnItsOwnDay(t *testing.T) {
	for seed := uint64(1); seed <= 4; seed++ {
		for _, day := range []string{days[0], days[2]} {
			room := aviary.NewRoom()
			for _, e := range Room(seed, aviary.MustDate(day), zone(t, "Europe/Dublin")) {
				if err := room.Check(e, e.Day); err != nil {
					t.Errorf("seed %d, %s: %s of %s at %s is refused: %v", seed, day, e.Kind, e.Day, e.Time, err)
				}
				room.Apply(e)
			}
		}
	}
}

func TestRoom_HoldsForManySeedsAndDays(t *testing.T) {
	for seed := uint64(1); seed <= 20; seed++ {
		for i, day := range days {
			if (int(seed)+i)%3 != 0 { // a third of all, so that each seed meets two days and more
				continue
			}
			t.Run(fmt.Sprintf("seed %d, %s", seed, day), func(t *testing.T) {
				today := aviary.MustDate(day)
				entries := Room(seed, today, zone(t, "America/New_York"))
				r := aviary.Replay(entries)
				holds(t, r, entries, today)
				wall(t, r, today)
			})
		}
	}
}

// holds checks what must hold of the books.
func holds(t *testing.T, r *aviary.Room, entries []*aviary.Entry, today aviary.Date) {
	t.Helper()
	for _, a := range r.Aside() {
		t.Errorf("%s of %s is set aside: %s", a.Entry.Kind, a.Entry.Day, a.Clash.Message)
	}
	for _, e := range entries {
		if e.Day >= today {
			t.Errorf("%s is of %s, and today is %s", e.Kind, e.Day, today)
		}
		if e.By == Helper && !aviary.MayWrite(aviary.Helper, e.Kind) {
			t.Errorf("%s of %s was written by the helper, who may not", e.Kind, e.Day)
		}
		if e.ID.Version() != 7 {
			t.Errorf("%s has an id of version %d", e.Kind, e.ID.Version())
		}
	}
	worn := map[aviary.Ring]aviary.ID{}
	var birds, bred, fostered int
	slugs := map[string]bool{}
	groups := map[species.Group]bool{}
	for _, b := range r.Birds() {
		birds++
		slugs[b.Species] = true
		groups[species.BySlug(b.Species).Group] = true
		for _, ring := range b.Rings {
			if other, twice := worn[ring.Ring]; twice && other != b.ID {
				t.Errorf("two birds wore the ring %s", ring.Ring)
			}
			worn[ring.Ring] = b.ID
		}
		if b.RingedAt == nil {
			continue
		}
		bred++
		l := r.Parents(b.ID)
		sire, dam := r.Bird(l.Sire), r.Bird(l.Dam)
		if sire == nil || dam == nil {
			t.Errorf("%s was bred here and its parents are not known: %+v", b.Label(), l)
			continue
		}
		if sire.Species != b.Species || dam.Species != b.Species {
			t.Errorf("%s is a %s of a %s and a %s", b.Label(), b.Species, sire.Species, dam.Species)
		}
		if b.RingedAt.LaidPlace != (aviary.ID{}) {
			fostered++
		}
		inherits(t, b, sire, dam)
	}
	if birds < 215 || birds > 300 || bred < 150 {
		t.Errorf("%d birds, %d of them bred here; about 260 and 200 are wanted", birds, bred)
	}
	if fostered == 0 {
		t.Error("no bird was reared by foster parents")
	}
	if len(slugs) != 6 || len(groups) != 4 {
		t.Errorf("%d species of %d groups, want 6 of 4", len(slugs), len(groups))
	}
	var before aviary.LampSet
	for _, l := range r.Whole().Lamps {
		off, _ := l.Off.Minutes()
		if was, ok := before.Off.Minutes(); ok && max(off-was, was-off) > 30 {
			t.Errorf("the lamps moved by %d minutes on %s", off-was, l.Day)
		}
		before = l.LampSet
	}
	if struck := r.StruckHistory(aviary.APlace, r.PlaceNamed("A1").ID); len(struck) != 1 {
		t.Errorf("%d struck entries at A1, want 1", len(struck))
	}
}

func shown(b *aviary.Bird, trait string) string {
	for _, l := range b.Looks {
		if l.Trait == trait {
			return l.Look
		}
	}
	return ""
}

// inherits checks the laws of heredity as far as looks show them: a hen of a cock that shows a recessive look on
// Z shows it too; two birds that show a recessive look on a body chromosome have only such young.
// Common knowledge of the trade, and any textbook of genetics.
func inherits(t *testing.T, b, sire, dam *aviary.Bird) {
	t.Helper()
	for trait, hidden := range map[string]string{"body": "fawn", "head": "black, tip not noted"} {
		if b.Sex == aviary.Hen && shown(sire, trait) == hidden && shown(b, trait) != hidden && shown(b, trait) != "" {
			t.Errorf("%s, a hen, is %s by a %s cock", b.Label(), shown(b, trait), hidden)
		}
		if b.Sex == aviary.Cock && shown(b, trait) == hidden && shown(dam, trait) != hidden {
			t.Errorf("%s, a cock, is %s out of a hen that is %s", b.Label(), hidden, shown(dam, trait))
		}
	}
	if shown(sire, "breast") == "white" && shown(dam, "breast") == "white" && shown(b, "breast") == "purple" {
		t.Errorf("%s has a purple breast, and both parents have white ones", b.Label())
	}
}

// wall checks what stands on the wall today.
func wall(t *testing.T, r *aviary.Room, today aviary.Date) {
	t.Helper()
	d := advice.At(r, today, 0)
	w := d.Wall()
	if n := len(w.Cages()); n != 48 || len(w.Banks) != 3 {
		t.Errorf("%d cages in %d bays, want 48 in 3", n, len(w.Banks))
	}
	if len(w.Flights) != 3 || len(w.Apart) != 2 {
		t.Errorf("%d flights and %d cages apart, want 3 and 2", len(w.Flights), len(w.Apart))
	}
	for _, h := range w.Flights {
		if h.Taken == 0 {
			t.Errorf("%s is empty", h.Place.Name)
		}
	}
	for _, s := range []advice.State{advice.Unoccupied, advice.AtRest, advice.NoNest, advice.Builds, advice.HasEggs, advice.HasChicks, advice.Fledged} {
		if w.States[s] == 0 {
			t.Errorf("no cage is in the state %q", s)
		}
	}
	n := map[advice.Attention]int{}
	kinds := map[advice.JobKind]int{}
	for _, j := range d.Round().Jobs {
		n[j.Attention]++
		kinds[j.Kind]++
	}
	if n[advice.Today] < 10 || n[advice.Today] > 16 || n[advice.Over] != 2 || n[advice.NotSure] != 2 {
		t.Errorf("today's jobs: %v; want 10 to 16 due, 2 over and 2 not sure", n)
	}
	for _, k := range []advice.JobKind{advice.CountJob, advice.CandleJob, advice.ChicksJob, advice.RingJob, advice.CountOutJob, advice.WeanJob, advice.NoNestJob, advice.QuestionJob, advice.OddJob} {
		if kinds[k] == 0 {
			t.Errorf("there is no job %q", k)
		}
	}
	if later := d.Round().Later; len(later) != 1 || later[0].Kind != advice.CandleJob {
		t.Errorf("put off: %v, want one candling", later)
	}
	stages := map[nest.StageKind]int{}
	for _, c := range w.Cages() {
		for _, x := range c.Nests {
			stages[x.Course.Stage.Kind]++
			if len(x.Course.Notes) > 0 && c.Attention != advice.Over {
				t.Errorf("%s: the looks do not fit: %v", c.Place.Name, x.Course.Notes)
			}
		}
	}
	for _, s := range []nest.StageKind{nest.Laying, nest.Sitting, nest.Hatching, nest.Chicks, nest.Out} {
		if stages[s] == 0 {
			t.Errorf("no nest is at the stage %q", s)
		}
	}
	if over := d.Nests(r.PlaceNamed("C12")); len(over) != 2 {
		t.Errorf("C12 has %d clutches, want a second one over young that are out", len(over))
	}
	if q := r.PlaceNamed("Quarantine"); q.BlockedUntil <= today || len(r.In(q.ID)) != 1 {
		t.Errorf("quarantine holds %d birds until %s", len(r.In(q.ID)), q.BlockedUntil)
	}
	if len(r.GroupsIn(r.PlaceNamed("Outdoor aviary").ID)) != 1 {
		t.Error("there is no group of unringed young in the outdoor aviary")
	}
	if left := d.AsFound().Left(); left > 0 {
		t.Errorf("%d cages were never walked, so the room would not count as set up", left)
	}
	if len(r.OpenOdds()) < 4 {
		t.Errorf("%d open matters, want 4", len(r.OpenOdds()))
	}
}

// TestRoom_Counts holds the room still: a change of the generator shows in the counts of a few seeds.
func TestRoom_Counts(t *testing.T) {
	var b strings.Builder
	today := aviary.MustDate(days[0])
	for seed := uint64(1); seed <= 3; seed++ {
		entries := Room(seed, today, zone(t, "Europe/Dublin"))
		r := aviary.Replay(entries)
		n := map[string]int{}
		for _, x := range r.Birds() {
			n["birds"]++
			if x.Here() {
				n["here"]++
			}
			if x.RingedAt != nil {
				n["ringed here"]++
			}
		}
		for _, p := range r.Places() {
			n["pairs"] += len(r.PairsAt(p.ID))
			n["clutches"] += len(p.Clutches)
		}
		fmt.Fprintf(&b, "seed %d: %d entries, %d birds, %d of them here, %d ringed here, %d pairs, %d clutches\n",
			seed, len(entries), n["birds"], n["here"], n["ringed here"], n["pairs"], n["clutches"])
	}
	const golden = "testdata/counts.txt"
	if *update {
		if err := os.WriteFile(golden, []byte(b.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), b.String()); diff != "" {
		t.Errorf("counts differ (-want +got):\n%s", diff)
	}
}
