package nest

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// History is what is known of one clutch.
type History struct {
	Looks []Look // of one clutch, in any order; see [Clutches]
	// Began is the day the round began: the nest was given, or the pair set up. Nil when not
	// known. No egg is laid on it.
	Began *Day
}

// Numbers are the chances of a count: P[n] is the chance of n. They sum to 1, or P is nil
// when nothing can be said.
type Numbers struct{ P []float64 }

// Mean returns the mean count.
func (n Numbers) Mean() float64 {
	var s float64
	for i, p := range n.P {
		s += p * float64(i)
	}
	return s
}

// Quantile returns the least count that is not passed with the chance q.
func (n Numbers) Quantile(q float64) int {
	var sum float64
	for i, p := range n.P {
		sum += p
		if sum >= q-1e-12 {
			return i
		}
	}
	return max(0, len(n.P)-1)
}

// AtLeast returns the chance of n or more.
func (n Numbers) AtLeast(least int) float64 {
	var s float64
	for i, p := range n.P {
		if i >= least {
			s += p
		}
	}
	return min(s, 1)
}

// Posterior is what the looks say of one clutch, as chances. Every field rests on the whole
// history; a field that nothing can be said of is its zero value.
type Posterior struct {
	Asked    Day
	LastLook Day // the last look that says anything; Asked when there is none

	events [kinds]When
	ringTo When

	Clutch  Numbers // eggs laid in all, given that any is
	Fertile Numbers // full eggs of those in the nest once laying is over, foster eggs brought before included
	Hatched Numbers // eggs that have hatched here or will, given that a clutch is laid
	// EggsAlive and Chicks are what is in the nest after the last look: eggs that will hatch
	// if the nest goes on, and live young, those out of the nest included.
	EggsAlive, Chicks Numbers
	Young             float64 // mean number of young that leave the nest

	// Deserted is the chance that the nest is left, eggs or brood, by the day asked.
	Deserted float64
	// NoneHatches is the chance that eggs are laid and none has hatched or will: clear, dead, chilled or lost.
	NoneHatches float64
	// Due is the chance that the day on which the first chick should hatch is past on the
	// day asked, whether or not there is a chick to hatch.
	Due float64
	// DueAtLook is the same for the last look, if no egg had hatched by then: the chance that
	// the hatch was overdue when the keeper looked.
	DueAtLook float64

	// Evidence is the natural logarithm of the chance of these looks, for scoring one look
	// after another (see [Model.Forecast]).
	Evidence float64
	// Fit says what had to be allowed for the looks to be of one clutch.
	Fit Fit
	// Notes say it in words, and what in the species' profile is not known.
	Notes []string

	due   When
	stats stats
}

// Fit is how well the looks go with one clutch of one hen.
type Fit int

// The fits, from good to none.
const (
	Fits      Fit = iota // one clutch of one hen
	TwoHens              // only if more than one egg was laid on a day
	OneOff               // only if counts are off by one
	SomeAside            // only when some looks are left aside
)

var fitWords = []string{
	"",
	"More eggs came than one hen lays: two hens, or eggs put in.",
	"The counts go together only if one is off by one: an egg was not seen, or vanished while the hen was laying.",
	"The looks do not go together as one clutch; some are left aside.",
}

func (f Fit) String() string {
	if f < 0 || int(f) >= len(fitWords) {
		return "no such fit"
	}
	return fitWords[f]
}

// Event returns the chances of an event. Candle is the day of sitting on which candling
// tells most. Ring is the first day on which a closed ring stays on the oldest chick; see
// [Posterior.RingTo]. Wean is the day on which the young feed themselves, Part the day by
// which the latest of the species do.
func (p *Posterior) Event(k Kind) When {
	if k < 0 || k >= kinds {
		return When{}
	}
	return p.events[k]
}

// RingTo returns the last day on which a closed ring goes over the oldest chick's foot.
func (p *Posterior) RingTo() When { return p.ringTo }

// HatchDue returns the chances of the day on which the first egg should hatch, whether or
// not one does.
func (p *Posterior) HatchDue() When { return p.due }

const (
	// foundBefore and youngBefore are how many days before the first look a nest found with
	// eggs, or with young, may have had its first egg: every day alike.
	foundBefore, youngBefore = 45, 80
	// ahead is for how many days an empty nest is followed when the round's start is not known.
	lookAhead = 75
	// idle is the mean wait for a first egg when the round's start is not known.
	idle = 14.0
	// mostMissed is how many mornings a clutch may miss; more has no weight to speak of.
	mostMissed = 7
	// soonLeft is how many days after the first egg a nest may be left that was not yet looked
	// at: nobody asks so soon.
	soonLeft = 2
	// soonAgain is the longest time between two looks in which no whole clutch comes and goes.
	soonAgain = 6
	// twoHens is the most eggs that two hens leave in one box. Common practice, no source.
	twoHens = 12
	// longestCourse is how many days before the last look are read.
	longestCourse = 150
	// negligible is the share of a weight that is let go.
	negligible = 1e-10
)

// Posterior works out what the looks say of a clutch on the day asked. A look after that
// day counts like any other. The work is exact but for what has next to no weight: every day
// of first egg, sitting and hatch and every make-up of the clutch is gone through.
func (m *Model) Posterior(h History, asked Day) *Posterior {
	all, zero := h.open()
	if len(all) == 0 && h.Began == nil {
		return m.read(nil, asked, asked, nil, Fits)
	}
	for _, fit := range []Fit{Fits, TwoHens, OneOff} {
		if p := m.allowing(fit, all, zero, asked, h.Began); p != nil {
			return p
		}
	}
	// One look may be the odd one: without which are the rest likeliest?
	for len(all) > 1 {
		var best *Posterior
		for i := range all {
			if p := m.read(slices.Delete(slices.Clone(all), i, i+1), zero, asked, nil, SomeAside); p != nil && (best == nil || p.Evidence > best.Evidence) {
				best = p
			}
		}
		if best != nil {
			return best
		}
		all = all[1:]
	}
	return m.read(nil, asked, asked, nil, SomeAside)
}

// open reads the looks that say anything.
func (h *History) open() (all []sight, zero Day) {
	all, zero = sights(h.Looks)
	all = slices.DeleteFunc(all, func(s sight) bool { return !s.says() })
	n := len(all)
	if n == 0 {
		if h.Began != nil {
			zero = *h.Began
		}
		return all, zero
	}
	// No clutch goes on so long: what was seen earlier says nothing of it.
	old := all[n-1].day - longestCourse
	if all = slices.DeleteFunc(all, func(s sight) bool { return s.day < old }); len(all) < n {
		net, chNet := all[0].net, all[0].chNet
		for i := range all {
			all[i].net -= net
			all[i].chNet -= chNet
		}
	}
	return all, zero
}

// allowing reads the looks with what a fit allows; nil when that is not enough.
func (m *Model) allowing(fit Fit, all []sight, zero, asked Day, began *Day) *Posterior {
	all = slices.Clone(all)
	switch fit {
	case TwoHens:
		m = m.loose()
	case OneOff:
		for i := range all {
			all[i].slack = 1
		}
	}
	return m.read(all, zero, asked, began, fit)
}

// loose is the model of more than one hen: several eggs a day, and as many as a box holds.
// A hen adds an egg to another's clutch rarely, so that this serves only where one hen will
// not do.
func (m *Model) loose() *Model {
	l := *m
	p := make([]float64, twoHens)
	for i := range p {
		// As likely as one hen's clutch, or two clutches together, and a little for any number.
		p[i] = 0.02 + m.clutch.at(i+1)
		for j, q := range m.clutch.p {
			p[i] += 0.5 * q * m.clutch.at(i+1-m.clutch.lo-j)
		}
	}
	l.clutch = normalised(1, p, 0)
	gap := append([]float64{0.45}, m.gap.p...)
	l.gap = normalised(0, gap, 0)
	l.blank = nil
	return &l
}

// Forecast returns the chances of the numbers of eggs and of live chicks in the nest that a
// look on a day would find, each on its own. The day is that of the last look or later. It
// costs some twenty posteriors. Both are empty when the looks do not fit one clutch.
func (m *Model) Forecast(h History, day Day) (eggs, chicks Numbers) {
	base := m.Posterior(h, day)
	if base.Fit == SomeAside {
		return Numbers{}, Numbers{}
	}
	most := m.clutch.hi()
	for _, l := range h.Looks {
		most = max(most, m.clutch.hi()+l.EggsMovedIn+l.ChicksMovedIn)
	}
	chance := func(look Look) float64 {
		look.Day, look.Minute = day, -1
		with := History{append(slices.Clone(h.Looks), look), h.Began}
		all, zero := with.open()
		p := m.allowing(base.Fit, all, zero, day, h.Began)
		if p == nil {
			return 0
		}
		return math.Exp(p.Evidence - base.Evidence)
	}
	e, c := make([]float64, min(most, mostEggs)+1), make([]float64, min(most, mostEggs)+1)
	for n := range e {
		e[n], c[n] = chance(Look{Eggs: &n}), chance(Look{Chicks: &n})
	}
	return numbers(e), numbers(c)
}

// reader works out one posterior.
type reader struct {
	m     *Model
	all   []sight
	zero  Day
	asked int
	n     int // most eggs laid
	nHi   int // the same, given the looks
	most  int // most eggs or chicks in the nest

	// Days are days after zero; the first egg may be laid from a0 to a0+len(prior)-1.
	a0     int
	prior  []float64
	never  float64 // weight of no clutch at all
	foster int     // the look at which a nest without eggs of its own got foster eggs or chicks; -1

	span int // days from the first egg to the last, at most
	nx   int // days

	path   [][]float64 // path[a][i*w+(x-a)]: egg i+1 is laid on day x
	width  int
	ways   []way
	way0   []float64 // by s, c-s, n
	sit    [][]float64
	h0, h1 int
}

// way is a course of laying: sitting from egg k on day s, egg n, the last, on day c.
type way struct {
	p    float64 // from sitting to the last egg, with the looks between
	s, c int32
	k, n int32
}

func (m *Model) read(all []sight, zero, asked Day, began *Day, fit Fit) *Posterior {
	r := &reader{m: m, all: all, zero: zero, asked: int(min(max(asked, -farDay), farDay) - zero), n: m.clutch.hi(), nHi: m.clutch.hi(), foster: -1}
	p := &Posterior{Asked: asked, LastLook: asked, Fit: fit, Notes: slices.Clone(m.Notes)}
	if len(all) > 0 {
		p.LastLook = zero + Day(all[len(all)-1].day)
	}
	if fit != Fits {
		p.Notes = append(p.Notes, fit.String())
	}
	r.most = r.n
	for _, s := range all {
		r.most = max(r.most, r.n+s.net+s.movedIn, s.eggs)
	}
	r.most = min(r.most, mostEggs)
	r.start(began)
	var ok bool
	if r.foster >= 0 {
		ok = r.fostered(p)
	} else {
		ok = r.laid(p)
	}
	if !ok {
		return nil
	}
	return p
}

// start sets the days on which the first egg may be laid, and their chances.
func (r *reader) start(began *Day) {
	first := -1 // the first look that shows eggs laid here
	for t := range r.all {
		s := &r.all[t]
		if s.movedIn+s.chIn > 0 && (first < 0 || s.exact && s.eggs-s.removed-s.movedOut <= 0 && s.chicks <= 0) {
			r.foster = t
			r.all = r.all[t:]
			return
		}
		if s.own > 0 && first < 0 {
			first = t
		}
	}
	last := 0
	if n := len(r.all); n > 0 {
		last = r.all[n-1].laid
	}
	seen := last
	if first >= 0 {
		seen = r.all[first].laid
	}
	switch {
	case began != nil && seen < int(*began-r.zero)+len(r.m.delay) && seen > int(*began-r.zero):
		r.a0 = int(*began - r.zero)
		r.prior = scaled(r.m.delay, 1-r.m.rates.Never)
		r.never = r.m.rates.Never
	case first == 0:
		back := foundBefore
		if r.all[0].young {
			back = youngBefore
		}
		r.a0 = r.all[0].laid - back
		r.prior = make([]float64, back+1)
		for i := range r.prior {
			r.prior[i] = 1 / float64(back+1)
		}
	default:
		if len(r.all) > 0 {
			r.a0 = r.all[0].laid + 1
		}
		r.prior = make([]float64, max(0, last-r.a0)+lookAhead)
		p := (1 - r.m.rates.Never) / idle
		for i := range r.prior {
			r.prior[i] = p
			p *= 1 - 1/idle
		}
		r.never = r.m.rates.Never
	}
	if r.never > 0 {
		// First eggs beyond the days gone through.
		var sum float64
		for _, q := range r.prior {
			sum += q
		}
		r.never += max(0, 1-r.m.rates.Never-sum)
	}
	// Looks one soon after another that found nothing: no clutch came and went between.
	empty, upTo := first < 0 && len(r.all) > 0, r.a0-1
	for t := range r.all {
		s := &r.all[t]
		empty = empty && s.eggs <= 0 && s.net == 0 && !s.acts() && !s.young
		if s.exact {
			empty = empty && s.laid-upTo <= soonAgain
			upTo = max(upTo, s.laid)
		}
	}
	if cut := upTo + 1 - r.a0; empty && cut > 0 && cut < len(r.prior) {
		r.a0 += cut
		r.prior = r.prior[cut:]
	}
	if first >= 0 {
		// An egg has been seen.
		r.prior = r.prior[:min(max(r.all[first].laid-r.a0+1, 0), len(r.prior))]
		r.never = 0
	}
}

func scaled(p []float64, by float64) []float64 {
	q := make([]float64, len(p))
	for i, x := range p {
		q[i] = x * by
	}
	return q
}

// laid works out a clutch laid here.
func (r *reader) laid(p *Posterior) bool {
	m := r.m
	if len(r.prior) == 0 {
		return false
	}
	n := r.n
	r.span = min((n-1)*m.gap.hi(), n-1+mostMissed)
	r.nx = len(r.prior) + r.span
	// Each look's chance when i eggs are laid, on its day: before sitting and after.
	light, steady := newTable(n+1, r.nx), newTable(n+1, r.nx)
	before := 1.0 // looks before the first day on which an egg may be laid
	next := make([]int, r.nx+2)
	for x := range next {
		next[x] = r.nx + 1
	}
	looked := make([]bool, r.nx)
	for t := range r.all {
		s := &r.all[t]
		x := s.laid - r.a0
		if x < 0 {
			before *= s.laying(0, false)
			continue
		}
		if x >= r.nx {
			continue
		}
		looked[x] = true
		for i := 0; i <= n; i++ {
			light[i][x] *= s.laying(i, false)
			steady[i][x] *= s.laying(i, true)
		}
	}
	for x := r.nx - 1; x >= 0; x-- {
		next[x] = next[x+1]
		if looked[x] {
			next[x] = x
		}
	}
	if before <= 0 {
		return false
	}
	if next[0] > r.nx && r.asked < r.a0+soonLeft && m.blank != nil {
		return r.unlaid(p, before)
	}
	// No egg yet on the days looked at before the first.
	none := before
	r.width = r.span + 1
	r.path = make([][]float64, len(r.prior))
	start := make([]float64, n*r.nx) // by egg and day, summed over first eggs
	store := make([]float64, len(r.prior)*n*r.width)
	var free []float64 // the walk where no look is near, from egg 1 on day 0
	for a := range r.prior {
		if r.prior[a]*none > 0 {
			w := store[a*n*r.width : (a+1)*n*r.width]
			if next[a] > r.nx {
				// No look from here on: every walk is the same but for its start.
				if free == nil {
					free = make([]float64, n*r.width)
					free[0] = 1
					r.walk(free, light, next, a, 0, r.width)
				}
				for i, x := range free {
					w[i] = x * r.prior[a] * none
				}
			} else {
				w[0] = r.prior[a] * none
				r.walk(w, light, next, a, 0, r.width)
			}
			r.path[a] = w
			for i := range n {
				for g := i; g < r.width && a+g < r.nx; g++ {
					start[i*r.nx+a+g] += w[i*r.width+g]
				}
			}
		}
		if looked[a] {
			none *= light[0][a]
		}
	}
	for x := len(r.prior); x < r.nx; x++ {
		if looked[x] {
			none *= light[0][x]
		}
	}
	for t := range r.all {
		if x := r.all[t].laid - r.a0; x >= r.nx {
			none *= r.all[t].laying(0, false)
		}
	}
	r.never *= none
	if !r.courses(start, steady, next) && r.never <= 0 {
		return false
	}
	return r.hatching(p)
}

// unlaid works out a clutch of which no look can have seen anything: it goes as any clutch of
// the model does, from whatever day its first egg comes.
func (r *reader) unlaid(p *Posterior, before float64) bool {
	var sum float64
	for _, q := range r.prior {
		sum += q
	}
	total := (sum + r.never) * before
	if !(total > least) {
		return false
	}
	blank := r.m.blank
	laid := sum * before / total
	from := func(w When) When {
		if len(w.Days) == 0 {
			return When{}
		}
		lo := int(w.Days[0].Day)
		to := make([]float64, len(w.Days)+len(r.prior)-1)
		for a, q := range r.prior {
			for i, d := range w.Days {
				to[a+i] += q * d.P
			}
		}
		out := when(r.zero, r.a0+lo, to, sum)
		out.Chance = w.Chance * laid
		return out
	}
	for k := range blank.events {
		p.events[k] = from(blank.events[k])
	}
	p.ringTo, p.due = from(blank.ringTo), from(blank.due)
	p.Clutch, p.Fertile, p.Hatched = blank.Clutch, blank.Fertile, blank.Hatched
	p.Young, p.NoneHatches = blank.Young*laid, blank.NoneHatches*laid
	p.Due = min(p.due.By(p.Asked)*laid, 1)
	p.Evidence = math.Log(total)
	p.stats = blank.stats
	return true
}

// newTable is rows of ones.
func newTable(rows, n int) [][]float64 {
	store := make([]float64, rows*n)
	for i := range store {
		store[i] = 1
	}
	t := make([][]float64, rows)
	for i := range t {
		t[i] = store[i*n : (i+1)*n]
	}
	return t
}

// walk follows the laying from egg k+1 (its weight is set) to the last that a clutch may
// have. w[i*width+g] is the weight that egg i+1 is laid g days after day a, with the looks
// since day a.
func (r *reader) walk(w []float64, seen [][]float64, next []int, a, k, width int) {
	gap := &r.m.gap
	for i := k + 1; i < r.n; i++ {
		row, prev := w[i*width:(i+1)*width], w[(i-1)*width:i*width]
		for g := 0; g < width && a+g < r.nx; g++ {
			var sum float64
			for j, q := range gap.p {
				back := gap.lo + j
				if back > g {
					break
				}
				p := prev[g-back] * q
				if p <= 0 {
					continue
				}
				// i eggs lay there on the days between.
				for x := next[min(a+g-back, r.nx)]; x < a+g; x = next[x+1] {
					p *= seen[i][x]
				}
				sum += p
			}
			row[g] = sum
		}
	}
}

// courses lists the ways from steady sitting to the last egg. start holds, by egg and day,
// the weight of that egg being laid then, with the looks before.
func (r *reader) courses(start []float64, steady [][]float64, next []int) bool {
	m, n := r.m, r.n
	var top float64
	for _, x := range start {
		top = max(top, x)
	}
	if top <= 0 {
		return false
	}
	// What cannot be is left out soon: fewer eggs than were seen, or the last egg before a
	// look that was followed by more eggs.
	atLeast, after := 1, 0
	for t := range r.all {
		s := &r.all[t]
		if s.slack > 0 {
			break
		}
		atLeast = max(atLeast, s.own)
		for u := range t {
			if l := &r.all[u]; l.exact && s.eggs-s.net > l.eggs-l.net {
				after = max(after, l.laid-r.a0+1)
			}
		}
	}
	w := make([]float64, n*r.width)
	free := make([][]float64, n+1)
	r.ways = make([]way, 0, 2048)
	for k := 1; k <= n; k++ {
		pk, beyond := m.sit.at(k), m.sit.above(k)
		for s := range r.nx {
			at := start[(k-1)*r.nx+s]
			if at <= top*negligible {
				continue
			}
			// A clutch of k eggs is sat on from its last, whichever egg the pair would have begun with.
			if q := m.clutch.at(k) * (pk + beyond); q > 0 && k >= atLeast && s >= after {
				r.ways = append(r.ways, way{q, int32(s), int32(s), int32(k), int32(k)})
			}
			if pk <= 0 || m.clutch.above(k) <= 0 {
				continue
			}
			use := w
			if next[s] > r.nx {
				if free[k] == nil {
					free[k] = make([]float64, n*r.width)
					free[k][(k-1)*r.width] = 1
					r.walk(free[k], steady, next, s, k-1, r.width)
				}
				use = free[k]
			} else {
				clear(w)
				w[(k-1)*r.width] = 1
				r.walk(w, steady, next, s, k-1, r.width)
			}
			for i := max(k, atLeast-1); i < n; i++ {
				pn := m.clutch.at(i+1) * pk
				if pn <= 0 {
					continue
				}
				for g := max(0, after-s); g < r.width && s+g < r.nx; g++ {
					if p := use[i*r.width+g] * pn; p*at > top*negligible {
						r.ways = append(r.ways, way{p, int32(s), int32(s + g), int32(k), int32(i + 1)})
					}
				}
			}
		}
	}
	r.sit = make([][]float64, n+1)
	for k := 1; k <= n; k++ {
		r.sit[k] = start[(k-1)*r.nx : k*r.nx]
	}
	return len(r.ways) > 0
}

// hatching joins the laying with what follows it.
func (r *reader) hatching(p *Posterior) bool {
	m, inc := r.m, &r.m.incubation
	n := r.n
	// By day of sitting, of the last egg and by clutch.
	cw := r.width
	perS := cw * (n + 1)
	r.way0 = make([]float64, r.nx*perS)
	r.h0, r.h1 = math.MaxInt, math.MinInt
	c0, c1, nHi := math.MaxInt, math.MinInt, 0
	for _, w := range r.ways {
		s, c := int(w.s), int(w.c)
		r.way0[s*perS+(c-s)*(n+1)+int(w.n)] += w.p * r.sit[w.k][s]
		r.h0, r.h1 = min(r.h0, s+inc.lo), max(r.h1, s+inc.hi())
		c0, c1 = min(c0, c), max(c1, c)
		nHi = max(nHi, int(w.n))
	}
	r.nHi = nHi
	// The weight of each day of hatch before the looks that follow.
	base := r.h0
	before := make([]float64, r.h1-r.h0+1)
	var sum float64
	for s := range r.nx {
		var w float64
		for _, x := range r.way0[s*perS : (s+1)*perS] {
			w += x
		}
		sum += w
		if w > 0 {
			for i, pi := range inc.p {
				before[s+inc.lo+i-base] += w * pi
			}
		}
	}
	perC := n + 1
	entry := make([]float64, (c1-c0+1)*perC)
	value := make([]float64, (c1-c0+1)*perC)
	later := make([]float64, len(r.way0)) // the chance of the looks after laying, by the same places
	dueW := make([]float64, len(before))
	incW := make([]float64, len(inc.p))
	sitW := make([]float64, r.nx)
	// each calls f for all ways that lead to a hatch on day h.
	each := func(h int, f func(i, s, at, entry int, x float64)) {
		for i := range inc.p {
			s := h - inc.lo - i
			if s < 0 || s >= r.nx {
				continue
			}
			for g := 0; g < cw && s+g < h && s+g <= c1; g++ {
				c := s + g
				if c < c0 {
					continue
				}
				at := s*perS + g*perC
				for k := 1; k <= n; k++ {
					if x := r.way0[at+k]; x > 0 {
						f(i, s, at+k, (c-c0)*perC+k, x)
					}
				}
			}
		}
	}
	r.h0, r.h1 = base, base+len(before)-1
	for r.h0 < r.h1 && before[r.h0-base] <= 0 {
		r.h0++
	}
	b := newBrood(r, c0+r.a0, c1+r.a0)
	// The weightiest day first: what a later one can add is then known to be little.
	order := make([]int, 0, len(before))
	for i, x := range before {
		if x > 0 {
			order = append(order, i)
		}
	}
	slices.SortFunc(order, func(i, j int) int { return cmp.Compare(before[j], before[i]) })
	for _, i := range order {
		if before[i] <= dropped*b.best {
			break
		}
		h := base + i
		clear(entry)
		each(h, func(i, _, _, e int, x float64) { entry[e] += x * inc.p[i] })
		b.hatchOn(h+r.a0, entry, value)
		each(h, func(i, s, at, e int, x float64) {
			v := inc.p[i] * value[e]
			later[at] += v
			dueW[h-base] += x * v
			incW[i] += x * v
			sitW[s] += x * v
		})
	}
	var all float64
	for _, x := range dueW {
		all += x
	}
	total := all + r.never
	if !(total > least) {
		return false
	}
	p.Evidence = math.Log(total)
	firstW, lastW := make([]float64, len(r.prior)), make([]float64, r.nx)
	clutchW, startW := make([]float64, n+1), make([]float64, n+1)
	after := make([][]float64, n+1)
	store := make([]float64, (n+1)*r.nx)
	for k := range after {
		after[k] = store[k*r.nx : (k+1)*r.nx]
	}
	st := &p.stats
	for _, w := range r.ways {
		v := w.p * later[int(w.s)*perS+int(w.c-w.s)*perC+int(w.n)]
		if v <= 0 {
			continue
		}
		after[w.k][w.s] += v
		x := v * r.sit[w.k][w.s]
		lastW[w.c] += x
		clutchW[w.n] += x
		if w.n > w.k {
			// The egg is told only when the clutch went on past it.
			startW[w.k] += x
		}
		st.gaps += x * float64(w.n-1)
		st.days += x * float64(w.c)
	}
	for a := range r.prior {
		if r.path[a] == nil {
			continue
		}
		var sum float64
		for k := 1; k <= n; k++ {
			row := r.path[a][(k-1)*r.width : k*r.width]
			for g, x := range row {
				if a+g >= r.nx {
					break
				}
				if x > 0 {
					sum += x * after[k][a+g]
				}
			}
		}
		firstW[a] = sum
		st.days -= sum * float64(a)
	}
	ev := &p.events
	ev[FirstEgg] = when(r.zero, r.a0, firstW, total)
	ev[ClutchComplete] = when(r.zero, r.a0, lastW, total)
	ev[SittingFrom] = when(r.zero, r.a0, sitW, total)
	ev[Candle] = ev[SittingFrom].later(int(math.Round(m.profile.CandlingAge.Typical)))
	p.due = when(r.zero, r.a0+base, dueW, total)
	p.Clutch = numbers(clutchW)
	b.summary(p, total, all)
	st.close(all, incW, inc.lo, startW, clutchW)
	return true
}

func numbers(w []float64) Numbers {
	var sum float64
	for _, x := range w {
		sum += x
	}
	if !(sum > 0) {
		return Numbers{}
	}
	p := make([]float64, len(w))
	for i, x := range w {
		p[i] = x / sum
	}
	return Numbers{p}
}

// fostered works out a nest whose eggs or young all came from elsewhere.
func (r *reader) fostered(p *Posterior) bool {
	s := &r.all[0]
	lo, w := r.fosterDue(s)
	r.h0, r.h1 = lo, lo+len(w)-1
	// What was counted at that look is not of these eggs.
	came := *s
	*s = sight{day: s.day, part: s.part, laid: s.laid, eggs: 0, exact: true, chicks: 0, dead: -1, out: -1, age: -1, sits: -1, complete: -1, movedIn: min(came.movedIn, mostEggs), chIn: min(came.chIn, mostEggs)}
	net, chNet := came.net-came.movedOut-came.removed, came.chNet-came.chOut
	for i := range r.all {
		r.all[i].net -= net
		r.all[i].chNet -= chNet
	}
	r.all[0].net, r.all[0].chNet = 0, 0
	b := newBrood(r, s.laid, s.laid)
	r.a0 = 0
	dueW := make([]float64, len(w))
	entry, value := make([]float64, r.n+1), make([]float64, r.n+1)
	var all float64
	for i, q := range w {
		clear(entry)
		entry[0] = q
		b.hatchOn(lo+i, entry, value)
		dueW[i] = q * value[0]
		all += dueW[i]
	}
	if !(all > least) {
		return false
	}
	p.Evidence = math.Log(all)
	p.due = when(r.zero, lo, dueW, all)
	p.Notes = append(p.Notes, fmt.Sprintf("The eggs or young came from another nest on day %d of these looks; their laying is told there.", s.day))
	b.summary(p, all, all)
	return true
}

// fosterDue is when eggs or young brought in hatch or hatched.
func (r *reader) fosterDue(s *sight) (lo int, w []float64) {
	if d := s.due; d != nil && d.Late-d.Early < foundBefore {
		early, likely, late := int(d.Early-r.zero), int(d.Likely-r.zero), int(d.Late-r.zero)
		w = make([]float64, late-early+3)
		for i := range w {
			x := early - 1 + i
			if x <= likely {
				w[i] = float64(i+1) / float64(likely-early+2)
			} else {
				w[i] = float64(len(w)-i) / float64(late-likely+2)
			}
		}
		return early - 1, normalised(0, w, 0).p
	}
	if s.chIn == 0 {
		// Fresh to nearly hatched.
		w = make([]float64, r.m.incubation.hi())
		lo = s.day + 1
	} else {
		w = make([]float64, r.m.fledge.hi()+1)
		lo = s.day - r.m.fledge.hi()
	}
	for i := range w {
		w[i] = 1
		if s.chIn > 0 {
			w[i] = s.ageFits(lo + i)
		}
	}
	return lo, normalised(0, w, 0).p
}
