package advice

import (
	"fmt"
	"math"
	"slices"

	"broodlight/internal/aviary"
	"broodlight/internal/species"
)

// Warning is something that should not be, but may be written with a reason.
type Warning struct {
	Code string // stays the same, for tests and marks: "hen too young"
	Text string // the sentence
	Says string // what it rests on
}

// daysPerMonth is the mean length of a month, for ages given in months.
const daysPerMonth = 365.2425 / 12

// Warnings says what speaks against writing an entry, short of making it impossible: hens under or over the
// species' age (on known dates only), more clutches than its season, close kin, species mixed in a breeding
// cage, two cocks of a quarrelsome species together.
func (d *Desk) Warnings(e *aviary.Entry) []Warning {
	switch b := e.Body.(type) {
	case *aviary.PairSet:
		return d.pairWarnings(e.Day, b)
	case *aviary.BirdMoved:
		if x := d.Room.Bird(b.Bird); x != nil {
			return d.companyWarnings(b.Place, []*aviary.Bird{x})
		}
	case *aviary.NestCheck:
		return d.clutchWarnings(e, b)
	}
	return nil
}

func (d *Desk) birds(ids []aviary.ID) []*aviary.Bird {
	var out []*aviary.Bird
	for _, id := range ids {
		if b := d.Room.Bird(id); b != nil {
			out = append(out, b)
		}
	}
	return out
}

func (d *Desk) pairWarnings(day aviary.Date, b *aviary.PairSet) []Warning {
	cocks, hens := d.birds(b.Cocks), d.birds(b.Hens)
	var out []Warning
	for _, x := range hens {
		out = append(out, d.ageWarnings(x, day, species.MinBreedingAgeHen)...)
		out = append(out, d.restWarnings(x, day)...)
	}
	for _, x := range cocks {
		out = append(out, d.ageWarnings(x, day, species.MinBreedingAgeCock)...)
	}
	for _, c := range cocks {
		for _, h := range hens {
			if rel := d.Related(c.ID, h.ID); rel.Kinship >= CloseKin {
				out = append(out, Warning{"close kin", fmt.Sprintf("%s and %s are related, %.3g in 100: %s.", c.Label(), h.Label(), rel.Kinship*100, kinWord(rel.Kinship)), capital(rel.Basis) + "."})
			}
		}
	}
	return append(out, d.companyWarnings(b.Place, append(cocks, hens...))...)
}

// ageWarnings compares a bird's age with the species' profile, on a known day of hatch only.
func (d *Desk) ageWarnings(b *aviary.Bird, day aviary.Date, least species.Parameter) []Warning {
	s := d.Cat.BySlug(b.Species)
	age, known := b.AgeOn(day)
	if s == nil || !known {
		return nil
	}
	var out []Warning
	if low, v, young := d.tooYoung(b, day, least); young {
		out = append(out, Warning{string(b.Sex) + " too young", fmt.Sprintf("%s is %d months old; %s %ss are usually not bred before %v months.", b.Label(), months(age), s.English, b.Sex, low), says(v)})
	}
	if v, ok := s.Value(species.UpperProductiveAgeHen); ok && b.Sex == aviary.Hen && v.High != nil && float64(age) > *v.High*365.2425 {
		out = append(out, Warning{"hen too old", fmt.Sprintf("%s is %.1f years old; %s hens are usually past their best after %v.", b.Label(), float64(age)/365.2425, s.English, *v.High), says(v)})
	}
	return out
}

// tooYoung reports whether a bird is known to be under the least age of its species for breeding, and what that is, in months.
func (d *Desk) tooYoung(b *aviary.Bird, day aviary.Date, least species.Parameter) (low float64, v species.Value, young bool) {
	s := d.Cat.BySlug(b.Species)
	age, known := b.AgeOn(day)
	if s == nil || !known {
		return 0, v, false
	}
	v, ok := s.Value(least)
	if !ok || v.Low == nil {
		return 0, v, false
	}
	low, _, _, ok = v.Span()
	return low, v, ok && float64(age) < low*daysPerMonth
}

// Grown reports whether a bird is not known to be under the least age of its species for breeding.
func (d *Desk) Grown(b *aviary.Bird) bool {
	_, _, young := d.tooYoung(b, d.Today, leastAgeOf(b))
	return !young
}

// leastAgeOf names the least age for breeding of a bird's sex.
func leastAgeOf(b *aviary.Bird) species.Parameter {
	if b.Sex == aviary.Cock {
		return species.MinBreedingAgeCock
	}
	return species.MinBreedingAgeHen
}

func months(days int) int { return int(math.Floor(float64(days) / daysPerMonth)) }

// says gives the basis and source of a species value in a line.
func says(v species.Value) string { return fmt.Sprintf("%s (%s): %s", v, v.Basis.Label(), v.Source) }

// restWarnings speaks up for a hen that has had her season's clutches already.
func (d *Desk) restWarnings(hen *aviary.Bird, day aviary.Date) []Warning {
	n := d.clutchesOf(hen, day)
	most, v, ok := d.mostClutches(hen.Species)
	if !ok || n < most {
		return nil
	}
	return []Warning{{"season's clutches laid", fmt.Sprintf("%s has had %s this season; the limit for %s is %d. She may need rest.", hen.Label(), count(n, "clutch", "clutches"), d.Cat.BySlug(hen.Species).English, most), says(v)}}
}

func (d *Desk) mostClutches(slug string) (int, species.Value, bool) {
	s := d.Cat.BySlug(slug)
	if s == nil {
		return 0, species.Value{}, false
	}
	v, ok := s.Value(species.MaxClutchesPerSeason)
	if !ok {
		return 0, v, false
	}
	_, _, high, ok := v.Span()
	return int(high), v, ok
}

// clutchesOf counts the clutches of a hen's pairs in the season of a day, up to that day.
func (d *Desk) clutchesOf(hen *aviary.Bird, day aviary.Date) int {
	span := d.SeasonOn(day)
	n := 0
	for _, pair := range d.Room.PairsOf(hen.ID) {
		p := d.Room.Place(pair.Place)
		if p == nil {
			continue
		}
		for _, c := range p.Clutches {
			if span.Contains(c.First) && c.First <= day {
				if l := d.Room.LayingPair(c); l != nil && l.ID == pair.ID {
					n++
				}
			}
		}
	}
	return n
}

// companyWarnings looks at who would share a place.
func (d *Desk) companyWarnings(place aviary.ID, coming []*aviary.Bird) []Warning {
	p := d.Room.Place(place)
	if p == nil {
		return nil
	}
	all := slices.Clone(coming)
	for _, b := range d.Room.In(place) {
		if !slices.ContainsFunc(all, func(x *aviary.Bird) bool { return x.ID == b.ID }) {
			all = append(all, b)
		}
	}
	var out []Warning
	if p.Type == aviary.Cage && len(all) > 0 {
		for _, b := range all[1:] {
			if b.Species != all[0].Species {
				out = append(out, Warning{"species mixed", fmt.Sprintf("%s would hold %s and %s; species kept together in a breeding cage may cross or quarrel.", p.Name, d.english(all[0].Species), d.english(b.Species)), "Common practice, no source."})
				break
			}
		}
		cocks := map[string]int{}
		for _, b := range all {
			if b.Sex == aviary.Cock {
				cocks[b.Species]++
			}
		}
		for slug, n := range cocks {
			s := d.Cat.BySlug(slug)
			if s == nil || n < 2 {
				continue
			}
			if holds, known := s.QuarrelsomeCocks.Holds(); holds && known {
				out = append(out, Warning{"cocks quarrel", fmt.Sprintf("%s would hold %d %s cocks, and two cocks of this species in one cage often fight.", p.Name, n, s.English), s.QuarrelsomeCocks.Source})
			}
		}
	}
	if p.Capacity != nil && len(all) > *p.Capacity {
		out = append(out, Warning{"too many", fmt.Sprintf("%s holds %d; there would be %d.", p.Name, *p.Capacity, len(all)), "The place's own number in Set up."})
	}
	return out
}

func (d *Desk) english(slug string) string {
	if s := d.Cat.BySlug(slug); s != nil {
		return s.English
	}
	return "birds of an unknown species"
}

// clutchWarnings speaks up when a look begins a clutch beyond the season's limit. The look itself always stands.
func (d *Desk) clutchWarnings(e *aviary.Entry, b *aviary.NestCheck) []Warning {
	begins := b.NewClutch || (b.Eggs != nil && *b.Eggs > 0)
	pair := d.Room.PairOn(b.Place, e.Day)
	if !begins || pair == nil {
		return nil
	}
	p := d.Room.Place(b.Place)
	if p == nil {
		return nil
	}
	if !b.NewClutch {
		for _, c := range p.OpenClutches() {
			if !c.Emptied {
				return nil // it goes on with a clutch that has begun
			}
		}
	}
	var out []Warning
	for _, hen := range d.birds(pair.Hens) {
		n := d.clutchesOf(hen, e.Day)
		if most, v, ok := d.mostClutches(hen.Species); ok && n >= most {
			out = append(out, Warning{"one clutch more", fmt.Sprintf("This is clutch %d of %s this season; the limit for %s is %d.", n+1, hen.Label(), d.english(hen.Species), most), says(v)})
		}
	}
	return out
}
