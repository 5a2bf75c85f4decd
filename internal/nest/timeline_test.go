package nest

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
)

// days3 writes an event as "early likely late", "-" when it is not known.
func days3(e Event) string {
	if !e.Known {
		return "-"
	}
	return fmt.Sprint(e.Early, e.Likely, e.Late)
}

// Worked by hand from the profile in testdata: the sums are in the comments.
func TestTimeline_WorkedBySpecies(t *testing.T) {
	// None on day 0, one egg on day 1: the first egg is laid on day 1.
	one := []Look{{Day: 0, Minute: -1, Eggs: new(0)}, {Day: 1, Minute: -1, Eggs: new(1)}}
	for _, test := range []struct {
		species string
		want    map[Kind]string
	}{
		// Sits from egg 4 (2-5): 1+1, 1+3, 1+4 and two missed mornings. Clutch 5.2 (3-8):
		// 1+2, 1+4.2, 1+7+2. Incubation 14.5 (13-16): 2+13, 4+14.5, 7+16. Ages from the hatch.
		{"Gouldian finch", map[Kind]string{
			FirstEgg: "1 1 1", SittingFrom: "2 4 7", ClutchComplete: "3 5 10", Candle: "8 11 15",
			Hatch: "15 19 23", Ring: "22 28 33", Fledge: "34 40 48", Wean: "53 61 72", Part: "64 68 72",
		}},
		// Sits from egg 3 (1-4): 1, 3, 1+3+2. Clutch 4.5 (2-8). Incubation 14 (12-16).
		{"Zebra finch", map[Kind]string{
			FirstEgg: "1 1 1", SittingFrom: "1 3 6", ClutchComplete: "2 5 10", Candle: "7 10 14",
			Hatch: "13 17 22", Ring: "20 26 32", Fledge: "30 37 43", Wean: "48 52 64", Part: "55 59 64",
		}},
		// Sits from egg 3 (2-4). Clutch 4.7 (3-6). Incubation 11 (11-13): 2+11, 3+11, 6+13.
		{"Red-cheeked cordon-bleu", map[Kind]string{
			FirstEgg: "1 1 1", SittingFrom: "2 3 6", ClutchComplete: "3 5 8", Candle: "8 10 14",
			Hatch: "13 14 19", Ring: "20 22 29", Fledge: "30 32 40", Wean: "44 49 59", Part: "53 54 59",
		}},
		// Fledging 27 (25-30), independence 42 (33-45).
		{"Java sparrow", map[Kind]string{
			FirstEgg: "1 1 1", SittingFrom: "2 4 7", ClutchComplete: "3 5 10",
			Hatch: "15 18 22", Fledge: "40 45 52", Wean: "48 60 67", Part: "60 63 67",
		}},
	} {
		c := Timeline(mustProfile(t, test.species), one, 1)
		for k, want := range test.want {
			if got := days3(c.Events[k]); got != want {
				t.Errorf("%s: %v %s, want %s (%s)", test.species, k, got, want, c.Events[k].Basis)
			}
		}
		if len(c.Notes)+len(c.Questions) > 0 {
			t.Errorf("%s: %v %v", test.species, c.Notes, c.Questions)
		}
	}
}

// The hatch spread of a clutch of five with an egg a day, sat on from the third or fourth
// egg, against what is published of zebra finches:
//
//   - wild broods hatch over about 2 days and domestic ones over about 4: Mainwaring et al.
//     2010, Biological Journal of the Linnean Society 100:763-773 (abstract);
//   - captive broods hatch over 3.1 days on average, 18 clutches, 63 chicks: Ikebuchi et
//     al. 2017, Zoological Science 34:369-376 (a summary of it).
func TestHatchSpread_PublishedZebraFinch(t *testing.T) {
	p := Profile{LayingInterval: Range{1, 1, 1, true}}
	third, fourth := HatchSpread(p, 5, 3), HatchSpread(p, 5, 4)
	if want := (Range{1, 1.6, 3, true}); !near(third, want) {
		t.Errorf("from the third egg %v, want %v", third, want)
	}
	if want := (Range{0.5, 0.8, 2, true}); !near(fourth, want) {
		t.Errorf("from the fourth egg %v, want %v", fourth, want)
	}
	// "Over n days" counts both the first day and the last: one more than the spread.
	least, most := math.Floor(min(third.Low, fourth.Low))+1, math.Ceil(max(third.High, fourth.High))+1
	if least > 2 || most < 4 || most > 5 {
		t.Errorf("hatches over %v to %v days, published about 2 (wild) to about 4 (domestic)", least, most)
	}
	const ikebuchi = 3.1
	if over := third.Typical + 1; math.Abs(over-ikebuchi) > 0.6 {
		t.Errorf("from the third egg likely over %v days, published %v", over, ikebuchi)
	}
	if s := HatchSpread(p, 5, 5); s.Low != 0 || s.Typical != 0 {
		t.Errorf("sat on from the last egg all hatch together, got %v", s)
	}
	if HatchSpread(Profile{}, 5, 3).Known {
		t.Error("a spread from an unknown laying interval")
	}
}

func near(a, b Range) bool {
	return a.Known == b.Known && math.Abs(a.Low-b.Low)+math.Abs(a.Typical-b.Typical)+math.Abs(a.High-b.High) < 1e-9
}

// Rules of the trade, counted from the first egg, lie inside the ranges.
func TestTimeline_PublishedRules(t *testing.T) {
	one := []Look{{Day: 0, Minute: -1, Eggs: new(0)}, {Day: 1, Minute: -1, Eggs: new(1)}}
	for _, test := range []struct {
		species string
		days    []Day // from the first egg to the hatch
		likely  float64
		source  string
	}{
		{"Bengalese (Society) finch", []Day{16, 17, 18}, 17, "17 days from the first egg, give or take one: The Bengalese Finch, quoted by a breeders' page"},
		{"Zebra finch", []Day{13, 14, 15, 16}, 0, "day 14 from the first egg marked, then daily; 13 and 15 to 16 happen: Lockwood and Massey, Bird Scene 2017-2018"},
	} {
		h := Timeline(mustProfile(t, test.species), one, 1).Events[Hatch]
		for _, d := range test.days {
			if 1+d < h.Early || 1+d > h.Late {
				t.Errorf("%s: day %d from the first egg lies outside %d to %d (%s)", test.species, d, h.Early-1, h.Late-1, test.source)
			}
		}
		if test.likely > 0 && math.Abs(float64(h.Likely-1)-test.likely) > 1 {
			t.Errorf("%s: likely %d days from the first egg, want %v (%s)", test.species, h.Likely-1, test.likely, test.source)
		}
	}

	// From steady sitting alone: about 12 days in captive zebra finches (Ikebuchi et al.
	// 2017); 13.6 in wild long-tailed finches (van Rooij and Griffith 2011, Emu 111:297).
	for species, want := range map[string]Day{"Zebra finch": 12, "Long-tailed finch (shaft-tail)": 14} {
		sat := []Look{
			{Day: 0, Minute: -1, Eggs: new(3), Sitting: new(false)},
			{Day: 1, Minute: -1, Eggs: new(4), Sitting: new(true)},
		}
		if h := Timeline(mustProfile(t, species), sat, 1).Events[Hatch]; 1+want < h.Early || 1+want > h.Late {
			t.Errorf("%s: %d days of sitting lie outside %d to %d", species, want, h.Early-1, h.Late-1)
		}
	}
}

func TestTimeline_Evidence(t *testing.T) {
	gouldian := mustProfile(t, "Gouldian finch")
	for _, test := range []struct {
		name  string
		looks []Look
		kind  Kind
		want  string
		seen  bool
	}{
		{"count bounds the first egg on both sides", []Look{
			{Day: 3, Eggs: new(0)}, {Day: 8, Eggs: new(4)},
		}, FirstEgg, "4 5 5", true},
		{"two counts while laying", []Look{
			{Day: 10, Eggs: new(3), FirstEggUnknown: true}, {Day: 12, Eggs: new(5), Chicks: new(0)},
		}, FirstEgg, "6 8 8", false}, // eggs 4 and 5 on days 11 and 12, before them two missed mornings at most
		{"same count twice closes the clutch", []Look{
			{Day: 0, Eggs: new(0)}, {Day: 5, Eggs: new(5)}, {Day: 8, Eggs: new(5)},
		}, ClutchComplete, "5 5 5", true},
		{"the keeper says it is complete", []Look{
			{Day: 0, Eggs: new(0)}, {Day: 6, Eggs: new(5), ClutchComplete: new(true)},
		}, ClutchComplete, "5 6 6", true},
		{"hatch between two looks", []Look{
			{Day: 0, Eggs: new(0)}, {Day: 5, Eggs: new(5)}, {Day: 18, Eggs: new(5), Chicks: new(0)}, {Day: 20, Eggs: new(3), Chicks: new(2)},
		}, Hatch, "18 19 20", true},
		{"age of the chicks", []Look{
			{Day: 50, Chicks: new(4), AgeDays: new(8), AgePlusMinus: new(1), Found: true},
		}, Hatch, "41 42 43", true},
		{"age and bracket together", []Look{
			{Day: 41, Eggs: new(4), Chicks: new(0), Found: true},
			{Day: 50, Chicks: new(4), AgeDays: new(8), AgePlusMinus: new(2)},
		}, Hatch, "41 42 44", true},
		{"fledging between two looks", []Look{
			{Day: 0, Chicks: new(4), AgeDays: new(10), AgePlusMinus: new(0), Found: true},
			{Day: 10, Chicks: new(4), Out: new(0)},
			{Day: 12, Chicks: new(1), Out: new(3)},
		}, Fledge, "10 12 12", true},
		{"fertile eggs were sat on for three days", []Look{
			{Day: 0, Eggs: new(0)}, {Day: 7, Fertile: 2, Clear: 1, Eggs: new(3)},
		}, SittingFrom, "2 4 4", false},
		{"foster eggs take the days of their own nest", []Look{
			{Day: 5, Eggs: new(0)}, {Day: 5, Minute: 1, EggsMovedIn: 4, EggsDue: &Window{14, 15, 17}},
		}, Hatch, "14 15 17", false},
		{"foster eggs have no first egg here", []Look{
			{Day: 5, EggsMovedIn: 4, EggsDue: &Window{14, 15, 17}},
		}, FirstEgg, "-", false},
		{"as found, eggs of unknown date hatch within the whole incubation", []Look{
			{Day: 0, Eggs: new(5), Chicks: new(0), Found: true},
		}, Hatch, "0 7 16", false}, // five eggs: sitting has begun
	} {
		t.Run(test.name, func(t *testing.T) {
			last := test.looks[len(test.looks)-1].Day
			c := Timeline(gouldian, test.looks, last)
			e := c.Events[test.kind]
			if got := days3(e); got != test.want || e.Seen != test.seen {
				t.Errorf("%v %s seen %v, want %s seen %v (%s)", test.kind, got, e.Seen, test.want, test.seen, e.Basis)
			}
			if len(c.Notes) > 0 {
				t.Errorf("notes: %v", c.Notes)
			}
		})
	}
}

func TestTimeline_UnknownProfileInventsNothing(t *testing.T) {
	looks := []Look{{Day: 0, Eggs: new(0)}, {Day: 3, Eggs: new(3)}}
	c := Timeline(Profile{}, looks, 3)
	for _, e := range c.Events {
		if e.Kind != FirstEgg && e.Known {
			t.Errorf("%v known from an empty profile: %s", e.Kind, days3(e))
		}
	}
	if got := days3(c.Events[FirstEgg]); got != "1 2 3" {
		t.Errorf("first egg %s, want the bracket of the looks alone", got)
	}
	p := mustProfile(t, "Zebra finch")
	p.RingAge = Range{}
	c = Timeline(p, looks, 3)
	if c.Events[Ring].Known || !c.Events[Hatch].Known {
		t.Error("an unknown ring age makes the ring window unknown and nothing else")
	}
	if want := "Not known: the ring age of this species is not known."; c.Events[Ring].Basis != want {
		t.Errorf("basis %q", c.Events[Ring].Basis)
	}
}

func TestTimeline_Contradictions(t *testing.T) {
	p := mustProfile(t, "Gouldian finch")
	for _, test := range []struct {
		name  string
		looks []Look
		note  string
	}{
		{"chicks a day before the shortest incubation", []Look{
			{Day: 0, Eggs: new(0)}, {Day: 1, Eggs: new(1)}, {Day: 14, Eggs: new(3), Chicks: new(1)},
		}, "widened by as much"},
		{"chicks the day after an empty nest", []Look{
			{Day: 0, Eggs: new(0), Chicks: new(0)}, {Day: 1, Eggs: new(0), Chicks: new(2)},
		}, "left aside"},
		{"five eggs in two days", []Look{{Day: 0, Eggs: new(0)}, {Day: 2, Eggs: new(5)}}, "widened"},
		{"an age that does not fit", []Look{
			{Day: 0, Eggs: new(4), Chicks: new(0), Found: true}, {Day: 2, Chicks: new(3), AgeDays: new(14), AgePlusMinus: new(1)},
		}, "chicks of about 14 days"},
		{"nine eggs", []Look{{Day: 0, Eggs: new(0)}, {Day: 12, Eggs: new(9)}}, "more than the usual 3 to 8"},
		{"two eggs and no more", []Look{{Day: 0, Eggs: new(0)}, {Day: 2, Eggs: new(2)}, {Day: 6, Eggs: new(2)}}, "fewer than the usual 3 to 8"},
	} {
		t.Run(test.name, func(t *testing.T) {
			c := Timeline(p, test.looks, 14)
			if !slices.ContainsFunc(c.Notes, func(s string) bool { return strings.Contains(s, test.note) }) {
				t.Errorf("notes %q, want one with %q", c.Notes, test.note)
			}
			for _, e := range c.Events {
				if e.Early > e.Likely || e.Likely > e.Late {
					t.Errorf("%v: %s", e.Kind, days3(e))
				}
			}
		})
	}
}

func TestTimeline_Overdue(t *testing.T) {
	p := mustProfile(t, "Gouldian finch")
	looks := []Look{{Day: 0, Eggs: new(0)}, {Day: 1, Eggs: new(1)}, {Day: 6, Eggs: new(5)}, {Day: 9, Eggs: new(5)}}
	first := Day(-1)
	for asked := Day(9); asked < 40 && first < 0; asked++ {
		if h := Timeline(p, looks, asked).Events[Hatch]; h.Overdue {
			first = asked
			if asked < h.Likely+2 || asked <= h.Late {
				t.Errorf("overdue on %d: %s", asked, days3(h))
			}
		}
	}
	if first < 0 {
		t.Error("never overdue")
	}
	// Where the profile leaves no doubt at all, three days are still waited.
	exact := func(x float64) Range { return Range{x, x, x, true} }
	sure := Profile{
		LayingInterval: exact(1), IncubationStartsAtEgg: exact(1), Incubation: exact(14), ClutchSize: exact(1),
	}
	lone := []Look{{Day: 0, Eggs: new(0)}, {Day: 1, Eggs: new(1)}}
	for asked, want := range map[Day]bool{15: false, 16: false, 17: false, 18: true} {
		if h := Timeline(sure, lone, asked).Events[Hatch]; h.Overdue != want || days3(h) != "15 15 15" {
			t.Errorf("due on day 15, on day %d overdue %v, want %v (%s)", asked, h.Overdue, want, days3(h))
		}
	}
	clear := append(slices.Clone(looks), Look{Day: 12, Eggs: new(5), Clear: 5})
	if Timeline(p, clear, 40).Events[Hatch].Overdue {
		t.Error("clear eggs are not late")
	}
	seen := append(slices.Clone(looks), Look{Day: 19, Eggs: new(4), Chicks: new(1)})
	if Timeline(p, seen, 40).Events[Hatch].Overdue {
		t.Error("hatched and overdue")
	}
	// Late young are the keeper's to part.
	if !Timeline(p, seen, 19+60).Events[Part].Overdue {
		t.Error("young of 60 days with their parents")
	}
	gone := append(slices.Clone(looks), Look{Day: 20, Eggs: new(5), EggsRemoved: 5})
	if c := Timeline(p, gone, 40); c.Events[Hatch].Known || c.Events[Hatch].Overdue || c.Stage.Kind != Failed || len(c.Next) > 0 {
		t.Errorf("whole clutch taken: %+v %v %v", c.Events[Hatch], c.Stage, c.Next)
	}
}

func TestTimeline_AnEarlierDayGivesWhatWasKnownThen(t *testing.T) {
	p := mustProfile(t, "Star finch")
	looks := []Look{{Day: 0, Eggs: new(0)}, {Day: 5, Eggs: new(4)}, {Day: 30, Chicks: new(3)}}
	if got, want := Timeline(p, looks, 6), Timeline(p, looks[:2], 6); got.Events != want.Events {
		t.Error("a later look changed what was known on day 6")
	}
}

func TestEvent_Chances(t *testing.T) {
	e := Event{Kind: Hatch, Known: true, Early: 10, Likely: 12, Late: 13, shapeEarly: 10, shapeLikely: 12, shapeLate: 13}
	// Weights 1/3, 2/3, 1 up to the likely day, then 1/2: in sixths 2, 4, 6, 3 of 15.
	want := []float64{2.0 / 15, 4.0 / 15, 6.0 / 15, 3.0 / 15}
	got := e.Chances()
	for i, w := range want {
		if math.Abs(got[i].P-w) > 1e-12 || got[i].Day != 10+Day(i) {
			t.Errorf("day %d: %v, want %v", got[i].Day, got[i].P, w)
		}
	}
	if from, to, _ := e.EightInTen(); from != 11 || to != 13 {
		t.Errorf("8 in 10: %d to %d, want 11 to 13 (13 of 15)", from, to)
	}
	// A look on day 12 without chicks cuts off days 10 and 11; 6 and 3 of 9 are left.
	e.Early = 12
	got = e.Chances()
	if len(got) != 2 || math.Abs(got[0].P-6.0/9) > 1e-12 {
		t.Errorf("after the cut: %v", got)
	}
	if (Event{}).Chances() != nil {
		t.Error("chances of what is not known")
	}

	p := mustProfile(t, "Gouldian finch")
	looks := []Look{{Day: 0, Eggs: new(0)}, {Day: 1, Eggs: new(1)}}
	before := Timeline(p, looks, 18).Events[Hatch].Chances()
	after := Timeline(p, append(looks, Look{Day: 18, Eggs: new(5), Chicks: new(0)}), 18).Events[Hatch].Chances()
	if after[0].Day != 18 {
		t.Fatalf("no chicks on day 18, and yet a chance for day %d", after[0].Day)
	}
	ratio := func(cs []Chance, a, b Day) float64 {
		return cs[a-cs[0].Day].P / cs[b-cs[0].Day].P
	}
	if x, y := ratio(before, 19, 21), ratio(after, 19, 21); math.Abs(x-y) > 1e-9 && before[len(before)-1].Day == after[len(after)-1].Day {
		t.Errorf("the cut changed the shape of what is left: %v and %v", x, y)
	}
}

func TestCourse_Stage(t *testing.T) {
	p := mustProfile(t, "Gouldian finch")
	looks := []Look{
		{Day: 0, Eggs: new(0), Building: new(true)},
		{Day: 4, Eggs: new(4)},
		{Day: 5, Eggs: new(5)},
		{Day: 8, Eggs: new(5), Chicks: new(0), Sitting: new(true)},
		{Day: 18, Eggs: new(5), Chicks: new(0)},
		{Day: 19, Eggs: new(2), Chicks: new(3)},
		{Day: 28, Eggs: new(0), Chicks: new(5), Ringed: 5},
		{Day: 42, Eggs: new(0), Chicks: new(0), Out: new(5)},
		{Day: 62, Weaned: 5},
	}
	for _, test := range []struct {
		day  Day
		want string
	}{
		{0, "building 0 true"},
		{3, "building 0 false"}, // no look since
		{4, "laying 4 false"},   // a clutch of four is possible
		{5, "laying 5 false"},
		{13, "sitting 9 true"},
		{18, "sitting 14 true"},
		{19, "hatching 0 true"},
		{27, "chicks 8 true"},
		{42, "out 23 true"},
		{62, "weaned 0 true"},
	} {
		c := Timeline(p, looks, test.day)
		s := c.Stage
		if got := fmt.Sprintf("%v %d %v", s.Kind, s.Number, s.Certain); got != test.want {
			t.Errorf("day %d: %s (%d to %d), want %s", test.day, got, s.Low, s.High, test.want)
		}
	}
	// Looking back, later looks say what went on between.
	c := Timeline(p, looks, 62)
	for day, want := range map[Day]string{0: "building 0", 3: "laying 3", 10: "sitting 6", 23: "chicks 4", 45: "out 26"} {
		s := c.On(day)
		if got := fmt.Sprint(s.Kind, " ", s.Number); got != want {
			t.Errorf("looking back on day %d: %s (%d to %d), want %s", day, got, s.Low, s.High, want)
		}
	}
	for name, test := range map[string]struct {
		looks []Look
		want  StageKind
	}{
		"never looked into":       {nil, Unknown},
		"nothing in it":           {[]Look{{Eggs: new(0)}}, Empty},
		"eggs gone, no chicks":    {[]Look{{Day: -9, Eggs: new(0)}, {Day: -5, Eggs: new(3)}, {Day: -1, Eggs: new(0), Chicks: new(0)}}, Failed},
		"all chicks dead":         {[]Look{{Day: -9, Chicks: new(3)}, {Day: -5, Chicks: new(0), DeadChicks: new(3), Eggs: new(0)}}, Failed},
		"moved out to be reared":  {[]Look{{Day: -9, Eggs: new(4)}, {Day: -5, Eggs: new(4), EggsMovedOut: 4}}, Failed},
		"foster eggs put in":      {[]Look{{Day: -3, EggsMovedIn: 4, EggsDue: &Window{5, 6, 8}}}, Sitting},
		"young found out":         {[]Look{{Day: -3, Out: new(3), Found: true}}, Out},
		"chicks found":            {[]Look{{Day: -3, Chicks: new(3), AgeDays: new(6), Found: true}}, Chicks},
		"eggs found, cold":        {[]Look{{Day: -30, Eggs: new(3), Chicks: new(0), Found: true}, {Day: 0, Eggs: new(3), Chicks: new(0)}}, Sitting},
		"eggs found two days ago": {[]Look{{Day: -2, Eggs: new(1), Found: true}, {Day: 0, Eggs: new(2)}}, Laying},
	} {
		if got := Timeline(p, test.looks, 0).Stage; got.Kind != test.want {
			t.Errorf("%s: %v, want %v", name, got.Kind, test.want)
		}
	}
}

func TestCourse_Questions(t *testing.T) {
	p := mustProfile(t, "Gouldian finch")
	base := []Look{{Day: 0, Eggs: new(0)}, {Day: 5, Eggs: new(5)}}
	for _, test := range []struct {
		name string
		more []Look
		want string // kind, before, after, how many
	}{
		{"nothing odd", []Look{{Day: 8, Eggs: new(5)}}, ""},
		{"an egg is gone", []Look{{Day: 8, Eggs: new(4)}}, "eggs fell 5 4 1"},
		{"an egg was taken", []Look{{Day: 8, Eggs: new(5), EggsRemoved: 1}, {Day: 10, Eggs: new(4)}}, ""},
		{"a chick takes one egg", []Look{{Day: 19, Eggs: new(4), Chicks: new(1)}}, ""},
		{"a chick, and two eggs less", []Look{{Day: 19, Eggs: new(3), Chicks: new(1)}}, "eggs fell 5 3 1"},
		{"a dead chick takes one egg", []Look{{Day: 19, Eggs: new(4), Chicks: new(0), DeadChicks: new(1)}}, ""},
		{"a chick is gone", []Look{{Day: 19, Eggs: new(1), Chicks: new(4)}, {Day: 25, Eggs: new(1), Chicks: new(3)}}, "chicks fell 4 3 1"},
		{"a chick found dead", []Look{{Day: 19, Eggs: new(1), Chicks: new(4)}, {Day: 25, Eggs: new(1), Chicks: new(3), DeadChicks: new(1)}}, ""},
		{"young are out", []Look{{Day: 19, Eggs: new(1), Chicks: new(4)}, {Day: 41, Eggs: new(1), Chicks: new(1), Out: new(3)}}, ""},
		{"one fewer after fledging", []Look{{Day: 19, Eggs: new(1), Chicks: new(4)}, {Day: 41, Eggs: new(1), Chicks: new(0), Out: new(3)}}, "chicks fell 4 0 1"},
		{"two eggs in one morning", []Look{{Day: 6, Eggs: new(7)}}, "more than one new egg a day 5 7 1"},
		{"eggs moved in are not laid here", []Look{{Day: 6, Eggs: new(5), EggsMovedIn: 2}, {Day: 7, Eggs: new(7)}}, ""},
		{"an egg after a week of sitting", []Look{{Day: 16, Eggs: new(5), Chicks: new(0)}, {Day: 17, Eggs: new(6), Chicks: new(0)}}, "eggs after sitting began 5 6 1"},
		{"an egg beside chicks", []Look{{Day: 19, Eggs: new(0), Chicks: new(5)}, {Day: 36, Eggs: new(1), Chicks: new(5)}}, "eggs after sitting began 0 1 1"},
	} {
		t.Run(test.name, func(t *testing.T) {
			c := Timeline(p, append(slices.Clone(base), test.more...), 60)
			var got []string
			for _, q := range c.Questions {
				got = append(got, fmt.Sprint(q.Kind, " ", q.Before, " ", q.After, " ", q.N))
			}
			if s := strings.Join(got, "; "); s != test.want {
				t.Errorf("asks %q, want %q", s, test.want)
			}
		})
	}
}

func TestCourse_Counts(t *testing.T) {
	p := mustProfile(t, "Gouldian finch")
	c := Timeline(p, []Look{
		{Day: 0, Eggs: new(0)},
		{Day: 6, Eggs: new(6)},
		{Day: 11, Eggs: new(6), Chicks: new(0), Fertile: 4, Clear: 1, Cracked: 1, EggsRemoved: 1},
		{Day: 13, Eggs: new(5), Chicks: new(0), Fertile: 4, Clear: 1, EggsRemoved: 1},
		{Day: 20, Eggs: new(1), Chicks: new(3)},
		{Day: 24, Eggs: new(1), Chicks: new(2), DeadChicks: new(1), DeadInShell: 1, EggsRemoved: 1},
		{Day: 28, Eggs: new(0), Chicks: new(2), Ringed: 2},
		{Day: 44, Eggs: new(0), Chicks: new(0), Out: new(2)},
		{Day: 63, Weaned: 1},
	}, 63)
	n := c.Counts
	for name, test := range map[string]struct {
		got  Count
		want int
	}{
		"laid": {n.Laid, 6}, "fertile": {n.Fertile, 4}, "clear": {n.Clear, 1}, "cracked": {n.Cracked, 1},
		"dead in shell": {n.DeadInShell, 1}, "early dead": {n.EarlyDead, 0}, "removed": {n.Removed, 3},
		"hatched": {n.Hatched, 3}, "died": {n.Died, 1}, "out": {n.Out, 2}, "ringed": {n.Ringed, 2},
		"weaned": {n.Weaned, 1}, "eggs unaccounted": {n.EggsUnaccounted, 0}, "young unaccounted": {n.YoungUnaccounted, 0},
	} {
		if !test.got.Known || test.got.N != test.want {
			t.Errorf("%s %+v, want %d", name, test.got, test.want)
		}
	}
	if n.Laid.AtLeast {
		t.Error("the clutch was seen from none to complete")
	}
	if len(c.Questions)+len(c.Notes) > 0 {
		t.Errorf("all is accounted for: %v %v", c.Questions, c.Notes)
	}
	if c.Stage.Kind != Out {
		t.Errorf("one is still with the parents: %v", c.Stage.Kind)
	}

	found := Timeline(p, []Look{{Day: 0, Eggs: new(3), Chicks: new(0), Found: true}}, 0).Counts
	if !found.Laid.AtLeast || !found.Removed.AtLeast || found.Fertile.Known || found.Died.Known {
		t.Errorf("as found, what came before is not known: %+v", found)
	}
	gone := Timeline(p, []Look{{Day: 0, Eggs: new(0)}, {Day: 5, Eggs: new(5)}, {Day: 9, Eggs: new(3), Chicks: new(0)}}, 9).Counts
	if gone.EggsUnaccounted.N != 2 {
		t.Errorf("two eggs are not accounted for: %+v", gone.EggsUnaccounted)
	}
}

func TestCourse_Next(t *testing.T) {
	p := mustProfile(t, "Gouldian finch")
	kindsOf := func(c Course) string {
		var s []string
		for _, n := range c.Next {
			s = append(s, fmt.Sprintf("%v %d-%d", n.Kind, n.From, n.To))
		}
		return strings.Join(s, ", ")
	}
	looks := []Look{{Day: 0, Eggs: new(0)}}
	for _, test := range []struct {
		add   Look
		asked Day
		first string
	}{
		{Look{Day: 0, Eggs: new(0)}, 0, "look for the first egg 2-4"},
		{Look{Day: 1, Eggs: new(1)}, 1, "count the eggs 6-8"},
		{Look{Day: 7, Eggs: new(5)}, 7, "count the eggs 7-8"},
		{Look{Day: 9, Eggs: new(5)}, 9, "candle 10-12"},
		{Look{Day: 11, Eggs: new(5), Clear: 5}, 11, "candle 13-14"},
		{Look{Day: 13, Eggs: new(5), Clear: 1, Fertile: 4}, 13, "look for chicks 19-23"},
		{Look{Day: 19, Eggs: new(1), Chicks: new(4)}, 19, "ring 26-29"},
		{Look{Day: 27, Eggs: new(0), Chicks: new(4), Ringed: 4}, 27, "count the young out 40-45"},
		{Look{Day: 42, Chicks: new(0), Out: new(4)}, 42, "wean 61-68"},
	} {
		looks = append(looks, test.add)
		c := Timeline(p, looks, test.asked)
		if got := kindsOf(c); !strings.HasPrefix(got, test.first) {
			t.Errorf("day %d: %s, want first %s", test.asked, got, test.first)
		}
	}
	looks = append(looks, Look{Day: 62, Weaned: 4})
	if c := Timeline(p, looks, 62); len(c.Next) > 0 {
		t.Errorf("all parted: %s", kindsOf(c))
	}
}

func ExampleTimeline() {
	days := func(low, typical, high float64) Range { return Range{low, typical, high, true} }
	zebra := Profile{
		LayingInterval: days(1, 1, 2), IncubationStartsAtEgg: days(1, 3, 4), Incubation: days(12, 14, 16),
		ClutchSize: days(2, 4.5, 8), CandlingAge: days(6, 7, 8), RingAge: days(7, 9, 10),
		FledgeAge: days(17, 20, 21), IndependenceAge: days(35, 35, 42),
	}
	none, four := 0, 4
	c := Timeline(zebra, []Look{
		{Day: 100, Minute: -1, Eggs: &none},
		{Day: 104, Minute: -1, Eggs: &four},
	}, 106)
	hatch := c.Event(Hatch)
	fmt.Println(c.Stage.Kind, c.Stage.Number)
	fmt.Println(hatch.Early, hatch.Likely, hatch.Late)
	fmt.Println(hatch.Basis)
	fmt.Println(c.Next[0].Kind, c.Next[0].From, c.Next[0].To)
	// Output:
	// sitting 3
	// 113 117 120
	// Sat on from egg 3 (1 to 4); incubation 14 (12 to 16) days.
	// count the eggs 106 108
}

// Any bytes make looks; none make it panic or hand back days out of order.
func FuzzTimeline(f *testing.F) {
	f.Add([]byte{0, 0, 1, 0, 3, 2, 3, 0, 0, 20, 9, 3}, int64(20))
	f.Add([]byte{255, 128, 7, 66, 3}, int64(-1<<62))
	all := mustProfiles(f)
	names := sortedNames(all)
	f.Fuzz(func(t *testing.T, data []byte, asked int64) {
		take := func() int {
			if len(data) == 0 {
				return 0
			}
			b := int(int8(data[0]))
			data = data[1:]
			return b
		}
		p := all[names[(take()+128)%len(names)]]
		if take() < 0 {
			p.Incubation = Range{Low: float64(take()), Typical: math.Inf(take()), High: math.NaN(), Known: true}
		}
		count := func() *int {
			n := take()
			if n < -20 {
				return nil
			}
			return &n
		}
		var looks []Look
		for len(data) > 0 && len(looks) < 50 {
			l := Look{
				Day: Day(take()), Minute: take() * 12, Eggs: count(), Chicks: count(), Out: count(),
				EggsRemoved: take(), EggsMovedIn: take(), Weaned: take(), Ringed: take(), OldEggs: take(),
			}
			switch take() & 15 {
			case 1:
				l.NewClutch = true
			case 2:
				l.Found = true
			case 3:
				l.AgeDays, l.AgePlusMinus = count(), count()
			case 4:
				l.Day = Day(math.MaxInt)
			case 5:
				l.Day = Day(math.MinInt)
			case 6:
				l.Fertile, l.Clear = take(), take()
			case 7:
				l.EggsAtLeast, l.DeadChicks = count(), count()
			case 8:
				l.EggsDue = &Window{Day(take()), Day(take()), Day(take())}
			}
			looks = append(looks, l)
		}
		c := Timeline(p, looks, Day(asked))
		for _, e := range c.Events {
			if e.Early > e.Likely || e.Likely > e.Late || e.Known != (len(e.Chances()) > 0) {
				t.Fatalf("%v: %s", e.Kind, days3(e))
			}
		}
		c.On(Day(asked))
		c.On(Day(math.MinInt))
	})
}

// A thousand nests, each with the looks of a whole clutch.
func BenchmarkTimeline_1000Nests(b *testing.B) {
	p := mustProfile(b, "Gouldian finch")
	looks := []Look{
		{Day: 0, Eggs: new(0)},
		{Day: 3, Eggs: new(3)},
		{Day: 6, Eggs: new(5)},
		{Day: 11, Eggs: new(5), Chicks: new(0), Fertile: 4, Clear: 1, EggsRemoved: 1},
		{Day: 19, Eggs: new(1), Chicks: new(3)},
		{Day: 21, Eggs: new(0), Chicks: new(4)},
		{Day: 28, Chicks: new(4), Ringed: 4},
		{Day: 41, Chicks: new(1), Out: new(3)},
	}
	b.ReportAllocs()
	for b.Loop() {
		for i := range 1000 {
			if c := Timeline(p, looks, Day(i%60)); c.Asked != Day(i%60) {
				b.Fatal("another day was asked")
			}
		}
	}
}
