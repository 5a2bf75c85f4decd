package light

import (
	"fmt"
	"slices"
	"strings"
	"time"
)

// WarningKind is what a warning is about.
type WarningKind string

// The kinds of warning.
const (
	BigStep     WarningKind = "step"   // over 30 min a day
	BigWeek     WarningKind = "week"   // over 1 h within 7 days
	ClockJump   WarningKind = "clock"  // the birds' day jumps with the clocks
	YoungFed    WarningKind = "young"  // shorter days while nests are live
	MoultLaying WarningKind = "moult"  // moult and laying at one time
	ShortBroken WarningKind = "short"  // daylight lengthens a day that the lamps keep short
	Ragged      WarningKind = "ragged" // daylight goes past the lamps at full light
	DarkGap     WarningKind = "gap"    // dark between lamps and daylight
)

// Most change of lamp hours while nests are live: common practice, no source.
const (
	dayLimit  = 30 * time.Minute
	weekLimit = time.Hour
)

// Warning is one thing to mind on a date or, in a summary, on a run of dates.
type Warning struct {
	Kind     WarningKind
	From, To Date // equal on a row
	// Amount is the change of a step or week, the shift of the clocks (forward is positive)
	// or the length of a gap.
	Amount time.Duration
	// Before and After are the window light ahead of and past the lamps.
	Before, After time.Duration
	// Worst is the date of the largest amount or window light.
	Worst Date
	// Young, Live and Moult name nests with young fed, nests live or laying, and moults.
	Young, Live, Moult []string
}

// Text says it as a keeper would, with no date in front.
func (w Warning) Text() string {
	upTo := ""
	if w.From != w.To {
		upTo = "up to "
	}
	switch w.Kind {
	case BigStep:
		return fmt.Sprintf("%s%s in one day; common practice keeps to %s a day while nests are live%s", upTo, Spell(w.Amount), Spell(dayLimit), names(" (", w.Live, ")"))
	case BigWeek:
		return fmt.Sprintf("%s%s within 7 days; common practice keeps to %s a week while nests are live%s", upTo, Spell(w.Amount), Spell(weekLimit), names(" (", w.Live, ")"))
	case ClockJump:
		way, when := "forward", "earlier"
		if w.Amount < 0 {
			way, when = "back", "later"
		}
		return fmt.Sprintf("the clocks go %s %s: by the wall clock the birds' day starts %s %s than the day before%s", way, Spell(w.Amount), Spell(w.Amount), when, names("; live nests: ", w.Live, ""))
	case YoungFed:
		return "the lamps shorten while" + names(" young are still fed at ", w.Young, "") + and(w.Young, w.Live) + names(" nests are live at ", w.Live, "")
	case MoultLaying:
		return fmt.Sprintf("moult (%s) overlaps laying (%s): move one of them", strings.Join(w.Moult, ", "), strings.Join(w.Live, ", "))
	case DarkGap:
		return fmt.Sprintf("%s%s of dark between the lamps and daylight: cover the windows, or shift the programme", upTo, Spell(w.Amount))
	}
	var parts []string
	if w.Before >= time.Minute {
		parts = append(parts, Spell(w.Before)+" before the lamps")
	}
	if w.After >= time.Minute {
		whom := "the lamps"
		if parts != nil {
			whom = "them"
		}
		parts = append(parts, Spell(w.After)+" after "+whom)
	}
	what := "daylight makes the day ragged"
	if w.Kind == ShortBroken {
		what = "daylight lengthens the short day"
	}
	most := ""
	if upTo != "" {
		most = fmt.Sprintf(", most on %s", w.Worst.Short())
	}
	return fmt.Sprintf("%s, %s%s%s: cover the windows, or shift the programme", what, upTo, strings.Join(parts, " and "), most)
}

func names(before string, labels []string, after string) string {
	if len(labels) == 0 {
		return ""
	}
	return before + strings.Join(labels, ", ") + after
}

func and(a, b []string) string {
	if len(a) > 0 && len(b) > 0 {
		return " and"
	}
	return ""
}

// Warning joins the row's warnings into one cell; it is empty when all is well.
func (r Row) Warning() string {
	var s []string
	for _, w := range r.Warnings {
		s = append(s, w.Text())
	}
	return strings.Join(s, "; ")
}

// warn fills in the warnings of the i-th row. Earlier rows are complete.
func (p *Programme) warn(i int) {
	r := &p.Rows[i]
	add := func(w Warning) {
		w.From, w.To, w.Worst = r.Date, r.Date, r.Date
		r.Warnings = append(r.Warnings, w)
	}
	b := p.Circuit.Birds
	var live []string
	if b != nil && (r.Change != 0 || r.ClockShift != 0) {
		live = b.labels(func(n Nest) bool { return n.Live.Has(r.Date) || n.Young.Has(r.Date) })
	}
	if r.Change != 0 && (b == nil || live != nil) {
		if r.Change.Abs() > dayLimit {
			add(Warning{Kind: BigStep, Amount: r.Change.Abs(), Live: live})
		}
		var week time.Duration
		for _, x := range p.Rows[max(0, i-6) : i+1] {
			week += x.Change.Abs()
		}
		if week > weekLimit {
			add(Warning{Kind: BigWeek, Amount: week, Live: live})
		}
	}
	if r.ClockShift != 0 && p.Circuit.Plan.Clock == Wall {
		add(Warning{Kind: ClockJump, Amount: r.ClockShift, Live: live})
	}
	if b != nil {
		if r.Change < 0 && live != nil {
			fed := b.labels(func(n Nest) bool { return n.Young.Has(r.Date) })
			others := b.labels(func(n Nest) bool { return n.Live.Has(r.Date) && !n.Young.Has(r.Date) })
			add(Warning{Kind: YoungFed, Young: fed, Live: others})
		}
		if laying := b.labels(func(n Nest) bool { return n.Laying.Has(r.Date) }); laying != nil {
			var moult []string
			for _, m := range b.Moults {
				if m.Span.Has(r.Date) {
					moult = append(moult, m.Label)
				}
			}
			if moult != nil {
				add(Warning{Kind: MoultLaying, Live: laying, Moult: moult})
			}
		}
	}
	if r.Before >= time.Minute || r.After >= time.Minute {
		kind := ShortBroken
		if r.Phase == FullTime {
			kind = Ragged
		}
		add(Warning{Kind: kind, Before: r.Before, After: r.After})
	}
	if r.Gap >= time.Minute {
		add(Warning{Kind: DarkGap, Amount: r.Gap})
	}
}

func (b *Birds) labels(ok func(Nest) bool) []string {
	var s []string
	for _, n := range b.Nests {
		if ok(n) {
			s = append(s, n.Label)
		}
	}
	return s
}

// Summary joins the warnings of dates that follow each other, so that a page can say them
// once: same kind, same birds. They come in order of their first date.
func (p *Programme) Summary() []Warning {
	var all []Warning
	open := map[WarningKind]int{} // the latest warning of a kind
	for _, r := range p.Rows {
		for _, w := range r.Warnings {
			k, ok := open[w.Kind]
			if ok && all[k].To.AddDays(1) == w.From && w.Kind != ClockJump &&
				slices.Equal(all[k].Young, w.Young) && slices.Equal(all[k].Live, w.Live) && slices.Equal(all[k].Moult, w.Moult) {
				a := &all[k]
				if w.Amount > a.Amount || w.Before+w.After > worst(p, a.Worst) {
					a.Worst = w.Worst
				}
				a.To, a.Amount = w.To, max(a.Amount, w.Amount)
				a.Before, a.After = max(a.Before, w.Before), max(a.After, w.After)
				continue
			}
			open[w.Kind] = len(all)
			all = append(all, w)
		}
	}
	return all
}

// worst is the window light outside the lamps on a date.
func worst(p *Programme, d Date) time.Duration {
	r, _ := p.At(d)
	return r.Before + r.After
}

// Shift is what moving the whole programme would do for daylight outside the lamps.
type Shift struct {
	By        time.Duration // later is positive
	Now, Then time.Duration // mean daylight outside lamp hours a day, before and after
}

// BestShift looks for the shift, in quarters of an hour up to three hours, that leaves
// the least daylight outside the lamps, and of equal ones the smallest. It is zero
// without windows.
func (p *Programme) BestShift() Shift {
	best := Shift{}
	if p.daylight == nil || len(p.Rows) == 0 {
		return best
	}
	for q := 0; q <= 24; q++ {
		by := int64((q+1)/2) * 900
		if q%2 == 1 {
			by = -by
		}
		var out int64
		for i, r := range p.Rows {
			on, off := r.On.Unix()+by, r.Off.Unix()+by
			for _, w := range p.through(i) {
				out += w.to - w.from
				// Lamps of the day before and the day after light this date too.
				for k := int64(-86400); k <= 86400; k += 86400 {
					out -= max(0, min(w.to, off+k)-max(w.from, on+k))
				}
			}
		}
		mean := (time.Duration(out) * time.Second / time.Duration(len(p.Rows))).Round(time.Second)
		if q == 0 {
			best.Now, best.Then = mean, mean
		}
		if mean < best.Then {
			best.By, best.Then = time.Duration(by)*time.Second, mean
		}
	}
	return best
}

// Wait is a taper held back until no nest is live.
type Wait struct {
	Plan Plan     // with the taper and rest moved; as it was when nothing waits
	For  []string // nests that it waits for
	// Open are nests whose end is not known; the plan cannot wait for those, so they need a
	// date first.
	Open []string
}

// WaitForYoung moves the taper, and rest with it, to the day after the last young of the
// nests that are live when it would start are on their own.
func (c Circuit) WaitForYoung() Wait {
	w := Wait{Plan: c.Plan}
	if c.Birds == nil {
		return w
	}
	start := c.TaperFrom
	for again := true; again; {
		again = false
		w.For, w.Open = nil, nil
		for _, n := range c.Birds.Nests {
			waits, open := false, false
			for _, s := range []Span{n.Live, n.Young} {
				if s.From.IsZero() || s.From.After(start) {
					continue
				}
				if s.To.IsZero() {
					open = true
				} else if !s.To.Before(c.TaperFrom) {
					waits = true
					if !s.To.Before(start) {
						start, again = s.To.AddDays(1), true
					}
				}
			}
			if open {
				w.Open = append(w.Open, n.Label)
			} else if waits {
				w.For = append(w.For, n.Label)
			}
		}
	}
	w.Plan.RestBy = w.Plan.RestBy.AddDays(start.Sub(c.TaperFrom))
	w.Plan.TaperFrom = start
	return w
}
