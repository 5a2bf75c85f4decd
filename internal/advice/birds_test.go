package advice

import (
	"errors"
	"slices"
	"testing"

	"broodlight/internal/aviary"
	"broodlight/internal/feed"
)

func TestBirdList_FindsSortsAndCounts(t *testing.T) {
	b := zebras(t)
	b.add("2026-01-11", &aviary.BirdAcquired{Bird: id(50), Species: "star", Name: "Merle", Looks: []string{"body=fawn"}, Hatched: aviary.MustDate("2025-06-01"), Place: flight})
	b.add("2026-01-12", &aviary.BirdDied{Bird: cock2})
	d := b.desk("2026-01-18")
	labels := func(q BirdQuery) []string {
		var out []string
		for _, r := range d.BirdList(q).Rows {
			out = append(out, r.Bird.Label())
		}
		return out
	}
	for _, tt := range []struct {
		name string
		q    BirdQuery
		want []string
	}{
		{"all here by ring, those without last", BirdQuery{}, []string{"FC 24-1", "FC 24-2", "FC 24-4", "Merle"}},
		{"gone", BirdQuery{State: "gone"}, []string{"FC 24-3"}},
		{"by look", BirdQuery{Text: "FAWN"}, []string{"Merle"}},
		{"two words", BirdQuery{Text: "zebra 24-2"}, []string{"FC 24-2"}},
		{"by place", BirdQuery{Text: "a1"}, []string{"FC 24-1", "FC 24-2"}},
		{"hens", BirdQuery{Sex: aviary.Hen}, []string{"FC 24-2", "FC 24-4"}},
		{"not sexed", BirdQuery{Sex: UnknownSex}, []string{"Merle"}},
		{"species", BirdQuery{Species: "star"}, []string{"Merle"}},
		{"youngest first", BirdQuery{Sort: "age", Limit: 1}, []string{"Merle"}},
		{"page", BirdQuery{Offset: 1, Limit: 2}, []string{"FC 24-2", "FC 24-4"}},
		{"past the end", BirdQuery{Offset: 99}, nil},
	} {
		if got := labels(tt.q); !slices.Equal(got, tt.want) {
			t.Errorf("%s: %v, want %v", tt.name, got, tt.want)
		}
	}
	if l := d.BirdList(BirdQuery{Limit: 1}); l.Found != 4 || l.Here != 4 || l.Known != 5 {
		t.Errorf("found %d, here %d, known %d; want 4, 4, 5", l.Found, l.Here, l.Known)
	}
}

func TestAge_InWords(t *testing.T) {
	d := zebras(t).desk("2026-01-18")
	for hatched, want := range map[string]string{
		"2026-01-09": "9 days", "2025-12-01": "6 weeks", "2025-08-01": "5 months", "2024-03-01": "1 year 10 months", "2024-01-10": "2 years", "": "",
	} {
		var day aviary.Date
		if hatched != "" {
			day = aviary.MustDate(hatched)
		}
		if got := d.Age(&aviary.Bird{Hatched: day}); got != want {
			t.Errorf("hatched %q: age %q, want %q", hatched, got, want)
		}
	}
}

func TestBird_Story(t *testing.T) {
	b := zebras(t)
	b.add("2026-01-21", &aviary.NestCheck{Place: a1, Eggs: ptr(4), Chicks: ptr(0)})
	b.add("2026-02-07", &aviary.NestCheck{Place: a1, Eggs: ptr(1), Chicks: ptr(3)})
	chick := id(30)
	b.add("2026-02-15", &aviary.ChickRinged{Bird: chick, Place: a1, Species: "zebra", Ring: aviary.Ring{Issuer: "FC", Year: 2026, Number: "001"}, Hatched: aviary.MustDate("2026-02-06")})
	for i, g := range []float64{12, 15, 13} {
		b.add(aviary.Date(aviary.MustDate("2026-01-11")+aviary.Date(i)).String(), &aviary.BirdWeighed{Bird: cock, Grams: g})
	}
	b.add("2026-02-12", &aviary.BirdWeighed{Bird: cock, Grams: 11.5})
	d := b.desk("2026-02-16")
	s := d.Bird(cock)
	if s.Where != "In A1 with FC 24-2 since 10 Jan 2026." {
		t.Errorf("where = %q", s.Where)
	}
	if len(s.Offspring) != 1 || s.Offspring[0].ID != chick {
		t.Errorf("offspring = %d, want the chick", len(s.Offspring))
	}
	if len(s.Clutches) != 1 || !s.Clutches[0].Laid || !s.Clutches[0].Reared || s.Clutches[0].Hatched.N != 3 || s.Clutches[0].Ringed.N != 1 {
		t.Errorf("clutches = %+v", s.Clutches)
	}
	if s.Weight.Baseline != 13 || s.Weight.Verdict != feed.Thin {
		t.Errorf("own weight = %v g, judged %s; want the median 13 of the weights before, and thin", s.Weight.Baseline, s.Weight.Verdict)
	}
	c := d.Bird(chick)
	if c.Ancestors.Sire == nil || c.Ancestors.Sire.Bird.ID != cock || c.Ancestors.Dam.Bird.ID != hen || c.Line.Basis != "the laying pair of the nest it was ringed in" {
		t.Errorf("the chick's line is %+v", c.Line)
	}
	if d.Bird(id(99)) != nil {
		t.Error("a bird that is not in the books has a story")
	}
}

func TestBulk_OneStepOneStrike(t *testing.T) {
	b := zebras(t)
	d := b.desk("2026-01-18")
	bodies, does := d.Bulk(Step{Places: []aviary.ID{a1, a2}, EndPairs: "season over", BoxesOut: true, CocksTo: flight, HensTo: a2})
	if does != "2 cages: 1 pair ended, 1 box taken out, 1 cock and 1 hen moved" {
		t.Errorf("it says %q", does)
	}
	batch := id(900)
	var es []*aviary.Entry
	for _, body := range bodies {
		e := b.add("2026-01-18", body)
		e.Batch = batch
		es = append(es, e)
	}
	if err := d.Room.Admit(es, d.Today, func() error { return nil }); err != nil {
		t.Fatalf("the step is refused: %v", err)
	}
	if d.Room.PairNow(a1) != nil || d.Room.Bird(cock).Place() != flight || d.Room.Bird(hen).Place() != a2 || len(d.Room.Place(a1).BoxesHung()) != 0 {
		t.Error("the step did not do what it said")
	}
	strike := b.add("2026-01-18", &aviary.Strike{})
	strike.Strikes = batch
	if err := d.Room.Admit([]*aviary.Entry{strike}, d.Today, func() error { return nil }); err != nil {
		t.Fatalf("the strike is refused: %v", err)
	}
	if d.Room.PairNow(a1) == nil || d.Room.Bird(cock).Place() != a1 || len(d.Room.Place(a1).BoxesHung()) != 1 {
		t.Error("one strike does not undo the step")
	}
}

func TestMovePair_IsOneStep(t *testing.T) {
	b := zebras(t)
	d := b.desk("2026-01-18")
	var es []*aviary.Entry
	for _, body := range d.MovePair(d.Room.PairNow(a1), a2, id(22)) {
		es = append(es, b.add("2026-01-18", body))
	}
	if err := d.Room.Admit(es, d.Today, func() error { return errors.New("disk full") }); err == nil || d.Room.PairNow(a1) == nil {
		t.Fatal("a failed write moved the pair")
	}
	if err := d.Room.Admit(es, d.Today, func() error { return nil }); err != nil {
		t.Fatalf("refused: %v", err)
	}
	if d.Room.PairNow(a1) != nil || d.Room.PairNow(a2) == nil || d.Room.Bird(hen).Place() != a2 {
		t.Error("the pair is not in A2")
	}
}
