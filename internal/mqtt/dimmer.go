package mqtt

import (
	"math"
	"time"
)

// The bounds of what may be said. All are judgement; that dark must not come at once is common practice, no source.
const (
	slept    = 3 * time.Minute // a longer time between two looks at the plan is as a start
	fastest  = 5 * time.Minute // in which a level may fall from full to nothing, at the least
	repeated = time.Minute     // what burns is said again after so long
)

// Quiet says why nothing is said of a circuit.
type Quiet int

// Why nothing is said.
const (
	Speaking   Quiet = iota // something is
	NotPlanned              // the plan's level is not known
	StartedLow              // the program was started, woke or was set up while the lamps were not full
	TooFast                 // the plan fell faster than a bird can follow
	MissedDusk              // the broker was away while the lamps went down
	SaidOff                 // off was said; nothing more until they are on
)

// dimmer decides what may be said of one circuit. See the package comment for its rules.
type dimmer struct {
	looked time.Time // when the plan was last asked; zero before the first time
	plan   float64   // its level then
	quiet  Quiet

	told bool // something was delivered
	sent float64
	at   time.Time // when it was
}

// look takes in the plan's level at an instant, whether there is a connection or not.
func (d *dimmer) look(now time.Time, level float64, known bool) {
	gap := now.Sub(d.looked)
	before, was := d.plan, d.looked
	d.looked, d.plan = now, level
	full := level >= 1
	switch {
	case !known || math.IsNaN(level):
		d.quiet, d.plan = NotPlanned, 0
		d.told = false
	case full:
		d.quiet = Speaking
	case was.IsZero() || gap > slept || gap < 0:
		d.quiet = StartedLow
		d.told = false
	case d.quiet == NotPlanned:
		d.quiet = StartedLow
	case d.quiet == SaidOff && level > before:
		d.quiet = Speaking // from the dark that was said, every level is brighter
	case d.quiet == Speaking && before-level > fall(gap):
		d.quiet = TooFast
	}
}

// fall is how far a level may fall within a time.
func fall(gap time.Duration) float64 {
	const rounding = 1e-9 // two instants of one even fade differ from it by less
	return float64(gap)/float64(fastest) + rounding
}

// connected notes that the broker is reached. A dusk that it missed is not told to it afterwards.
func (d *dimmer) connected() {
	if d.quiet == Speaking && d.plan <= 0 {
		d.quiet = MissedDusk
	}
}

// say returns the level to send at the instant of the last look, and false when nothing is to be sent.
func (d *dimmer) say() (level float64, ok bool) {
	if d.quiet != Speaking {
		return 0, false
	}
	level = d.plan
	if level < 1 {
		from, since := 1.0, repeated // a lamp that nobody has told anything is at full by its own timer
		if d.told {
			from, since = d.sent, min(d.looked.Sub(d.at), repeated)
		}
		level = max(level, from-fall(since))
	}
	if d.told && percent(level) == percent(d.sent) && d.looked.Sub(d.at) < repeated {
		return 0, false
	}
	return level, true
}

// delivered notes that the broker has taken a level.
func (d *dimmer) delivered(level float64) {
	d.told, d.sent, d.at = true, level, d.looked
	if level <= 0 {
		d.quiet = SaidOff
	}
}

// percent is a level as it is sent: a lamp that burns at all is at 1 at the least.
func percent(level float64) int {
	if level <= 0 {
		return 0
	}
	return max(1, int(math.Round(100*min(level, 1))))
}
