package demo

import (
	"fmt"
	"math"

	"broodlight/internal/aviary"
)

// bird is one bird with what the keeper cannot see: its true sex, its parents and its genes.
type bird struct {
	id        aviary.ID
	kind      *kind
	sex       aviary.Sex
	sexKnown  int // day from which the books know it
	hatched   int // day
	sire, dam *bird
	genes     [][2]bool // by locus; true is the recessive allele. A hen has one Z: the first
	at        *place
	left      int   // day on which it died or left; 0 while it is here
	weaned    int   // day; 0 before
	grown     bool  // its youth has been written
	mate      *bird // of the season before
}

// born draws the genes of a young bird from its parents'.
func (w *world) born(k *kind, sire, dam *bird, hatched int) *bird {
	b := &bird{kind: k, sire: sire, dam: dam, hatched: hatched, sex: pick(w, aviary.Cock, aviary.Hen)}
	for i, l := range k.loci {
		from := sire.genes[i][w.rng.IntN(2)]
		switch {
		case !l.onZ:
			b.genes = append(b.genes, [2]bool{from, dam.genes[i][w.rng.IntN(2)]})
		case b.sex == aviary.Cock:
			b.genes = append(b.genes, [2]bool{from, dam.genes[i][0]})
		default:
			b.genes = append(b.genes, [2]bool{from, from})
		}
	}
	return b
}

// stranger draws a bird of unknown descent.
func (w *world) stranger(k *kind, sex aviary.Sex, hatched int) *bird {
	b := &bird{kind: k, sex: sex, hatched: hatched}
	for _, l := range k.loci {
		g := [2]bool{w.chance(l.rate), w.chance(l.rate)}
		if l.onZ && sex == aviary.Hen {
			g[1] = g[0]
		}
		b.genes = append(b.genes, g)
	}
	return b
}

// looks says what the bird shows.
func (b *bird) looks() []string {
	var out []string
	for i, l := range b.kind.loci {
		shown := l.shows
		if b.genes[i][0] && b.genes[i][1] {
			shown = l.hidden
		}
		out = append(out, l.trait+"="+shown)
	}
	return out
}

// related reports whether two birds are parent and young or share a parent.
func related(a, b *bird) bool {
	if a.sire == b || a.dam == b || b.sire == a || b.dam == a {
		return true
	}
	return (a.sire != nil && a.sire == b.sire) || (a.dam != nil && a.dam == b.dam)
}

// issuers stand on the rings of bought birds. They are invented.
var issuers = []string{"KV", "LM", "QT", "RZ"}

// sellers are where bought birds came from. They are invented.
var sellers = []string{"club sale", "breeder by the coast", "neighbour", "exchange for a cock", "autumn show"}

// acquire writes a bird that was not bred here into the books.
func (w *world) acquire(b *bird, day, minute int, to *place, found bool) {
	b.id, b.at, b.sexKnown = w.thing(day), to, day
	hatched := w.date(b.hatched)
	var ring aviary.Ring
	for {
		ring = aviary.Ring{Issuer: pick(w, issuers...), Year: hatched.Year(), Number: fmt.Sprintf("%03d", w.between(1, 399))}
		if !w.worn(ring) {
			break
		}
	}
	body := &aviary.BirdAcquired{
		Bird: b.id, Species: b.kind.slug, Sex: b.sex, Hatched: hatched, Ring: ring, Place: to.id,
		Looks: b.looks(), From: pick(w, sellers...), Found: found,
	}
	if w.chance(0.4) {
		body.HatchedAbout = new(w.between(5, 20))
	}
	w.keep(day, minute, body)
	w.birds = append(w.birds, b)
}

func (w *world) worn(r aviary.Ring) bool {
	for _, e := range w.entries {
		if b, ok := e.Body.(*aviary.BirdAcquired); ok && b.Ring == r {
			return true
		}
	}
	return false
}

func (w *world) move(b *bird, day, minute int, to *place, reason string) {
	if b.at == to {
		return
	}
	w.keep(day, minute, &aviary.BirdMoved{Bird: b.id, Place: to.id, Reason: reason})
	b.at = to
}

// weigh writes a weight near the species' usual one, steady for each bird.
func (w *world) weigh(b *bird, day, minute int, share float64) {
	own := 0.94 + 0.12*float64(b.id[15])/255 // each bird keeps to its own weight
	g := b.kind.grams * own * share * (1 + 0.02*w.rng.NormFloat64())
	w.keep(day, minute, &aviary.BirdWeighed{Bird: b.id, Grams: math.Round(g*10) / 10})
}

// home is the flight or aviary where a bird of its sex stays when it is not paired.
func (w *world) home(b *bird) *place {
	switch {
	case b.kind.hardy && b.id[14]%3 == 0:
		return w.aviary
	case b.sex == aviary.Hen:
		return w.flight[1]
	}
	return w.flight[0]
}
