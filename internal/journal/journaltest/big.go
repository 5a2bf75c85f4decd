// Package journaltest makes the entries of large invented rooms, for benchmarks and tests.
package journaltest

import (
	"cmp"
	"encoding/binary"
	"fmt"
	"math/rand/v2"
	"slices"
	"time"

	"broodlight/internal/aviary"
)

// FirstSeason is the year in which the first season of a Big room begins.
const FirstSeason = 2016

// The course of a brood in a Big room, in days after its first look. The figures are those of a small
// grassfinch, rounded to the days on which a keeper looks: common practice, no source.
const (
	broodDays = 60 // from one first look to the next
	hatchDay  = 20
	ringDay   = 28
	outDay    = 42
	weanDay   = 58
)

// youngInBrood is how many are ringed in a brood.
const youngInBrood = 5

// Big makes the entries of a room with a wall of cages over several seasons, in order of happening. In
// each season the pairs together rear about birdsPerYear young, as many as fit into the year. All entries
// stand: nothing of them is set aside. The same seed makes the same entries.
func Big(cages, seasons, birdsPerYear int, seed uint64) []*aviary.Entry {
	g := &generator{rng: rand.New(rand.NewPCG(seed, 0)), at: map[aviary.Date]int{}}
	g.hang(cages)
	for s := range seasons {
		g.season(FirstSeason+s, birdsPerYear)
	}
	slices.SortStableFunc(g.out, func(a, b *aviary.Entry) int {
		return cmp.Or(cmp.Compare(a.Day, b.Day), cmp.Compare(a.Time, b.Time), a.Written.Compare(b.Written))
	})
	return g.out
}

type generator struct {
	rng *rand.Rand
	out []*aviary.Entry
	at  map[aviary.Date]int // entries written on a day so far
	ids uint32

	cages, boxes []aviary.ID
	flights      []aviary.ID
	cocks, hens  []aviary.ID // grown birds of the flights, oldest first
	chickOf      []aviary.ID // hatched this season
	ringNo       int
}

var species = []string{"gouldian", "zebra", "bengalese", "java", "cherry", "star"}

// id makes the next id: a UUID of version 7 with the given instant, and random bits from the seed.
func (g *generator) id(at time.Time) aviary.ID {
	var x aviary.ID
	binary.BigEndian.PutUint64(x[:], uint64(at.UnixMilli())<<16)
	binary.BigEndian.PutUint64(x[8:], g.rng.Uint64())
	g.ids++
	binary.BigEndian.PutUint32(x[12:], g.ids) // no two alike
	x[6] = 0x70 | byte(g.rng.UintN(16))
	x[8] = x[8]&0x3f | 0x80
	return x
}

// thing makes an id for a bird, place, pair or box.
func (g *generator) thing(day aviary.Date) aviary.ID { return g.id(day.Time()) }

// write adds an entry in the morning of a day, by the keeper or, every ninth, by a helper where he may.
func (g *generator) write(day aviary.Date, body aviary.Body) {
	n := g.at[day]
	g.at[day]++
	written := day.Time().Add(7*time.Hour + time.Duration(n)*time.Second)
	e := &aviary.Entry{ID: g.id(written), Kind: body.Kind(), Version: 1, Day: day, Written: written, By: "Ann Keeper", Body: body}
	if g.rng.IntN(9) == 0 && aviary.MayWrite(aviary.Helper, e.Kind) {
		e.By = "Ben Helper"
	}
	g.out = append(g.out, e)
}

func ptr[T any](v T) *T { return &v }

// hang makes the wall (six rows high), two flights for each fifty cages and the first pairs.
func (g *generator) hang(cages int) {
	day := aviary.DateOf(FirstSeason, time.January, 2)
	g.write(day, &aviary.RoomSet{Name: ptr("Long wall"), Zone: ptr("Europe/Dublin"), Latitude: ptr(53.3), Longitude: ptr(-6.2), SeasonStart: ptr("01-02"), RingYear: ptr("01-01")})
	g.write(day, &aviary.LampSet{On: aviary.ClockOf(6, 0), Off: aviary.ClockOf(20, 0), Dusk: ptr(30)})
	for i := range cages {
		cage, box := g.thing(day), g.thing(day)
		g.cages, g.boxes = append(g.cages, cage), append(g.boxes, box)
		g.write(day, &aviary.PlaceAdded{Place: cage, Name: fmt.Sprintf("%d", i+1), Type: aviary.Cage, Bank: fmt.Sprintf("Bank %d", i/60+1), Row: i%6 + 1, Col: i%60/6 + 1})
		g.write(day, &aviary.BoxHung{Box: box, Place: cage})
	}
	for i := range 2 * (cages/50 + 1) {
		flight := g.thing(day)
		g.flights = append(g.flights, flight)
		g.write(day, &aviary.PlaceAdded{Place: flight, Name: fmt.Sprintf("Flight %d", i+1), Type: aviary.Flight})
	}
	for i := range 2 * cages {
		b := g.thing(day)
		sex := aviary.Cock
		if i%2 == 1 {
			sex = aviary.Hen
			g.hens = append(g.hens, b)
		} else {
			g.cocks = append(g.cocks, b)
		}
		g.write(day, &aviary.BirdAcquired{Bird: b, Species: species[i/2%cages%len(species)], Sex: sex, Ring: g.ring(FirstSeason - 1), Place: g.flights[i%len(g.flights)], Found: true})
	}
}

func (g *generator) ring(year int) aviary.Ring {
	g.ringNo++
	return aviary.Ring{Issuer: "FC", Year: year, Number: fmt.Sprintf("%05d", g.ringNo)}
}

// season sets up the pairs, lets them breed, and sells down the flights at its end.
func (g *generator) season(year, birds int) {
	start := aviary.DateOf(year, time.January, 10)
	end := aviary.DateOf(year, time.December, 20)
	pairs := make([]aviary.ID, len(g.cages))
	for i, cage := range g.cages {
		pairs[i] = g.thing(start)
		g.write(start, &aviary.PairSet{Pair: pairs[i], Place: cage, Cocks: g.cocks[i : i+1], Hens: g.hens[i : i+1], Plan: "keep the line"})
	}
	broods := (birds + len(g.cages)*youngInBrood - 1) / (len(g.cages) * youngInBrood)
	broods = min(broods, int(end-start)/broodDays)
	g.chickOf = nil
	left := birds
	for n := range broods {
		for i := range g.cages {
			young := min(youngInBrood, left)
			left -= young
			g.brood(start+2+aviary.Date(n*broodDays+i%5), i, year, young)
		}
	}
	for d := start; d <= end; d++ {
		g.write(d, &aviary.FoodGiven{Food: "seed mix", Amount: ptr(float64(8 + g.rng.IntN(4))), Unit: "g"})
		if d%2 == 0 {
			g.write(d, &aviary.FoodGiven{Food: "soaked seed", Amount: ptr(5.0), Unit: "ml", Places: g.cages[:min(20, len(g.cages))]})
		}
		if d%3 == 0 {
			g.write(d, &aviary.RoundSeen{Except: g.cages[:1]})
		}
	}
	for _, p := range pairs {
		g.write(end, &aviary.PairEnded{Pair: p, Reason: "season over"})
	}
	g.sell(end + 1)
}

// brood is one clutch from the first look to the weaned young, looked at every other day.
func (g *generator) brood(first aviary.Date, i, year, young int) {
	cage, box, sp := g.cages[i], g.boxes[i], species[i%len(species)]
	var chicks []aviary.ID
	for d := aviary.Date(0); d <= weanDay; d += 2 {
		day := first + d
		c := &aviary.NestCheck{Place: cage, Box: box, Look: "changed"}
		switch {
		case young == 0 && d > 2:
			return
		case d == 0:
			c.Eggs, c.Signs = ptr(0), []string{"singing", "building"}
			g.write(day, &aviary.MaterialGiven{Place: cage, Box: box, What: "coconut fibre"})
		case d <= 10:
			c.Eggs = ptr(min(int(d)/2+g.rng.IntN(2), youngInBrood+1))
		case d == 12:
			c.Eggs, c.Candled = ptr(youngInBrood+1), []string{"fertile", "fertile", "fertile", "fertile", "fertile", "clear"}
		case d < hatchDay:
			c.Look = "sitting"
		case d == hatchDay:
			c.Eggs, c.Chicks = ptr(3), ptr(3)
		case d < ringDay:
			c.Eggs, c.Chicks, c.AgeDays = ptr(1), ptr(young), ptr(int(d-hatchDay))
		case d == ringDay:
			c.Eggs, c.Removed, c.RemovedWhy, c.Chicks, c.AgeDays = ptr(0), ptr(1), "clear", ptr(young), ptr(int(d-hatchDay))
		case d < outDay:
			c.Look = "same"
			c.Chicks = ptr(young)
		case d < weanDay:
			c.Chicks, c.Out = ptr(0), ptr(young)
		default:
			c.Out, c.SelfFeeding = ptr(young), true
		}
		g.write(day, c)
		if d%10 == 0 {
			g.write(day, &aviary.JobDone{Place: cage, Box: box, Job: "clean the tray"})
		}
		switch d {
		case ringDay:
			for range young {
				b := g.thing(day)
				chicks = append(chicks, b)
				g.write(day, &aviary.ChickRinged{Bird: b, Place: cage, Box: box, Species: sp, Ring: g.ring(year), RingSize: ptr(2.5), Hatched: first + hatchDay, HatchedAbout: ptr(1)})
				g.write(day, &aviary.BirdWeighed{Bird: b, Grams: 6 + float64(g.rng.IntN(60))/10})
			}
		case weanDay:
			to := g.flights[i%len(g.flights)]
			g.write(day, &aviary.YoungWeaned{Place: cage, Box: box, Birds: chicks, To: to})
			g.write(day, &aviary.BoxCleaned{Box: box, Place: cage})
			for k, b := range chicks {
				g.write(day, &aviary.BirdWeighed{Bird: b, Grams: 10 + float64(g.rng.IntN(80))/10})
				g.write(day+1, &aviary.BirdMoved{Bird: b, Place: g.flights[(i+k+1)%len(g.flights)], Reason: "sorted"})
				g.write(day+2, &aviary.BirdSexed{Bird: b, Sex: []aviary.Sex{aviary.Cock, aviary.Hen}[k%2], How: "looks"})
			}
			g.chickOf = append(g.chickOf, chicks...)
		}
	}
}

// sell lets all but the best young leave or die, and puts those kept in the place of the oldest birds.
func (g *generator) sell(day aviary.Date) {
	g.rng.Shuffle(len(g.chickOf), func(i, k int) { g.chickOf[i], g.chickOf[k] = g.chickOf[k], g.chickOf[i] })
	sex := map[aviary.ID]aviary.Sex{}
	for _, e := range g.out {
		if s, ok := e.Body.(*aviary.BirdSexed); ok {
			sex[s.Bird] = s.Sex
		}
	}
	keep := len(g.cages) / 2
	var cocks, hens []aviary.ID
	for _, b := range g.chickOf {
		switch {
		case sex[b] == aviary.Cock && len(cocks) < keep:
			cocks = append(cocks, b)
		case sex[b] == aviary.Hen && len(hens) < keep:
			hens = append(hens, b)
		case g.rng.IntN(12) == 0:
			g.write(day, &aviary.BirdDied{Bird: b, Cause: "not known"})
		default:
			g.write(day, &aviary.BirdLeft{Bird: b, How: "sold"})
		}
	}
	retire := func(old, fresh []aviary.ID) []aviary.ID {
		for _, b := range old[:len(fresh)] {
			g.write(day, &aviary.BirdLeft{Bird: b, How: "given"})
		}
		return append(slices.Clone(old[len(fresh):]), fresh...)
	}
	g.cocks, g.hens = retire(g.cocks, cocks), retire(g.hens, hens)
}
