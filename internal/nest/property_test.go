package nest

import (
	"cmp"
	"math"
	"reflect"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

func sortedNames(all map[string]Profile) []string {
	var names []string
	for name := range all {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}

// someLooks draws looks into a nest between the day before laying and the last fledging.
func someLooks(t *rapid.T, l life, label string, most int) []Look {
	from, to := l.laid[0]-3, slices.Max(l.out)+2
	var looks []Look
	for range rapid.IntRange(0, most).Draw(t, label) {
		day := rapid.IntRange(int(math.Floor(from)), int(to)).Draw(t, "look day")
		hour := rapid.Float64Range(0.35, 0.8).Draw(t, "look hour")
		looks = append(looks, partly(t, l.look(float64(day)+hour)))
	}
	return looks
}

func checkSound(t *rapid.T, c Course) {
	for _, e := range c.Events {
		if !e.Known {
			if e.Early != 0 || e.Late != 0 || e.Seen || e.Overdue {
				t.Fatalf("%v is not known and yet %+v", e.Kind, e)
			}
			if e.Basis == "" {
				t.Fatalf("%v is not known and does not say why", e.Kind)
			}
			continue
		}
		if e.Early > e.Likely || e.Likely > e.Late {
			t.Fatalf("%v: %d, %d, %d out of order", e.Kind, e.Early, e.Likely, e.Late)
		}
		if e.From > e.To || e.From < e.Early || e.To > e.Late {
			t.Fatalf("%v: aim %d to %d outside %d to %d", e.Kind, e.From, e.To, e.Early, e.Late)
		}
		if e.Overdue && (c.Asked < e.Likely+OverdueAfter || c.Asked <= e.Late) {
			t.Fatalf("%v overdue on %d: %+v", e.Kind, c.Asked, e)
		}
		if e.Seen && !e.Happened {
			t.Fatalf("%v seen but not happened", e.Kind)
		}
		if e.Basis == "" {
			t.Fatalf("%v has no basis", e.Kind)
		}
		var sum float64
		days := e.Chances()
		for i, d := range days {
			if d.P <= 0 || d.P > 1+1e-12 || d.Day != e.Early+Day(i) {
				t.Fatalf("%v: chance %+v", e.Kind, d)
			}
			sum += d.P
		}
		if math.Abs(sum-1) > 1e-9 || len(days) != int(e.Late-e.Early)+1 {
			t.Fatalf("%v: %d chances sum to %v", e.Kind, len(days), sum)
		}
		from, to, ok := e.EightInTen()
		if !ok || from < e.Early || to > e.Late || from > to {
			t.Fatalf("%v: 8 in 10 %d to %d", e.Kind, from, to)
		}
	}
	if s := c.Stage; s.Low > s.Number || s.Number > s.High {
		t.Fatalf("stage %+v out of order", s)
	}
	for _, n := range c.Next {
		if n.From > n.Best || n.Best > n.To || n.From < c.Asked || n.Why == "" {
			t.Fatalf("next look %+v on %d", n, c.Asked)
		}
	}
	for _, q := range c.Questions {
		if q.N <= 0 || q.Text == "" || q.Since > q.Day {
			t.Fatalf("question %+v", q)
		}
	}
}

// The truth lies in every range, whatever looks a keeper took.
func TestTimeline_TruthInRange(t *testing.T) {
	all := mustProfiles(t)
	names := sortedNames(all)
	rapid.Check(t, func(t *rapid.T) {
		p := all[rapid.SampledFrom(names).Draw(t, "species")]
		l := anyLife(t, p)
		looks := someLooks(t, l, "looks", 8)
		asked := Day(slices.Max(l.out)) + 3
		c := Timeline(p, looks, asked)
		checkSound(t, c)
		for k, day := range l.days() {
			if e := c.Events[k]; e.Known && (day < e.Early || day > e.Late) {
				t.Fatalf("%v was on %d, outside %d to %d (%s) %v", k, day, e.Early, e.Late, e.Basis, c.Notes)
			}
		}
		for _, q := range c.Questions {
			if q.Kind != EggsFell && q.Kind != ChicksFell { // chicks not counted may explain a fall
				t.Fatalf("asked of a true count: %+v", q)
			}
		}
	})
}

// A look that fits never widens a range.
func TestTimeline_LookNeverWidens(t *testing.T) {
	all := mustProfiles(t)
	names := sortedNames(all)
	rapid.Check(t, func(t *rapid.T) {
		p := all[rapid.SampledFrom(names).Draw(t, "species")]
		l := anyLife(t, p)
		asked := Day(slices.Max(l.out)) + 3
		few := someLooks(t, l, "looks", 6)
		more := append(slices.Clone(few), someLooks(t, l, "further look", 1)...)
		a, b := Timeline(p, few, asked), Timeline(p, more, asked)
		if len(a.Notes)+len(b.Notes) > 0 {
			t.Skip("looks that do not fit may widen")
		}
		for k := range a.Events {
			x, y := a.Events[k], b.Events[k]
			if x.Known && (!y.Known && !b.in.over() || y.Known && (y.Early < x.Early || y.Late > x.Late)) {
				t.Fatalf("%v widened from %d..%d to %d..%d (%v)\n%s\n%s", x.Kind, x.Early, x.Late, y.Early, y.Late, y.Known, x.Basis, y.Basis)
			}
		}
	})
}

// anyLook draws a look that may make no sense at all.
func anyLook(t *rapid.T) Look {
	count := func(label string) *int {
		if n := rapid.IntRange(-4, 7).Draw(t, label); n >= -1 {
			return &n
		}
		return nil
	}
	flag := func(label string) *bool {
		if n := rapid.IntRange(0, 8).Draw(t, label); n < 2 {
			return new(n == 0)
		}
		return nil
	}
	small := func(label string) int { return max(0, rapid.IntRange(-12, 3).Draw(t, label)) }
	l := Look{
		Day: Day(rapid.IntRange(-30, 30).Draw(t, "day")), Minute: rapid.IntRange(-1, 1439).Draw(t, "minute"),
		Eggs: count("eggs"), EggsAtLeast: count("at least"), Chicks: count("chicks"), DeadChicks: count("dead"), Out: count("out"),
		NewClutch: rapid.IntRange(0, 12).Draw(t, "new clutch") == 0, OldEggs: small("old"),
		AgeDays: count("age"), AgePlusMinus: count("either way"),
		Building: flag("building"), ClutchComplete: flag("complete"), Sitting: flag("sitting"),
		Fertile: small("fertile"), Clear: small("clear"), EarlyDead: small("early dead"), DeadInShell: small("dead in shell"), Cracked: small("cracked"),
		EggsRemoved: small("removed"), EggsMovedIn: small("in"), EggsMovedOut: small("out"),
		ChicksMovedIn: small("chicks in"), ChicksMovedOut: small("chicks out"), Ringed: small("ringed"), Weaned: small("weaned"),
		Found: rapid.IntRange(0, 12).Draw(t, "found") == 0, FirstEggUnknown: rapid.IntRange(0, 12).Draw(t, "unknown") == 0,
	}
	if rapid.IntRange(0, 9).Draw(t, "due") == 0 {
		d := l.Day + Day(rapid.IntRange(-5, 15).Draw(t, "due day"))
		l.EggsDue = &Window{d - 2, d, d + 2}
	}
	return l
}

func anyRange(t *rapid.T, r Range, label string) Range {
	switch rapid.IntRange(0, 9).Draw(t, label) {
	case 0:
		return Range{}
	case 1:
		return Range{Low: rapid.Float64().Draw(t, "low"), Typical: rapid.Float64().Draw(t, "typical"), High: rapid.Float64().Draw(t, "high"), Known: true}
	}
	return r
}

func anyProfile(t *rapid.T, all map[string]Profile, names []string) Profile {
	p := all[rapid.SampledFrom(names).Draw(t, "species")]
	for i, r := range []*Range{
		&p.LayingInterval, &p.IncubationStartsAtEgg, &p.Incubation, &p.ClutchSize,
		&p.CandlingAge, &p.RingAge, &p.FledgeAge, &p.IndependenceAge,
	} {
		*r = anyRange(t, *r, string(rune('a'+i)))
	}
	return p
}

// Whatever is written, the answer holds together; looks are not changed; their order does
// not matter; and all days move together.
func TestTimeline_AnyLooks(t *testing.T) {
	all := mustProfiles(t)
	names := sortedNames(all)
	rapid.Check(t, func(t *rapid.T) {
		p := anyProfile(t, all, names)
		var looks []Look
		for range rapid.IntRange(0, 8).Draw(t, "looks") {
			looks = append(looks, anyLook(t))
		}
		asked := Day(rapid.IntRange(-30, 80).Draw(t, "asked"))
		before := slices.Clone(looks)
		c := Timeline(p, looks, asked)
		checkSound(t, c)
		if !reflect.DeepEqual(before, looks) {
			t.Fatal("the looks were changed")
		}
		for d := asked - 70; d < asked+70; d++ {
			if s := c.On(d); s.Low > s.Number || s.Number > s.High {
				t.Fatalf("stage on %d out of order: %+v", d, s)
			}
		}

		if !slices.ContainsFunc(looks, func(a Look) bool {
			n := 0
			for _, b := range looks {
				if a.Day == b.Day && a.Minute == b.Minute {
					n++
				}
			}
			return n > 1
		}) {
			shuffled := rapid.Permutation(looks).Draw(t, "order")
			if s := Timeline(p, shuffled, asked); !sameCourse(c, s, 0) {
				t.Fatal("the order of the looks matters")
			}
		}

		by := Day(rapid.IntRange(-40000, 40000).Draw(t, "by"))
		moved := slices.Clone(looks)
		for i := range moved {
			moved[i].Day += by
			if w := moved[i].EggsDue; w != nil {
				moved[i].EggsDue = &Window{w.Early + by, w.Likely + by, w.Late + by}
			}
		}
		if s := Timeline(p, moved, asked+by); !sameCourse(c, s, by) {
			t.Fatalf("moved by %d:\n%+v\n%+v", by, c, s)
		}
	})
}

// sameCourse says that b is a moved by so many days.
func sameCourse(a, b Course, by Day) bool {
	for k := range a.Events {
		if !a.Events[k].Known {
			continue
		}
		for _, d := range []*Day{
			&a.Events[k].Early, &a.Events[k].Likely, &a.Events[k].Late, &a.Events[k].From, &a.Events[k].To,
			&a.Events[k].shapeEarly, &a.Events[k].shapeLikely, &a.Events[k].shapeLate,
		} {
			*d += by
		}
	}
	next, questions := slices.Clone(a.Next), slices.Clone(a.Questions)
	for i := range next {
		next[i].From += by
		next[i].Best += by
		next[i].To += by
	}
	for i := range questions {
		questions[i].Since += by
		questions[i].Day += by
	}
	return a.Events == b.Events && a.Stage == b.Stage && a.Counts == b.Counts &&
		slices.Equal(next, b.Next) && slices.Equal(questions, b.Questions) && slices.Equal(a.Notes, b.Notes)
}

// The net gives the same ranges as taking every sum of steps between two nodes anew.
func TestNet_AgreesWithShortestPaths(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := newNet()
		plain := newNet() // not closed until the end
		for range rapid.IntRange(0, 15).Draw(t, "constraints") {
			i, j := rapid.IntRange(0, nodes-1).Draw(t, "i"), rapid.IntRange(0, nodes-1).Draw(t, "j")
			if i == j {
				continue
			}
			w := float64(rapid.IntRange(-8, 12).Draw(t, "w"))
			was := n
			try := plain
			try[i][j] = min(try[i][j], w)
			shut := try
			for k := range shut {
				for a := range shut {
					for b := range shut {
						shut[a][b] = min(shut[a][b], shut[a][k]+shut[k][b])
					}
				}
			}
			can := true
			for k := range shut {
				can = can && shut[k][k] >= 0
			}
			if got := n.add(i, j, w); got != can {
				t.Fatalf("add(%d, %d, %v) = %v, want %v", i, j, w, got, can)
			}
			if !can {
				if n != was {
					t.Fatal("a constraint that cannot be changed the net")
				}
				continue
			}
			plain = try
			if n != shut {
				t.Fatalf("the net is not closed:\n%v\n%v", n, shut)
			}
		}
	})
}

func TestClutches_SplitsAtNewClutch(t *testing.T) {
	looks := []Look{
		{Day: 42, Minute: -1, Eggs: new(3), Out: new(4)},
		{Day: 0, Minute: -1, Eggs: new(5)},
		{Day: 40, Minute: -1, Eggs: new(2), Out: new(4), NewClutch: true},
		{Day: 45, Minute: -1, Eggs: new(5), Weaned: 4},
		{Day: 60, Minute: -1, Eggs: new(0), Chicks: new(5)},
	}
	got := Clutches(looks)
	if len(got) != 2 || len(got[0]) != 4 || len(got[1]) != 4 {
		t.Fatalf("got %d clutches: %+v", len(got), got)
	}
	if !slices.IsSortedFunc(got[0], func(a, b Look) int { return cmp.Compare(a.Day, b.Day) }) {
		t.Error("not in order of time")
	}
	if last := got[0][3]; last.Weaned != 4 || last.Eggs != nil || last.Day != 45 {
		t.Errorf("the young parted on day 45 are the first clutch's, got %+v", last)
	}
	if got[1][2].Weaned != 0 || *got[1][3].Chicks != 5 {
		t.Errorf("the further clutch: %+v", got[1])
	}
}
