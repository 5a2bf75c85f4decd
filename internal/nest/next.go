package nest

import "fmt"

const (
	// emptyEvery is how many days an empty box is left between looks. Common practice, no source.
	emptyEvery = 3
	// candleAgain is how long eggs that look clear are given before the next candling:
	// sitting may have begun late (Lockwood and Massey, Bird Scene 2017-2018).
	candleAgain = 2
)

// LookKind is what a coming look is for.
type LookKind int

// The reasons to look.
const (
	LookFirstEgg LookKind = iota // is there an egg?
	LookCount                    // how many eggs, once laying is over
	LookCandle                   // which eggs are fertile
	LookChicks                   // has any hatched?
	LookRing                     // ring the young
	LookCountOut                 // count the young out of the nest: no lid is lifted
	LookWean                     // are they feeding themselves? no lid is lifted
)

var lookNames = []string{"look for the first egg", "count the eggs", "candle", "look for chicks", "ring", "count the young out", "wean"}

// String names the look.
func (k LookKind) String() string {
	if k < 0 || int(k) >= len(lookNames) {
		return "no such look"
	}
	return lookNames[k]
}

// NextLook is a look worth taking. From is the first day on which its answer changes a
// decision; before it the nest is left alone.
type NextLook struct {
	Kind           LookKind
	From, Best, To Day
	Lid            bool // the lid of the nest box is lifted
	Why            string
}

// next lists the looks ahead, soonest first. A window that is past is moved to the day
// asked, because its answer is still wanted.
func (in *input) next(c *Course) []NextLook {
	if len(in.looks) == 0 || in.over() || c.Stage.Kind == Weaned {
		return nil
	}
	var all []NextLook
	add := func(kind LookKind, from, best, to Day, lid bool, why string, a ...any) {
		if len(a) > 0 {
			why = fmt.Sprintf(why, a...)
		}
		from = max(from, in.asked)
		to = max(to, from)
		all = append(all, NextLook{kind, from, min(max(best, from), to), to, lid, why})
	}
	last := in.last()
	if in.eggsAt < 0 {
		add(LookFirstEgg, last.Day+emptyEvery-1, last.Day+emptyEvery, last.Day+emptyEvery+1, true,
			"The first egg dates the whole clutch; an empty box needs no daily look.")
		return all
	}
	ev := &c.Events
	if in.youngAt < 0 {
		in.nextEggs(c, add)
	}
	if in.outAt < 0 && ev[Ring].Known && !ev[Ring].Happened && in.asked <= ev[Ring].Late {
		add(LookRing, ev[Ring].From, ev[Ring].Likely, ev[Ring].To, true,
			"Closed rings go on at %s days; later the foot is too big.", in.p.RingAge.words())
	}
	if in.outAt < 0 && ev[Fledge].Known {
		add(LookCountOut, ev[Fledge].Likely, ev[Fledge].Likely+1, ev[Fledge].Late+1, false,
			"Count the young on the perches when all should be out; the lid stays shut.")
	}
	if ev[Wean].Known {
		if last.weaned == 0 {
			add(LookWean, ev[Wean].Likely, ev[Wean].Likely, ev[Part].Late, false,
				"Young are parted once each is seen feeding itself; the late age of the species asks for it.")
		} else if _, young := in.left(); young > 0 && in.p.IndependenceAge.Known {
			add(LookWean, in.asked, in.asked, in.asked, false, "%d young are left with the parents; part them once each is seen feeding itself.", young)
		}
	}
	return all
}

func (in *input) nextEggs(c *Course, add func(LookKind, Day, Day, Day, bool, string, ...any)) {
	ev := &c.Events
	last := in.last()
	if done := ev[ClutchComplete]; done.Known && !in.closed && !ev[Candle].Happened && in.asked <= ev[SittingFrom].Late+lateEgg {
		// Candling counts them too: a look of its own is worth it only while it still
		// dates the sitting.
		if in.asked <= done.Late+1 && !(ev[Candle].Known && ev[Candle].From <= in.asked) {
			add(LookCount, done.Likely+1, done.Likely+1, max(done.Likely+1, min(done.Late+1, done.Likely+3)), true,
				"One count when laying is over gives the clutch and dates the sitting.")
		}
	}
	good, candled := in.good()
	switch e := ev[Candle]; {
	case !e.Known:
	case !candled:
		if in.asked <= ev[Hatch].Late || !ev[Hatch].Known {
			add(LookCandle, e.From, e.Likely, e.To, true,
				"At %s days of sitting candling tells full eggs from clear ones; sooner it misleads.", in.p.CandlingAge.words())
		}
	case good == 0:
		at := in.candledOn()
		add(LookCandle, at+candleAgain, at+candleAgain, at+candleAgain+1, true,
			"None showed life. Sitting may have begun late: candle once more before anything is taken out.")
	}
	if hatch := ev[Hatch]; hatch.Known && !(candled && good == 0) {
		from := hatch.Likely
		if last.Day == in.asked && in.noYoungBefore >= 0 && in.looks[in.noYoungBefore].Day == in.asked {
			from = max(from, in.asked+1)
		}
		add(LookChicks, from, from, max(hatch.Late, from), true,
			"The first chick sets day 0 for ringing and parting; no look before it is due.")
	}
}

// good returns the fertile eggs of the last candling, and whether there was one.
func (in *input) good() (n int, candled bool) {
	for _, f := range in.looks {
		if f.Candled {
			n, candled = f.Fertile, true
		}
	}
	return n, candled
}

func (in *input) candledOn() Day {
	var d Day
	for _, f := range in.looks {
		if f.Candled {
			d = f.Day
		}
	}
	return d
}
