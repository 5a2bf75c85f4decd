package advice

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"broodlight/internal/aviary"
	"broodlight/internal/nest"
)

func names(list []Tally) string {
	var out []string
	for _, t := range list {
		out = append(out, fmt.Sprintf("%s %d", t.Name, t.Was))
	}
	return strings.Join(out, ", ")
}

// What a look counts follows the nest: eggs while laying, chicks and dead from hatch on, young out from fledging on.
func TestTallies_FollowTheStage(t *testing.T) {
	b := zebras(t)
	b.add("2026-01-19", &aviary.NestCheck{Place: a1, Eggs: ptr(0), Chicks: ptr(0)})
	ask := func(day string) string {
		t.Helper()
		d := b.desk(day)
		ns := d.Nests(d.Room.Place(a1))
		if len(ns) == 0 {
			return names(d.Tallies(nil))
		}
		return names(d.Tallies(ns[0]))
	}
	steps := []struct {
		day, want string
		see       aviary.Body
	}{
		{"2026-01-20", "eggs 0", &aviary.NestCheck{Place: a1, Eggs: ptr(1), Chicks: ptr(0)}},
		{"2026-01-24", "eggs 1", &aviary.NestCheck{Place: a1, Eggs: ptr(5), Chicks: ptr(0)}},
		{"2026-01-30", "eggs 5, clear 0", &aviary.NestCheck{Place: a1, Eggs: ptr(5), Chicks: ptr(0), Candled: []string{"fertile", "fertile", "fertile", "fertile", "clear"}}},
		{"2026-02-08", "eggs 5, chicks 0, dead_chicks 0, clear 1", &aviary.NestCheck{Place: a1, Eggs: ptr(1), Chicks: ptr(4)}},
		{"2026-02-12", "eggs 1, chicks 4, dead_chicks 0", &aviary.NestCheck{Place: a1, Eggs: ptr(1), Chicks: ptr(4), Removed: ptr(1)}},
		{"2026-02-13", "chicks 4, dead_chicks 0", &aviary.NestCheck{Place: a1, Chicks: ptr(3), DeadChicks: ptr(1)}},
		{"2026-02-27", "chicks 3, dead_chicks 0, out 0", &aviary.NestCheck{Place: a1, Eggs: ptr(0), Chicks: ptr(0), Out: ptr(3)}},
		{"2026-03-02", "out 3, dead_chicks 0", nil},
	}
	for _, s := range steps {
		if got := ask(s.day); got != s.want {
			t.Errorf("%s: a look counts %q, want %q", s.day, got, s.want)
		}
		if s.see != nil {
			b.add(s.day, s.see)
		}
	}
}

func TestReckon_WhatAppearsTakesFromWhatWasThere(t *testing.T) {
	n := func(eggs, chicks, dead, out int) Counted { return Counted{&eggs, &chicks, &dead, &out} }
	show := func(c Counted) string { return fmt.Sprintf("%d %d %d %d", *c.Eggs, *c.Chicks, *c.Dead, *c.Out) }
	for _, c := range []struct {
		name    string
		was, is Counted
		want    string
	}{
		{"nothing changed", n(5, 0, 0, 0), n(5, 0, 0, 0), "5 0 0 0"},
		{"one chick takes one egg", n(5, 0, 0, 0), n(5, 1, 0, 0), "4 1 0 0"},
		{"three chicks more take three eggs", n(3, 2, 0, 0), n(3, 5, 0, 0), "0 5 0 0"},
		{"an egg count that was changed stands", n(5, 0, 0, 0), n(3, 1, 0, 0), "3 1 0 0"},
		{"no more eggs go than there are", n(1, 0, 0, 0), n(1, 3, 0, 0), "0 3 0 0"},
		{"a dead chick takes a live one", n(1, 4, 0, 0), n(1, 4, 1, 0), "1 3 1 0"},
		{"a dead chick in a nest without live ones takes an egg", n(4, 0, 0, 0), n(4, 0, 1, 0), "3 0 1 0"},
		{"chicks and a dead one at the first hatch take as many eggs", n(5, 0, 0, 0), n(5, 2, 1, 0), "2 2 1 0"},
		{"a chick count that was changed stands", n(1, 4, 0, 0), n(1, 3, 1, 0), "1 3 1 0"},
		{"young out leave the box", n(0, 4, 0, 0), n(0, 4, 0, 3), "0 1 0 3"},
		{"out and dead together", n(0, 4, 0, 1), n(0, 4, 1, 3), "0 1 1 3"},
	} {
		got, said := Reckon(c.was, c.is)
		if show(got) != c.want {
			t.Errorf("%s: got eggs, chicks, dead, out %s, want %s", c.name, show(got), c.want)
		}
		if (said != "") != (show(got) != show(c.is)) {
			t.Errorf("%s: it says %q", c.name, said)
		}
	}
	one := 1
	if got, said := Reckon(Counted{}, Counted{Chicks: &one}); got.Eggs != nil || said != "" {
		t.Errorf("where eggs were not counted, none is taken: %v %q", got.Eggs, said)
	}
}

func TestEggRow_KeepsMarksAndWhatWasSeen(t *testing.T) {
	b := zebras(t)
	b.add("2026-01-26", &aviary.NestCheck{Place: a1, Eggs: ptr(5), Chicks: ptr(0)})
	row := func(day string) string {
		d := b.desk(day)
		var out []string
		for _, s := range d.Nests(d.Room.Place(a1))[0].EggRow() {
			out = append(out, s.Mark+":"+s.State)
		}
		return strings.Join(out, " ")
	}
	if got := row("2026-01-27"); got != ": : : : :" {
		t.Errorf("before candling the row is %q", got)
	}
	b.add("2026-01-31", &aviary.NestCheck{Place: a1, Eggs: ptr(5), Candled: []string{"a:fertile", "b:clear", "c:fertile", "fertile"}})
	if got := row("2026-01-31"); got != "a:fertile b:clear c:fertile :fertile :" {
		t.Errorf("after candling the row is %q", got)
	}
	b.add("2026-02-01", &aviary.NestCheck{Place: a1, Eggs: ptr(5), Removed: ptr(1), RemovedWhy: "clear"})
	if got := row("2026-02-01"); got != "a:fertile c:fertile :fertile :" {
		t.Errorf("with an egg taken out the row is %q; the clear one goes first", got)
	}
	d := b.desk("2026-02-01")
	if e := d.Nests(d.Room.Place(a1))[0].Eggs; e.Clear != 0 || e.Full != 3 || e.NotCandled != 1 {
		t.Errorf("with the clear egg taken out the nest holds %+v, want 3 full and 1 not candled", e)
	}
	b.add("2026-02-08", &aviary.NestCheck{Place: a1, Eggs: ptr(2), Chicks: ptr(2)})
	if got := row("2026-02-08"); got != "a:fertile :" {
		t.Errorf("with two hatched the row is %q", got)
	}
}

func TestAnswer_SettlesItsOwnQuestionAlone(t *testing.T) {
	b := zebras(t)
	b.add("2026-01-26", &aviary.NestCheck{Place: a1, Eggs: ptr(5), Chicks: ptr(0)}).Time = aviary.ClockOf(7, 10)
	b.add("2026-01-28", &aviary.NestCheck{Place: a1, Eggs: ptr(4), Chicks: ptr(0)}).Time = aviary.ClockOf(7, 10)
	b.add("2026-01-30", &aviary.NestCheck{Place: a1, Eggs: ptr(2), Chicks: ptr(0)}).Time = aviary.ClockOf(7, 10)
	d := b.desk("2026-01-31")
	n := d.Nests(d.Room.Place(a1))[0]
	if len(n.Asked) != 2 {
		t.Fatalf("%d questions, want 2: %+v", len(n.Asked), n.Asked)
	}
	e := d.Answer(n, &n.Asked[0], "broken")
	if e.Day != Day(n.Asked[0].Day) || e.Time != aviary.ClockOf(7, 10) {
		t.Errorf("the answer bears %s %s, want the day and time of the look that asks", e.Day, e.Time)
	}
	was := b.add(e.Day.String(), e.Body)
	was.Time = e.Time
	d = b.desk("2026-01-31")
	n = d.Nests(d.Room.Place(a1))[0]
	if len(n.Asked) != 1 || n.Asked[0].N != 2 {
		t.Fatalf("after one answer: %+v, want the other question alone", n.Asked)
	}
	if e = d.Answer(n, &n.Asked[0], "not known"); e.Day != 0 {
		t.Errorf("the last question's answer bears %s, want today", e.Day)
	}
	b.add("2026-01-31", e.Body)
	d = b.desk("2026-01-31")
	if n = d.Nests(d.Room.Place(a1))[0]; len(n.Asked) != 0 {
		t.Errorf("still asked: %+v", n.Asked)
	}
	// An answer is no look: what is due that day stays due.
	if !OnlyAnswers(e.Body.(*aviary.NestCheck)) || OnlyAnswers(&aviary.NestCheck{Look: "same"}) {
		t.Error("an answer is taken for a look, or a look for an answer")
	}
}

func TestAnswers_OneForEachSortOfQuestion(t *testing.T) {
	for kind, want := range map[nest.QuestionKind]string{nest.EggsFell: "hatched", nest.ChicksFell: "out of the box", nest.EggsTooFast: "two hens", nest.EggsLate: "dumped"} {
		got := Answers(&nest.Question{Kind: kind})
		if !slices.Contains(got, want) || got[len(got)-1] != "not known" {
			t.Errorf("%s: answers %v, want %q among them and “not known” last", kind, got, want)
		}
	}
}

func TestFurther_ANewClutchFromTheLookThatAsked(t *testing.T) {
	b := zebras(t)
	b.add("2026-01-21", &aviary.NestCheck{Place: a1, Eggs: ptr(1), Chicks: ptr(0)})
	b.add("2026-01-25", &aviary.NestCheck{Place: a1, Eggs: ptr(5), Chicks: ptr(0)})
	b.add("2026-02-12", &aviary.NestCheck{Place: a1, Eggs: ptr(5), Chicks: ptr(0)})
	b.add("2026-02-20", &aviary.NestCheck{Place: a1, Eggs: ptr(6), Chicks: ptr(0)})
	d := b.desk("2026-02-20")
	n := d.Nests(d.Room.Place(a1))[0]
	var late *nest.Question
	for i := range n.Asked {
		if n.Asked[i].Kind == nest.EggsLate {
			late = &n.Asked[i]
		}
	}
	if late == nil {
		t.Fatalf("an egg after weeks of sitting asks nothing: %+v", n.Asked)
	}
	old, instead := d.Further(n, late, 1)
	if old == nil || len(instead) != 1 || instead[0].Day != old.Day {
		t.Fatalf("further clutch: strike %v, write %v", old, instead)
	}
	b.add("2026-02-20", &aviary.Strike{}).Strikes = old.ID
	b.add(instead[0].Day.String(), instead[0].Body)
	d = b.desk("2026-02-20")
	ns := d.Nests(d.Room.Place(a1))
	if len(ns) != 1 || ns[0].Eggs.Total() != 1 || ns[0].Clutch.First != aviary.MustDate("2026-02-20") {
		t.Fatalf("after it: %d nests, %+v", len(ns), ns)
	}
	if ended := d.ClutchesAt(d.Room.Place(a1)); len(ended) != 1 || ended[0].Outcome() != "at least 5 eggs, none hatched" && ended[0].Outcome() != "5 eggs, none hatched" {
		t.Errorf("the clutch before came to %q", ended[0].Outcome())
	}
}

func TestTenants_WhoFromWhenToWhen(t *testing.T) {
	b := zebras(t)
	d := b.desk("2026-01-20")
	got := d.Tenants(d.Room.Place(a1))
	if len(got) != 2 || got[0].To != 0 || len(got[0].Birds) != 2 || !got[1].Empty() || got[1].From != aviary.MustDate("2025-01-01") || got[1].To != aviary.MustDate("2026-01-10") {
		t.Errorf("A1's tenants: %+v", got)
	}
	b.add("2026-02-01", &aviary.PairEnded{Pair: pair1, Reason: "resting"})
	b.add("2026-02-01", &aviary.BirdMoved{Bird: cock, Place: flight})
	b.add("2026-02-03", &aviary.BirdMoved{Bird: hen, Place: flight})
	d = b.desk("2026-02-10")
	got = d.Tenants(d.Room.Place(a1))
	if len(got) != 4 || !got[0].Empty() || got[0].From != aviary.MustDate("2026-02-03") || got[1].Birds[0].ID != hen || got[2].Birds[0].ID != cock {
		t.Errorf("after they left: %+v", got)
	}
	if got = d.Tenants(d.Room.Place(a2)); len(got) != 1 || !got[0].Empty() || got[0].To != 0 {
		t.Errorf("a cage never used: %+v", got)
	}
}

func TestReadRing_ABareNumberFollowsTheSuggestion(t *testing.T) {
	b := zebras(t)
	b.add("2026-01-11", &aviary.RingsListed{Issuer: "FC", Year: 2026, From: 1, To: 60, Digits: 3, Size: 2.7})
	d := b.desk("2026-01-18")
	like := aviary.Ring{Issuer: "FC", Year: 2026, Number: "001"}
	for _, c := range []struct {
		text, want string
		size       bool
	}{{"019", "FC 26-019", true}, {"FC 26-019", "FC 26-019", true}, {"AB 25-7", "AB 25-7", false}, {"25-7", "25-7", false}} {
		ring, size, err := d.ReadRing(c.text, like)
		if err != nil || ring.String() != c.want || (size != nil) != c.size {
			t.Errorf("%q is read as %q, size %v, %v; want %q", c.text, ring, size, err, c.want)
		}
	}
	if _, _, err := d.ReadRing(" ", like); err == nil {
		t.Error("an empty ring is read without a word")
	}
}

// What was done is counted where it was done: a matter settled at its cage, young parted at the nest they left.
func TestRound_CountsWhatWasDoneWhereItWasDone(t *testing.T) {
	b := zebras(t)
	b.add("2025-12-01", &aviary.NestCheck{Place: a1, Eggs: ptr(0), Chicks: ptr(4), AgeDays: ptr(10)})
	odd := b.add("2026-01-15", &aviary.OddSeen{Place: a2, What: "water out"})
	b.add("2026-01-20", &aviary.Settled{Entry: odd.ID, How: "filled"})
	b.add("2026-01-20", &aviary.YoungWeaned{Place: a1, Unringed: 4, To: flight, Group: id(70), Species: "zebra"})
	r := b.desk("2026-01-20").Round()
	if !r.Visited[a1] || !r.Visited[a2] || r.Visited[flight] {
		t.Errorf("done at %v, want A1 and A2 and not the flight", r.Visited)
	}
	var said []string
	for _, m := range r.Done {
		said = append(said, m.Place.Name+" "+m.Text)
	}
	if got := strings.Join(said, "; "); got != "A1 weaned 4 young, to Flight 1; A2 water out settled: filled" {
		t.Errorf("done today: %s", got)
	}
}
