package advice

import (
	"slices"
	"strings"
	"testing"

	"broodlight/internal/aviary"
)

func job(jobs []*Job, kind JobKind) *Job {
	for _, j := range jobs {
		if j.Kind == kind {
			return j
		}
	}
	return nil
}

// A zebra clutch from the first egg to weaning: which job is due on which day. The species' days are those of
// its profile (14 days from steady sitting, ringing at 7 to 10 days, out at about 20, on their own at 35).
func TestRound_ClutchFromEggToWeaning(t *testing.T) {
	b := zebras(t)
	due := func(day string, kind JobKind, want bool) *Job {
		t.Helper()
		r := b.desk(day).Round()
		j := job(r.Jobs, kind)
		if (j != nil) != want {
			var got []string
			for _, j := range r.Jobs {
				got = append(got, j.Title)
			}
			t.Fatalf("%s: job %q due = %v, want %v; due: %v", day, kind, j != nil, want, got)
		}
		return j
	}
	due("2026-01-14", NoNestJob, false)
	due("2026-01-18", NoNestJob, true)
	b.add("2026-01-18", &aviary.NestCheck{Place: a1, Eggs: ptr(0), Chicks: ptr(0), Signs: []string{"building"}})
	due("2026-01-18", NoNestJob, false) // looked today
	due("2026-01-19", NoNestJob, false) // left alone for three days
	b.add("2026-01-21", &aviary.NestCheck{Place: a1, Eggs: ptr(1), Chicks: ptr(0)})
	b.add("2026-01-26", &aviary.NestCheck{Place: a1, Eggs: ptr(5), Chicks: ptr(0)})
	due("2026-01-27", CandleJob, false)
	j := due("2026-01-30", CandleJob, true)
	if j.Title != "Candle 5 eggs" || !j.Lid {
		t.Errorf("candling says %q with lid %v, want Candle 5 eggs with the lid lifted", j.Title, j.Lid)
	}
	b.add("2026-01-30", &aviary.NestCheck{Place: a1, Eggs: ptr(5), Chicks: ptr(0), Candled: []string{"fertile", "fertile", "fertile", "fertile", "clear"}})
	due("2026-01-30", CandleJob, false)
	due("2026-02-03", ChicksJob, false)
	j = due("2026-02-07", ChicksJob, true)
	if j.Attention != Today || !strings.Contains(j.Guess, "8 in 10") || !strings.Contains(j.Seen, "4 full eggs, 1 clear egg") {
		t.Errorf("chick job: %v, seen %q, guess %q", j.Attention, j.Seen, j.Guess)
	}
	if j = due("2026-02-12", ChicksJob, true); j.Attention != Over || !strings.HasSuffix(j.Flag(), "over") {
		t.Errorf("days after the likely hatch the job is %v (%q), want over", j.Attention, j.Flag())
	}
	b.add("2026-02-07", &aviary.NestCheck{Place: a1, Eggs: ptr(1), Chicks: ptr(4)})
	j = due("2026-02-15", RingJob, true)
	if j.Title != "Ring 4 chicks" {
		t.Errorf("ring job says %q, want Ring 4 chicks", j.Title)
	}
	for i := range 4 {
		b.add("2026-02-15", &aviary.ChickRinged{Bird: id(30 + i), Place: a1, Species: "zebra", Ring: aviary.Ring{Issuer: "FC", Year: 2026, Number: string(rune('1' + i))}, Hatched: aviary.MustDate("2026-02-06")})
	}
	due("2026-02-15", RingJob, false)
	b.add("2026-03-01", &aviary.NestCheck{Place: a1, Eggs: ptr(0), Chicks: ptr(0), Out: ptr(4)})
	due("2026-03-02", CountOutJob, false)
	j = due("2026-03-14", WeanJob, true)
	if j.Title != "See whether 4 young feed themselves" || j.Lid {
		t.Errorf("at the usual age it says %q with lid %v, want a look at the perches without a lid", j.Title, j.Lid)
	}
	if j = due("2026-03-22", WeanJob, true); j.Title != "Wean 4 young" || !strings.Contains(j.Why, "late age") {
		t.Errorf("at the late age it says %q because %q", j.Title, j.Why)
	}
	b.add("2026-03-14", &aviary.NestCheck{Place: a1, Out: ptr(4), SelfFeeding: true})
	if j = due("2026-03-14", WeanJob, true); j.Title != "Wean 4 young" || !strings.Contains(j.Why, "Seen feeding themselves on 14 Mar") {
		t.Errorf("once seen feeding themselves it says %q because %q", j.Title, j.Why)
	}
	b.add("2026-03-14", &aviary.YoungWeaned{Place: a1, Birds: []aviary.ID{id(30), id(31), id(32), id(33)}, To: flight})
	due("2026-03-14", WeanJob, false)
}

// Overdue is not called before three days past the likely day, whatever the day.
func TestRound_OverdueKeepsItsPatience(t *testing.T) {
	b := zebras(t)
	b.add("2026-01-21", &aviary.NestCheck{Place: a1, Eggs: ptr(1), Chicks: ptr(0)})
	b.add("2026-01-26", &aviary.NestCheck{Place: a1, Eggs: ptr(5), Chicks: ptr(0)})
	for day := aviary.MustDate("2026-01-26"); day < aviary.MustDate("2026-02-20"); day++ {
		d := b.desk(day.String())
		for _, j := range d.Round().Jobs {
			if j.Attention == Over && day < Day(j.Event.Likely)+3 {
				t.Errorf("%s: %s is called over, %d days past the likely day", day, j.Title, day-Day(j.Event.Likely))
			}
		}
	}
}

func TestRound_PutOffAndDone(t *testing.T) {
	b := zebras(t)
	d := b.desk("2026-01-18")
	j := job(d.Round().Jobs, NoNestJob)
	skip := b.add("2026-01-18", &aviary.JobSkipped{Place: a1, Job: j.Key(), Reason: "hen restless", Until: aviary.MustDate("2026-01-20")})
	r := b.desk("2026-01-18").Round()
	if len(r.Jobs) != 0 || len(r.Later) != 1 {
		t.Fatalf("after putting off: %d jobs, %d later; want 0 and 1", len(r.Jobs), len(r.Later))
	}
	if len(r.Done) != 1 || !r.Done[0].Skipped || !strings.Contains(r.Done[0].Text, "hen restless") {
		t.Errorf("the mark does not say why: %+v", r.Done)
	}
	if r = b.desk("2026-01-20").Round(); job(r.Jobs, NoNestJob) == nil {
		t.Error("the job does not come back on its day")
	}
	strike := b.add("2026-01-18", &aviary.Strike{})
	strike.Strikes = skip.ID
	if r = b.desk("2026-01-18").Round(); len(r.Jobs) != 1 {
		t.Error("undoing the mark does not bring the job back")
	}
}

func TestRound_QuestionsAreAskedUntilAnswered(t *testing.T) {
	b := zebras(t)
	b.add("2026-01-26", &aviary.NestCheck{Place: a1, Eggs: ptr(5), Chicks: ptr(0)})
	b.add("2026-01-29", &aviary.NestCheck{Place: a1, Eggs: ptr(3), Chicks: ptr(0)})
	d := b.desk("2026-01-29")
	j := job(d.Round().Jobs, QuestionJob)
	if j == nil || j.Title != "What became of 2 eggs?" {
		t.Fatalf("two eggs gone without a word: %+v", j)
	}
	b.add("2026-01-29", &aviary.NestCheck{Place: a1, GoneEggs: ptr(2), GoneEggsWhy: "not known"})
	if j := job(b.desk("2026-01-29").Round().Jobs, QuestionJob); j != nil {
		t.Errorf("“not known” does not settle it: %q is still asked", j.Title)
	}
}

func TestLidHours_NotTheFirstHourNorTheLastTwo(t *testing.T) {
	d := zebras(t).desk("2026-01-18")
	l := d.LidHours()
	if l.String() != "07:00–18:00" {
		t.Errorf("lids from %s, want 07:00–18:00 for lamps 06:00–20:00", l)
	}
	for clock, want := range map[aviary.Clock]bool{aviary.ClockOf(6, 30): false, aviary.ClockOf(7, 0): true, aviary.ClockOf(17, 59): true, aviary.ClockOf(18, 0): false} {
		if l.Allows(clock) != want {
			t.Errorf("lids at %s allowed = %v, want %v", clock, !want, want)
		}
	}
}

// The wall and the round count the same cages.
func TestWall_AgreesWithTheRound(t *testing.T) {
	b := zebras(t)
	b.add("2026-01-26", &aviary.NestCheck{Place: a1, Eggs: ptr(5), Chicks: ptr(0)})
	b.add("2026-01-27", &aviary.OddSeen{Place: a2, What: "water out"})
	for day := aviary.MustDate("2026-01-26"); day < aviary.MustDate("2026-03-01"); day += 3 {
		d := b.desk(day.String())
		wants := map[aviary.ID]bool{}
		for _, j := range d.Round().Jobs {
			wants[j.Place.ID] = true
		}
		w := d.Wall()
		if got := w.Count[Over] + w.Count[Today] + w.Count[NotSure]; got != len(wants) {
			t.Errorf("%s: %d cages want the keeper on the wall, %d on the round", day, got, len(wants))
		}
	}
}

func TestWall_StatesAndSentence(t *testing.T) {
	b := zebras(t)
	w := b.desk("2026-01-12").Wall()
	if c := w.Banks[0].At(1, 1); c.State != NoNest || c.Cock == nil || c.Cock.ID != cock {
		t.Errorf("A1 with a pair and an empty box is %q with cock %v", c.State, c.Cock)
	}
	if c := w.Banks[0].At(1, 2); c.State != Unoccupied {
		t.Errorf("A2 without birds is %q", c.State)
	}
	b.add("2026-01-26", &aviary.NestCheck{Place: a1, Eggs: ptr(5), Chicks: ptr(0)})
	c := b.desk("2026-01-26").Wall().Banks[0].At(1, 1)
	if c.State != HasEggs || !strings.Contains(c.Sentence, "A1, Zebra finch, cock FC 24-1, hen FC 24-2, 5 eggs") {
		t.Errorf("state %q, sentence %q", c.State, c.Sentence)
	}
}

func TestToSort_ListsEachSortOfMatter(t *testing.T) {
	b := zebras(t)
	b.add("2026-01-15", &aviary.OddSeen{Place: a2, What: "poorly", Text: "fluffed"})
	b.add("2026-01-15", &aviary.PlaceCounted{Place: flight, Found: 1, Book: ptr(2)})
	b.add("2026-01-15", &aviary.PlaceCounted{Place: flight, Found: 2, Book: ptr(2)})
	b.add("2026-01-15", &aviary.OneDied{Birds: []aviary.ID{cock2, hen2}})
	b.add("2026-01-16", &aviary.BirdDied{Bird: hen})
	b.add("2026-01-16", &aviary.BirdAcquired{Bird: id(50), Species: "zebra", Sex: aviary.Cock, Found: true})
	list := b.desk("2026-01-16").ToSort()
	var kinds []MatterKind
	for _, m := range list {
		kinds = append(kinds, m.Kind)
	}
	for _, want := range []MatterKind{OddMatter, CountMatter, OneOfMatter, PairMatter, PlaceMatter, RingMatter} {
		if !slices.Contains(kinds, want) {
			t.Errorf("no matter %q among %v", want, kinds)
		}
	}
	if n := len(list); n != 6 {
		t.Errorf("%d matters, want 6: a count that agrees is none", n)
	}
	if !list[0].Urgent {
		t.Error("a poorly bird does not come first")
	}
	b.add("2026-01-16", &aviary.Settled{Entry: list[0].Entry.ID, How: "gone to the vet"})
	if got := len(b.desk("2026-01-16").ToSort()); got != 5 {
		t.Errorf("%d matters after settling one, want 5", got)
	}
}

func TestSeasonAndRingYear_SouthernHemisphere(t *testing.T) {
	b := zebras(t)
	if s := b.desk("2026-01-18").SeasonOn(aviary.MustDate("2026-01-18")); s.From != aviary.MustDate("2025-08-01") || s.To != aviary.MustDate("2026-07-31") || s.Name != "2025–26" {
		t.Errorf("northern season = %s to %s (%s)", s.From, s.To, s.Name)
	}
	b.add("2025-06-01", &aviary.RoomSet{Latitude: ptr(-34.0), Zone: ptr("Australia/Adelaide")})
	if s := b.desk("2026-01-18").SeasonOn(aviary.MustDate("2026-01-18")); s.From != aviary.MustDate("2025-02-01") || s.Name != "2025–26" {
		t.Errorf("season at 34° S = %s to %s (%s)", s.From, s.To, s.Name)
	}
	b.add("2025-07-01", &aviary.RoomSet{RingYear: ptr("09-01")})
	d := b.desk("2026-01-18")
	for day, want := range map[string]int{"2025-08-31": 2025, "2025-09-01": 2026, "2026-01-18": 2026} {
		if got := d.RingYearOn(aviary.MustDate(day)); got != want {
			t.Errorf("ring year on %s = %d, want %d", day, got, want)
		}
	}
}

func TestNextRings_FromTheKeepersOwnList(t *testing.T) {
	b := zebras(t)
	b.add("2026-01-11", &aviary.RingsListed{Issuer: "FC", Year: 2026, From: 1, To: 3, Digits: 3, Size: 2.7})
	b.add("2026-01-11", &aviary.RingsListed{Issuer: "FC", Year: 2026, From: 50, To: 60, Digits: 3, Size: 2.9, Species: []string{"zebra"}})
	b.add("2026-01-12", &aviary.BirdRinged{Bird: hen2, Ring: aviary.Ring{Issuer: "FC", Year: 2026, Number: "050"}, How: "new"})
	d := b.desk("2026-01-18")
	got := d.NextRings("zebra", 2)
	if len(got) != 2 || got[0].Ring.Number != "051" || got[0].Size != 2.9 {
		t.Errorf("next rings = %+v, want 051 and 052 of the zebra's own list", got)
	}
	if got = d.NextRings("star", 9); len(got) != 3 || got[0].Ring.Number != "001" {
		t.Errorf("next rings for another species = %+v, want the three of the list for any", got)
	}
}
