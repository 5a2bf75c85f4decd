package nest

// StageKind is what a nest is up to.
type StageKind int

// The stages of a nest, in order.
const (
	Unknown  StageKind = iota // no look says anything
	Empty                     // looked into, nothing there
	Building                  // nest material carried or shaped
	Laying                    // from the first egg until the last, or until a bird is seen to sit
	Sitting                   // from then until the first chick
	Hatching                  // from the first chick until the last
	Chicks                    // all hatched, none out
	Out                       // fledged, not yet parted
	Weaned                    // parted
	Failed                    // eggs or chicks were there and none is left
)

var stageNames = []string{"unknown", "empty", "building", "laying", "sitting", "hatching", "chicks", "out", "weaned", "failed"}

// String returns the keeper's word for the stage.
func (s StageKind) String() string {
	if s < 0 || int(s) >= len(stageNames) {
		return "no such stage"
	}
	return stageNames[s]
}

// Stage is what a nest is up to on one day.
type Stage struct {
	Kind StageKind
	// Number counts inside the stage, on the likely days: the egg while laying ("egg 4"),
	// days of sitting with 0 for its first day ("sit 9"), days old of the oldest chick
	// while hatching, in the nest, and out ("day 8"). 0 in the other stages.
	Number int
	// Low and High are the numbers that the events' ranges allow. Low <= Number <= High.
	Low, High int
	// Certain says that a look on the day shows the stage, or that every day still
	// possible for the events gives the same stage.
	Certain bool
}

// On returns the stage of the nest on a day. Looks after it are left aside only in so far
// as the stage itself is not read from them: the events are those of the whole course.
// A day after the day asked is a forecast.
func (c *Course) On(day Day) Stage {
	in := c.in
	if in == nil || len(in.looks) == 0 {
		return Stage{}
	}
	day = min(max(day, -farDay), farDay)
	var at *found // the last look by the day
	for i := range in.looks {
		if in.looks[i].Day <= day {
			at = &in.looks[i]
		}
	}
	if at != nil && day >= in.last().Day {
		if in.over() {
			if w := c.Events[Wean]; w.Happened {
				return Stage{Kind: Weaned, Certain: true}
			}
			return Stage{Kind: Failed, Certain: true}
		}
		if _, young := in.left(); c.Events[Wean].Happened && young <= 0 {
			return Stage{Kind: Weaned, Certain: true}
		}
	}
	return c.among(day, at)
}

// among finds the stage between the events of the course.
func (c *Course) among(day Day, at *found) Stage {
	in := c.in
	first, sit, hatch := c.Events[FirstEgg], c.Events[SittingFrom], c.Events[Hatch]
	last, out, done := c.Events[LastHatch], c.Events[Fledge], c.Events[ClutchComplete]
	today := at != nil && at.Day == day
	shown := func(i int) bool { return i >= 0 && in.looks[i].Day <= day }

	age := func(k StageKind, since Event, certain bool) Stage {
		if !since.Known {
			return Stage{Kind: k, Certain: certain}
		}
		return Stage{
			Kind: k, Number: int(max(0, day-since.Likely)), Certain: certain,
			Low: int(max(0, day-since.Late)), High: int(max(0, day-since.Early)),
		}
	}
	switch {
	case shown(in.outAt):
		return age(Out, hatch, true)
	case shown(in.youngAt):
		if out.Known && day >= out.Likely {
			if today && in.noOutBefore >= 0 && in.looks[in.noOutBefore].Day == day {
				return age(Chicks, hatch, true)
			}
			return age(Out, hatch, day > out.Late)
		}
		sure := !out.Known || day < out.Early || today
		if last.Known && day <= last.Likely && in.eggsLeft(at) {
			return age(Hatching, hatch, sure && (day <= last.Early || today))
		}
		return age(Chicks, hatch, sure && (!last.Known || day > last.Late || !in.eggsLeft(at)))
	}
	if in.eggsAt < 0 {
		if at == nil {
			return Stage{}
		}
		if at.builds() {
			return Stage{Kind: Building, Certain: today}
		}
		if in.noneBefore < 0 {
			return Stage{}
		}
		return Stage{Kind: Empty, Certain: today}
	}
	noYoung := in.noYoungBefore >= 0 && in.youngAt < 0 && hatch.Known && in.looks[in.noYoungBefore].Day > hatch.Late
	switch {
	case first.Known && day < first.Likely && at.builds():
		return Stage{Kind: Building, Certain: day < first.Early}
	case first.Known && day < first.Likely && !shown(in.eggsAt):
		return Stage{Kind: Empty, Certain: day < first.Early}
	case hatch.Known && day > hatch.Late && !noYoung:
		// Not looked at since they were due: most likely hatched, not seen.
		if out.Known && day >= out.Likely {
			return age(Out, hatch, false)
		}
		return age(Chicks, hatch, false)
	case hatch.Known && day >= hatch.Likely && !noYoung && !(today && at.exact && in.youngAt < 0 && in.noYoungBefore >= 0 && in.looks[in.noYoungBefore].Day == day):
		return age(Hatching, hatch, false)
	case done.Known && day <= done.Likely && !sit.Happened && !(in.closed && at != nil && at.own >= in.laid):
		return c.laying(day, at)
	case sit.Known && day >= sit.Likely || !sit.Known && (sit.Happened || done.Happened):
		s := age(Sitting, sit, day >= sit.Late && (!hatch.Known || day < hatch.Early || today))
		if !sit.Known {
			s.Certain = today
		}
		return s
	}
	return c.laying(day, at)
}

// builds says that the look, if there is one, shows building.
func (f *found) builds() bool { return f != nil && f.Building != nil && *f.Building }

func (in *input) eggsLeft(at *found) bool { return at == nil || at.eggs != 0 || !at.exact }

// laying numbers the egg of the day: the last count, and an egg a day since.
func (c *Course) laying(day Day, at *found) Stage {
	in := c.in
	s := Stage{Kind: Laying}
	i := in.p.LayingInterval
	var have int
	var since float64
	if at != nil {
		have, since = at.own, float64(day-at.Day)
	}
	if in.foster {
		return s
	}
	// Sure while the profile has more eggs to come.
	s.Certain = have > 0 && c.Events[ClutchComplete].Known && day < c.Events[ClutchComplete].Early
	grow := func(interval, most float64) int {
		if !i.Known || interval <= 0 {
			return have
		}
		more := float64(have)
		if have == 0 {
			if e := c.Events[FirstEgg]; e.Known {
				more = 1 + float64(day-e.Likely)/interval
			}
		} else {
			more += since / interval
		}
		if in.n.Known {
			more = min(more, most)
		}
		return max(have, int(min(more, mostCount)+slip))
	}
	s.Low = max(have, min(1, have))
	s.High = grow(i.Low, in.n.High)
	s.Number = min(max(grow(i.Typical, in.n.Typical), s.Low), s.High)
	return s
}
