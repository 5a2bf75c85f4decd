package advice

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"

	"broodlight/internal/aviary"
)

// young writes birds out of two parents with a look.
func young(b *book, from int, n int, sire, dam aviary.ID, sex aviary.Sex, look string) {
	for i := range n {
		b.add("2025-06-01", &aviary.BirdAcquired{Bird: id(from + i), Species: "zebra", Sex: sex, Sire: sire, Dam: dam, Looks: []string{"body=" + look}, Name: fmt.Sprintf("y%d", from+i)})
	}
}

func colours(t *testing.T, b *book, slug string) *Colours {
	t.Helper()
	c, err := b.desk("2026-01-13").Colours(context.Background(), slug)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func hides(t *testing.T, c *Colours, bird aviary.ID, name string) Hidden {
	t.Helper()
	for _, h := range c.Hidden(bird) {
		if h.Name == name {
			return h
		}
	}
	t.Fatalf("nothing is said of %s", name)
	return Hidden{}
}

// A grey cock of unknown parents, a share q of whose line's Z chromosomes is fawn, hides fawn with 2q(1-q)/(1-q²); each grey
// young from a fawn hen halves the odds (Mendel; Bayes).
func TestColours_GreyYoungFromAFawnHen(t *testing.T) {
	for n := range 6 {
		b := zebras(t)
		b.add("2025-02-01", &aviary.LookSeen{Bird: cock, Trait: "body", Look: "grey"})
		b.add("2025-02-01", &aviary.LookSeen{Bird: hen, Trait: "body", Look: "fawn"})
		young(b, 200, n, cock, hen, aviary.Hen, "grey")
		h := hides(t, colours(t, b, "zebra"), cock, "fawn")
		for _, x := range []struct{ q, got float64 }{{0.1, h.P}, {0.02, h.Low}, {0.3, h.High}} {
			odds := 2 * x.q / (1 - x.q) * math.Pow(0.5, float64(n))
			if want := odds / (1 + odds); math.Abs(x.got-want) > 1e-9 {
				t.Errorf("%d grey young, q %v: %v, want %v", n, x.q, x.got, want)
			}
		}
		if n > 0 && !strings.Contains(strings.Join(h.Evidence, " "), fmt.Sprintf("%d young with FC 24-2 (fawn): %d grey.", n, n)) {
			t.Errorf("evidence %q", h.Evidence)
		}
	}
}

func TestColours_AFawnSonOfAGreyCock(t *testing.T) {
	b := zebras(t)
	b.add("2025-02-01", &aviary.LookSeen{Bird: cock, Trait: "body", Look: "grey"})
	b.add("2025-02-01", &aviary.LookSeen{Bird: hen, Trait: "body", Look: "grey"})
	young(b, 200, 1, cock, hen, aviary.Hen, "fawn")
	c := colours(t, b, "zebra")
	if h := hides(t, c, cock, "fawn"); math.Abs(h.P-1) > 1e-12 {
		t.Errorf("the father of a fawn daughter hides fawn with %v", h.P)
	}
	if got := c.Hidden(hen); len(got) != 0 {
		t.Errorf("a hen hides nothing on her one Z: %+v", got)
	}
}

// A seller who is right 9 times in 10 (his word is a likelihood ratio of 9).
func TestColours_ASellersWord(t *testing.T) {
	b := zebras(t)
	b.add("2025-02-01", &aviary.LookSeen{Bird: cock, Trait: "body", Look: "grey"})
	b.add("2025-02-01", &aviary.LookSeen{Bird: hen, Trait: "body", Look: "fawn"})
	b.add("2025-02-02", &aviary.ColourSaid{Bird: cock, Locus: "fawn", Allele: "f", Carries: true, By: "the seller"})
	odds := 2 * 0.1 / 0.9 * 9
	if h := hides(t, colours(t, b, "zebra"), cock, "fawn"); math.Abs(h.P-odds/(1+odds)) > 1e-9 || !strings.Contains(strings.Join(h.Evidence, " "), "said to hide fawn by the seller") {
		t.Errorf("%v, want %v; %q", h.P, odds/(1+odds), h.Evidence)
	}
}

func TestColours_AssumedFrequency(t *testing.T) {
	b := zebras(t)
	b.add("2025-02-01", &aviary.LookSeen{Bird: cock, Trait: "body", Look: "grey"})
	b.add("2025-02-01", &aviary.LookSeen{Bird: hen, Trait: "body", Look: "fawn"})
	b.add("2025-02-02", &aviary.ColourAssumed{Species: "zebra", Locus: "fawn", Allele: "f", Frequency: ptr(0.25), Basis: "my own room, ten years"})
	h := hides(t, colours(t, b, "zebra"), cock, "fawn")
	if want := 2 * 0.25 / 1.25; math.Abs(h.P-want) > 1e-9 || h.Low != h.P || h.High != h.P || h.Marked {
		t.Errorf("%+v, want %v and no range", h, want)
	}
}

func TestColours_OwnColour(t *testing.T) {
	b := zebras(t)
	b.add("2025-01-05", &aviary.ColourAdded{Species: "zebra", Locus: "sooty", Look: "sooty", Plain: "clean", Inherited: "recessive"})
	b.add("2025-02-01", &aviary.LookSeen{Bird: cock, Trait: "sooty", Look: "clean"})
	b.add("2025-06-01", &aviary.BirdAcquired{Bird: id(200), Species: "zebra", Sex: aviary.Hen, Sire: cock, Dam: hen, Looks: []string{"sooty=sooty"}})
	c := colours(t, b, "zebra")
	for _, parent := range []aviary.ID{cock, hen} {
		if h := hides(t, c, parent, "sooty"); parent == cock && math.Abs(h.P-1) > 1e-12 {
			t.Errorf("a parent of a sooty bird hides it with %v", h.P)
		}
	}
	if len(c.Unread) != 0 {
		t.Errorf("not read: %+v", c.Unread)
	}
}

// The plain look of an own colour has a name, also while nobody has shown the colour itself.
func TestColours_OwnColourNotShownYet(t *testing.T) {
	b := zebras(t)
	b.add("2025-01-05", &aviary.ColourAdded{Species: "zebra", Locus: "sooty", Look: "sooty", Plain: "clean", Inherited: "recessive"})
	b.add("2025-02-01", &aviary.LookSeen{Bird: cock, Trait: "sooty", Look: "clean"})
	b.add("2025-02-01", &aviary.LookSeen{Bird: hen, Trait: "body", Look: "fawn"})
	if c := colours(t, b, "zebra"); len(c.Unread) != 0 {
		t.Errorf("not read: %+v", c.Unread)
	}
}

func TestColours_ClashIsNamed(t *testing.T) {
	b := zebras(t)
	b.add("2025-02-01", &aviary.LookSeen{Bird: cock, Trait: "body", Look: "fawn"})
	b.add("2025-02-01", &aviary.LookSeen{Bird: hen, Trait: "body", Look: "fawn"})
	young(b, 200, 1, cock, hen, aviary.Hen, "grey")
	c := colours(t, b, "zebra")
	if c.Clash == nil || c.Answer != nil || len(c.Clash.Birds) < 2 || !strings.Contains(c.Clash.Text, "fawn") {
		t.Fatalf("clash %+v", c.Clash)
	}
	if c.Hidden(cock) != nil {
		t.Error("an answer is given against a clash")
	}
}

func TestColours_NothingToSay(t *testing.T) {
	c := colours(t, zebras(t), "zebra")
	if c.Nothing == "" || c.Answer != nil {
		t.Errorf("%+v", c)
	}
	b := zebras(t)
	b.add("2025-02-01", &aviary.LookSeen{Bird: cock, Trait: "body", Look: "tartan"})
	b.add("2025-02-01", &aviary.LookSeen{Bird: hen, Trait: "body", Look: "fawn"})
	if c = colours(t, b, "zebra"); len(c.Unread) != 1 || c.Unread[0].Look != "tartan" {
		t.Errorf("not read: %+v", c.Unread)
	}
	if c = colours(t, b, "phoenix"); c.Nothing == "" {
		t.Error("a species without colours has an answer")
	}
}

// Which of two hens would tell more of whether a grey cock hides fawn: a fawn one shows it in half the young of both sexes, a grey
// one in half the daughters only.
func TestColours_WhatWouldTell(t *testing.T) {
	b := zebras(t)
	b.add("2025-02-01", &aviary.LookSeen{Bird: cock, Trait: "body", Look: "grey"})
	b.add("2025-02-01", &aviary.LookSeen{Bird: hen, Trait: "body", Look: "fawn"})
	b.add("2025-02-01", &aviary.LookSeen{Bird: hen2, Trait: "body", Look: "grey"})
	c := colours(t, b, "zebra")
	h := hides(t, c, cock, "fawn")
	got, err := c.WouldTell(cock, h, []aviary.ID{hen2, hen})
	if err != nil || len(got) != 2 {
		t.Fatal(err, got)
	}
	if got[0].Mate.ID != hen || !(got[0].Share > got[1].Share) {
		t.Errorf("%+v", got)
	}
	// Odds 2·0.1/0.9 halve with each normal young of the fawn hen: below 1 in 20 of all after 3.
	if got[0].Normal != 3 {
		t.Errorf("%d normal young, want 3", got[0].Normal)
	}
}

// A grey son of a fawn cock's pair clashes when the pair sat alone, and is a doubt about its father when the hen had been in the
// flight with other cocks a week before.
func TestColours_AnotherCockBeforeLaying(t *testing.T) {
	for _, c := range []struct {
		name   string
		paired string
		clash  bool
	}{{"alone for weeks", "2025-03-01", true}, {"out of the flight a week ago", "2025-05-01", false}} {
		t.Run(c.name, func(t *testing.T) {
			b := &book{tb: t}
			b.add("2025-01-01", &aviary.PlaceAdded{Place: a1, Name: "A1", Type: aviary.Cage})
			b.add("2025-01-01", &aviary.PlaceAdded{Place: flight, Name: "Flight 1", Type: aviary.Flight})
			for _, x := range []struct {
				id   aviary.ID
				sex  aviary.Sex
				look string
			}{{cock, aviary.Cock, "fawn"}, {hen, aviary.Hen, "fawn"}, {cock2, aviary.Cock, "grey"}} {
				b.add("2025-01-02", &aviary.BirdAcquired{Bird: x.id, Species: "zebra", Sex: x.sex, Hatched: aviary.MustDate("2024-03-01"), Place: flight, Looks: []string{"body=" + x.look}})
			}
			b.add(c.paired, &aviary.PairSet{Pair: pair1, Place: a1, Cocks: []aviary.ID{cock}, Hens: []aviary.ID{hen}})
			b.add(c.paired, &aviary.BoxHung{Box: box1, Place: a1})
			b.add("2025-05-08", &aviary.NestCheck{Place: a1, Box: box1, Eggs: ptr(1), NewClutch: true})
			b.add("2025-05-31", &aviary.ChickRinged{Bird: id(40), Place: a1, Box: box1, Species: "zebra", Sex: aviary.Hen, Hatched: aviary.MustDate("2025-05-21")})
			b.add("2025-07-31", &aviary.LookSeen{Bird: id(40), Trait: "body", Look: "grey"})
			got := colours(t, b, "zebra")
			if (got.Clash != nil) != c.clash {
				t.Errorf("clash %+v", got.Clash)
			}
		})
	}
}
