// Package plain is the slow, obvious twin of the posterior of a clutch in package nest.
// Tests alone import it.
//
// It goes through the days one after another, morning to night, and keeps every story that
// may be true with its weight, each told in full: when each thing happened and what lies in
// the nest. A look multiplies the weight of each story by the chance of what was seen. It
// serves small clutches only: the stories are many.
//
// # Shapes
//
// An [Answer] holds weights by day or by number, each summing to the chance of all that is
// told.
//
// # Model
//
// That of package nest. The order of a day is: the nest fails, young leave, chicks die, eggs
// are lost, an egg is laid, eggs hatch up to the look, the look, the keeper's hand, and eggs
// hatch until night. It does not know chicks brought in, two hens, or miscounts.
//
// # Errors
//
// None: a history that cannot be gives no weight.
//
// # Sources
//
// The forward recursion is that of Rabiner (1989), A tutorial on hidden Markov models,
// Proceedings of the IEEE 77, 257-286, section III A, without any shortcut.
package plain

import (
	"math"
	"sort"

	"broodlight/internal/nest"
)

// Answer is what the stories say.
type Answer struct {
	Evidence                                            float64 // chance of the looks
	First, Complete, Sit, Due, Hatch, LastHatch, Fledge map[nest.Day]float64
	Clutch, Full, Hatched                               map[int]float64
	Deserted                                            float64 // failed by the last look
}

// story is one way in which it may have gone.
type story struct {
	n, k, laid                   small
	next                         date // when the next egg comes
	first, sit, due, done        date
	v, d, c, ch                  small // eggs that will hatch, that die, clear; live chicks
	full                         small // -1 until told
	hatched                      small
	last, fledged                date
	complete, failed, out, began bool
	found                        small // dead chicks found since the look before
}

// faint is the weight below which a story is not told on.
const faint = 1e-18

// small and date keep a story short: there are very many.
type (
	small = int8
	date  = int16
)

const never = date(math.MinInt16)

type teller struct {
	t     nest.Tables
	looks []nest.Look
	from  nest.Day
	net   []int // foster eggs less eggs taken, before each look
	cand  []bool
}

// Posterior tells all stories of a clutch whose round began on a day, up to the last look
// and then on without looks until all young are out. Looks stand in order of time.
func Posterior(t nest.Tables, looks []nest.Look, began nest.Day) Answer {
	tell := &teller{t: t, looks: looks, from: began}
	net, cand := 0, false
	for _, l := range looks {
		tell.net = append(tell.net, net)
		cand = cand || l.Fertile+l.Clear+l.EarlyDead+l.DeadInShell > 0
		tell.cand = append(tell.cand, cand)
		net += l.EggsMovedIn - l.EggsMovedOut - l.EggsRemoved
	}
	a := Answer{
		First: map[nest.Day]float64{}, Complete: map[nest.Day]float64{}, Sit: map[nest.Day]float64{}, Due: map[nest.Day]float64{},
		Hatch: map[nest.Day]float64{}, LastHatch: map[nest.Day]float64{}, Fledge: map[nest.Day]float64{},
		Clutch: map[int]float64{}, Full: map[int]float64{}, Hatched: map[int]float64{},
	}
	// No clutch at all.
	none := 1.0
	for i := range looks {
		none *= tell.laying(i, 0, false)
	}
	a.Evidence = none * t.Rates.Never
	for delay, p := range t.Delay {
		if p *= 1 - t.Rates.Never; p > 0 {
			tell.clutch(&a, date(began)+date(delay), p)
		}
	}
	return a
}

func (t *teller) clutch(a *Answer, first date, p float64) {
	all := map[story]float64{}
	for i, l := range t.looks {
		if t.sees(l) < first {
			p *= t.laying(i, 0, false)
		}
	}
	for n, pn := range t.t.Clutch {
		for k, pk := range t.t.SitEgg {
			if w := p * pn * pk; w > 0 {
				all[story{n: small(n), k: small(k), next: first, first: first, full: -1, last: never, fledged: never}] += w
			}
		}
	}
	end := date(0)
	if n := len(t.looks); n > 0 {
		end = date(t.looks[n-1].Day)
	}
	over := first + date(len(t.t.Clutch)*len(t.t.Gap)+len(t.t.Incubation)+len(t.t.Fledge))
	told := false
	for day := first; day <= max(over, end) && len(all) > 0; day++ {
		all = t.day(all, day)
		if day >= end && !told {
			told = true
			for s, w := range all {
				if s.failed {
					a.Deserted += w
				}
			}
		}
	}
	for s, w := range all {
		a.Evidence += w
		a.First[nest.Day(s.first)] += w
		a.Complete[nest.Day(s.done)] += w
		a.Sit[nest.Day(s.sit)] += w
		a.Due[nest.Day(s.due)] += w
		a.Clutch[int(s.n)] += w
		a.Full[int(s.full)] += w
		a.Hatched[int(s.hatched)] += w
		if s.hatched > 0 {
			a.Hatch[nest.Day(s.due)] += w
			a.LastHatch[nest.Day(s.last)] += w
		}
		if s.fledged != never {
			a.Fledge[nest.Day(s.fledged)] += w
		}
	}
}

// sees is the last morning whose egg a look can see.
func (t *teller) sees(l nest.Look) date {
	if l.Minute >= 0 && l.Minute < 6*60 {
		return date(l.Day) - 1
	}
	return date(l.Day)
}

func part(l nest.Look) float64 {
	if l.Minute < 0 {
		return 0.5
	}
	return float64(l.Minute) / (24 * 60)
}

type stories = map[story]float64

// each replaces every story by what becomes of it.
func each(all stories, f func(s story, w float64, tell func(story, float64))) stories {
	out := stories{}
	for s, w := range all {
		f(s, w, func(s story, w float64) {
			if w > faint {
				out[s] += w
			}
		})
	}
	return out
}

func (t *teller) day(all stories, day date) stories {
	r := t.t.Rates
	var today []int
	for i, l := range t.looks {
		if date(l.Day) == day {
			today = append(today, i)
		}
	}
	sort.Ints(today)
	old := func(s story) bool { return s.complete && s.done < day }
	// A look before dawn finds the eggs of the day before.
	for _, i := range today {
		if t.sees(t.looks[i]) < day {
			all = each(all, func(s story, w float64, tell func(story, float64)) {
				if !s.complete && s.laid > 0 {
					w *= t.laying(i, int(s.laid), s.began)
				}
				tell(s, w)
			})
		}
	}
	// The nest fails.
	all = each(all, func(s story, w float64, tell func(story, float64)) {
		risk := 0.0
		if old(s) && !s.failed && !s.out {
			if day <= s.due {
				risk = r.Deserted
			} else if j := int(day - s.due); j < len(t.t.BroodRisk) {
				risk = t.t.BroodRisk[j]
			}
		}
		tell(s, w*(1-risk))
		if risk == 0 {
			return
		}
		s.failed = true
		for found := small(0); found <= s.ch; found++ {
			f, p := s, w*risk*t.finds(day, s.ch, found)
			f.found += found
			f.ch = 0
			kept := f
			kept.v, kept.d = 0, s.v+s.d
			tell(kept, p*(1-r.Emptied))
			f.v, f.d, f.c = 0, 0, 0
			tell(f, p*r.Emptied)
		}
	})
	// The first young leaves.
	all = each(all, func(s story, w float64, tell func(story, float64)) {
		p := 0.0
		if j := int(day - s.due); s.complete && !s.failed && !s.out && j >= 0 && j < len(t.t.Fledge) {
			var left float64
			for _, q := range t.t.Fledge[j:] {
				left += q
			}
			if left > 0 {
				p = t.t.Fledge[j] / left
			}
		}
		tell(s, w*(1-p))
		s.out = true
		s.fledged = day
		tell(s, w*p)
	})
	// Chicks die.
	all = each(all, func(s story, w float64, tell func(story, float64)) {
		dies := r.ChickDies[2]
		switch j := int(day - s.due); {
		case j >= 1 && j <= 3:
			dies = r.ChickDies[0]
		case j >= 4 && j <= 8:
			dies = r.ChickDies[1]
		}
		for dead := small(0); dead <= s.ch; dead++ {
			for found := small(0); found <= dead; found++ {
				n := s
				n.ch -= dead
				n.found += found
				if n.fledged == day && n.ch == 0 {
					n.fledged = never
				}
				tell(n, w*binomial(s.ch, dead, dies)*t.finds(day, dead, found))
			}
		}
	})
	// Eggs are lost.
	all = each(all, func(s story, w float64, tell func(story, float64)) {
		if !old(s) {
			tell(s, w)
			return
		}
		live, bad := r.EggLost, r.EggLost
		if day > s.due {
			live, bad = 0, r.BadEggLost
		}
		for v := small(0); v <= s.v; v++ {
			for d := small(0); d <= s.d; d++ {
				for c := small(0); c <= s.c; c++ {
					n := s
					n.v, n.d, n.c = v, d, c
					tell(n, w*binomial(s.v, s.v-v, live)*binomial(s.d, s.d-d, bad)*binomial(s.c, s.c-c, bad))
				}
			}
		}
	})
	// An egg is laid.
	all = each(all, func(s story, w float64, tell func(story, float64)) {
		if s.complete || s.next != day {
			tell(s, w)
			return
		}
		s.laid++
		incubations := []float64{1}
		if !s.began && s.laid == min(s.k, s.n) {
			s.began, s.sit, s.k = true, day, 0
			incubations = t.t.Incubation
		}
		for i, pi := range incubations {
			n, wi := s, w*pi
			if len(incubations) > 1 {
				n.due = day + date(i)
			}
			if n.laid < n.n {
				for gap, pg := range t.t.Gap {
					n.next = day + date(gap)
					tell(n, wi*pg)
				}
				continue
			}
			n.complete, n.done, n.next = true, day, 0
			if n.due <= day {
				continue // the eggs do not hatch before the last is laid
			}
			e := n.n + small(t.netOn(day))
			for f := small(0); f <= e; f++ {
				for d := small(0); d <= f; d++ {
					n.v, n.d, n.c = f-d, d, e-f
					tell(n, wi*urn(r.Fertile, e, f)*urn(r.EmbryoDies, f, d))
				}
			}
		}
	})
	// Hatching, looks, and the keeper's hand.
	from := 0.0
	for _, i := range today {
		l := t.looks[i]
		to := part(l)
		all = t.hatch(all, day, from, to)
		from = to
		all = each(all, func(s story, w float64, tell func(story, float64)) {
			early := t.sees(l) < day
			switch {
			case !s.complete && early, s.complete && early && s.done == day:
				// Seen above, or still to be laid.
				tell(s, w)
				return
			case !s.complete:
				tell(s, w*t.laying(i, int(s.laid), s.began))
				return
			}
			if s.full < 0 {
				s.full = s.v + s.d
			}
			w *= t.standing(i, s)
			s.found = 0
			t.hand(i, s, w, tell)
		})
	}
	all = t.hatch(all, day, from, 1)
	// On the eve of the hatch the make-up is told, if no look told it.
	last := len(t.looks) > 0
	return each(all, func(s story, w float64, tell func(story, float64)) {
		if s.complete && s.full < 0 && (day == s.due-1 || !last || t.sees(t.looks[len(t.looks)-1]) < s.done) {
			s.full = s.v + s.d
		}
		tell(s, w)
	})
}

// finds is the chance that the keeper finds so many of the dead; after the last look nobody does.
func (t *teller) finds(day date, dead, found small) float64 {
	if n := len(t.looks); n == 0 || day > date(t.looks[n-1].Day) {
		if found > 0 {
			return 0
		}
		return 1
	}
	return binomial(dead, found, t.t.Rates.DeadFound)
}

// netOn is what the keeper added and took before the first look that sees a day's egg.
func (t *teller) netOn(day date) int {
	for i, l := range t.looks {
		if t.sees(l) >= day {
			return t.net[i]
		}
	}
	if n := len(t.looks); n > 0 {
		l := t.looks[n-1]
		return t.net[n-1] + l.EggsMovedIn - l.EggsMovedOut - l.EggsRemoved
	}
	return 0
}

func (t *teller) by(x float64) float64 {
	var sum float64
	for d, p := range t.t.Spread {
		sum += p * min(max(x-float64(d), 0), 1)
	}
	return sum
}

func (t *teller) hatch(all stories, day date, from, to float64) stories {
	if to <= from {
		return all
	}
	return each(all, func(s story, w float64, tell func(story, float64)) {
		j := float64(day - s.due)
		if !s.complete || s.failed || s.v == 0 || j < 0 {
			tell(s, w)
			return
		}
		after := func(k small, p float64) {
			n := s
			n.v -= k
			n.ch += k
			n.hatched += k
			if k > 0 {
				n.last = day
			}
			tell(n, w*p)
		}
		if s.hatched == 0 && j == 0 {
			sure := (to - from) / (1 - from)
			after(0, 1-sure)
			for k := small(1); k <= s.v; k++ {
				after(k, sure*binomial(s.v-1, k-1, t.by(to)))
			}
			return
		}
		g1, g2 := t.by(j+from), t.by(j+to)
		q := 0.0
		if g1 < 1 {
			q = (g2 - g1) / (1 - g1)
		}
		for k := small(0); k <= s.v; k++ {
			after(k, binomial(s.v, k, q))
		}
	})
}

func yesNo(b *bool, p float64) float64 {
	switch {
	case b == nil:
		return 1
	case *b:
		return p
	}
	return 1 - p
}

func (t *teller) laying(i, n int, sat bool) float64 {
	l := t.looks[i]
	if val(l.Chicks)+val(l.DeadChicks)+val(l.Out)+l.Ringed+l.Weaned+l.ChicksMovedOut > 0 || l.AgeDays != nil {
		return 0
	}
	e := n + t.net[i]
	if e < 0 || l.Eggs != nil && *l.Eggs != e || l.EggsAtLeast != nil && l.Eggs == nil && e < *l.EggsAtLeast {
		return 0
	}
	if l.Eggs == nil && l.EggsAtLeast == nil && e < l.Fertile+l.Clear+l.EarlyDead+l.DeadInShell {
		return 0
	}
	p := 1.0
	if l.Fertile > 0 {
		p = 0.05
	}
	sitting, complete := 0.03, 0.02
	if n > 0 {
		sitting, complete = 0.25, 0.1
		if sat {
			sitting = 0.8
		}
	}
	return p * yesNo(l.Sitting, sitting) * yesNo(l.ClutchComplete, complete)
}

func val(n *int) int {
	if n == nil {
		return 0
	}
	return *n
}

// standing is the chance of a look when the clutch is complete.
func (t *teller) standing(i int, s story) float64 {
	l := t.looks[i]
	e := int(s.v + s.d + s.c)
	if l.Eggs != nil && *l.Eggs != e || l.EggsAtLeast != nil && l.Eggs == nil && e < *l.EggsAtLeast {
		return 0
	}
	if l.DeadChicks != nil && *l.DeadChicks != int(s.found) {
		return 0
	}
	need := max(l.Ringed, l.ChicksMovedOut)
	p := 1.0
	if l.AgeDays != nil {
		need = max(need, 1)
		sd := 2 / 1.28
		if l.AgePlusMinus != nil {
			sd = max(0.5, float64(*l.AgePlusMinus)/1.28)
		}
		off := float64(*l.AgeDays - int(date(l.Day)-s.due))
		p *= normal((off+0.5)/sd) - normal((off-0.5)/sd)
	}
	if int(s.ch) < need {
		return 0
	}
	switch {
	case s.failed:
		p *= yesNo(l.Sitting, 0.03) * yesNo(l.ClutchComplete, 0.9)
		if val(l.Chicks) > 0 || val(l.Out) > 0 {
			return 0
		}
	case s.out:
		p *= leaving(l, int(s.ch))
	default:
		p *= yesNo(l.Sitting, 0.8) * yesNo(l.ClutchComplete, 0.9)
		if l.Chicks != nil && *l.Chicks != int(s.ch) || val(l.Out) > 0 {
			return 0
		}
	}
	if l.Fertile+l.Clear+l.EarlyDead+l.DeadInShell > 0 {
		var mean float64
		for d, q := range t.t.Incubation {
			mean += float64(d) * q
		}
		p *= candled(l, s, int(date(l.Day)-s.due)+int(math.Round(mean)))
	}
	return p
}

func normal(x float64) float64 { return (1 + math.Erf(x/math.Sqrt2)) / 2 }

func leaving(l nest.Look, ch int) float64 {
	var sum float64
	for in := 0; in < max(ch, 1); in++ {
		p := 1 / float64(max(ch, 1))
		if l.Chicks != nil && *l.Chicks != in {
			continue
		}
		if l.Out != nil {
			n := ch - in
			switch {
			case *l.Out > n:
				p = 0
			case n == 0:
			case *l.Out == 0:
				p *= 0.05
			case n == 1:
				p *= 0.95
			case *l.Out == n:
				p *= 0.8
			default:
				p *= 0.15 / float64(n-1)
			}
		}
		sum += p
	}
	return sum
}

// candled draws the eggs that are told of one after another, each with what it shows.
func candled(l nest.Look, s story, day int) float64 {
	live := 0.985
	if day <= 2 {
		live = 0.02
	} else if day <= 6 {
		live = map[int]float64{3: 0.3, 4: 0.65, 5: 0.88, 6: 0.96}[day]
	}
	full := 0.4 * live
	clear := 1 - full
	if day > 3 {
		full = min(full, max(0.1, 0.45-0.035*float64(day-5)))
		clear = max(0.4, 1-0.15*float64(day-3)-full)
	}
	shows := [3][3]float64{{live, 1 - live, 0}, {full, clear, 1 - full - clear}, {0.005, 0.975, 0.02}}
	var draw func(left [3]int, seen [3]int) float64
	draw = func(left [3]int, seen [3]int) float64 {
		n := seen[0] + seen[1] + seen[2]
		if n == 0 {
			return 1
		}
		e := left[0] + left[1] + left[2]
		if e < n {
			return 0
		}
		// The next egg told of is any that lies there, and any of what was seen; the order in
		// which the showings are told does not matter, so all orders are summed.
		var sum float64
		for kind, k := range left {
			if k == 0 {
				continue
			}
			for show, m := range seen {
				if m == 0 {
					continue
				}
				l2, s2 := left, seen
				l2[kind]--
				s2[show]--
				sum += float64(k) / float64(e) * shows[kind][show] * draw(l2, s2)
			}
		}
		return sum
	}
	return draw([3]int{int(s.v), int(s.d), int(s.c)}, [3]int{l.Fertile, l.Clear, l.EarlyDead + l.DeadInShell})
}

// hand is what the keeper takes and adds, egg by egg.
func (t *teller) hand(i int, s story, w float64, tell func(story, float64)) {
	l := t.looks[i]
	s.ch = max(0, s.ch-small(l.ChicksMovedOut+l.Weaned))
	all := stories{s: w}
	take := func(n int, order []int) {
		for range n {
			all = each(all, func(s story, w float64, tell func(story, float64)) {
				have := []*small{&s.v, &s.d, &s.c}
				e := s.v + s.d + s.c
				if e == 0 {
					tell(s, w)
					return
				}
				if t.cand[i] {
					for _, k := range order {
						if *have[k] > 0 {
							*have[k]--
							break
						}
					}
					tell(s, w)
					return
				}
				for k := range have {
					if n := *have[k]; n > 0 {
						*have[k]--
						tell(s, w*float64(n)/float64(e))
						*have[k]++
					}
				}
			})
		}
	}
	take(l.EggsRemoved, []int{2, 1, 0})
	take(l.EggsMovedOut, []int{0, 1, 2})
	for s, w := range all {
		in := small(l.EggsMovedIn)
		for f := small(0); f <= in; f++ {
			for d := small(0); d <= f; d++ {
				n := s
				n.v += f - d
				n.d += d
				n.c += in - f
				if n.failed || n.out {
					n.d += n.v
					n.v = 0
				}
				tell(n, w*urn(t.t.Rates.Fertile, in, f)*urn(t.t.Rates.EmbryoDies, f, d))
			}
		}
	}
}

func binomial(n, k small, p float64) float64 {
	q := 1.0
	for i := range k {
		q *= float64(n-i) / float64(k-i) * p
	}
	for range n - k {
		q *= 1 - p
	}
	return q
}

// urn is the beta-binomial chance of k in n, from the gamma function.
func urn(s nest.Share, n, k small) float64 {
	a, b := s.Mean*s.Weight, (1-s.Mean)*s.Weight
	lb := func(x, y float64) float64 {
		p, _ := math.Lgamma(x)
		q, _ := math.Lgamma(y)
		r, _ := math.Lgamma(x + y)
		return p + q - r
	}
	// The binomial coefficient is 1/((n+1) B(k+1, n-k+1)).
	return math.Exp(lb(a+float64(k), b+float64(n-k))-lb(a, b)-lb(float64(k)+1, float64(n-k)+1)) / float64(n+1)
}
