package look

import (
	"encoding/xml"
	"errors"
	"flag"
	"fmt"
	"html/template"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "rewrite the drawings under testdata")

// drawings are every state of every glyph and part, by the name of its golden file.
func drawings() map[string]template.HTML {
	d := map[string]template.HTML{}
	for name, v := range map[string]BoxView{
		"resting":        {Stage: Resting},
		"empty":          {Stage: Empty},
		"empty-material": {Stage: Empty, MaterialIn: true},
		"building":       {Stage: Building},
		"nest":           {Stage: Nest},
		"eggs-2":         {Eggs: Eggs(2, NotYet)},
		"eggs-4-1":       {Eggs: append(Eggs(4, Full), Egg{Clear})},
		"eggs-5-full":    {Eggs: Eggs(5, Full)},
		"eggs-8":         {Eggs: Eggs(8, NotYet)},
		"eggs-11":        {Eggs: Eggs(11, NotYet)},
		"eggs-stopped":   {Eggs: []Egg{{EarlyDead}, {DeadInShell}, {Cracked}}},
		"chicks-1":       {Chicks: 1},
		"chicks-3-eggs":  {Chicks: 3, Eggs: Eggs(1, NotYet)},
		"chicks-5-rings": {Chicks: 5, Ringed: 5},
		"chicks-dead":    {Chicks: 3, Dead: 1},
		"chicks-9":       {Chicks: 9},
		"resting-dead":   {Stage: Resting, Dead: 1},
		"out-4":          {Out: 4},
		"out-2-eggs":     {Out: 2, Eggs: Eggs(4, Full)},
		"out-3-chicks":   {Out: 3, Chicks: 2},
	} {
		d["box-"+name] = Box(v, 84, v.Words())
	}
	for kind := range markPaths {
		d["mark-"+string(kind)] = Mark(kind, 16)
		d["flag-"+string(kind)] = Flag(kind, "words")
	}
	for _, s := range EggStates {
		d["egg-"+s.class()] = EggGlyph(s, 42, s.Words())
	}
	for _, s := range []string{"cock", "hen", ""} {
		d["sex-"+s] = Sex(s)
	}
	for name := range iconPaths {
		d["icon-"+name] = Icon(name)
	}
	d["plate"], d["ring"], d["wordmark"], d["bird"] = Plate("B3"), Ring("FC 26-019"), Wordmark(), Bird("hen", "24-076")
	for name, v := range map[string]StripView{
		"on":       {On: 360, Off: 1200, DawnMinutes: 20, DuskMinutes: 45, Now: 408},
		"midnight": {On: 960, Off: 360, DuskMinutes: 60, Now: 100},
		"none":     {Now: 100},
		"unknown":  {Unknown: true, Now: 100},
	} {
		d["strip-"+name] = Strip(v)
	}
	d["pegs"] = Pegs([]Peg{{Label: "11", Chance: 4}, {Label: "12", Chance: 24, Today: true}, {Label: "13", Chance: 36, Top: true}}, "Hatch 12–14 Jan (8 in 10)")
	d["trade"] = Trade(TradeView{Left: "narrower lines", Right: "wider lines", Up: "Up: young weaned in a season", Label: "Young against relatedness", Points: []TradePoint{
		{X: 0.05, Y: 40, Low: 31, High: 49, Href: "?weight=0", Words: "40 young, related 5.0 in 100"},
		{X: 0.02, Y: 37, Low: 28, High: 46, Href: "?weight=0.1", Words: "37 young, related 2.0 in 100", Here: true},
		{X: 0, Y: 30, Low: 22, High: 38, Href: "?weight=1", Words: "30 young, unrelated"},
	}})
	d["mini"] = MiniWall([][][]Mini{{{MiniDone, MiniNow}, {MiniToDo, MiniGap}}, {{MiniLate, MiniUnsure, MiniToday}, {MiniNone}}}, "1 of 5 done")
	d["perch"] = Perch(3, 2, 8, "3 of 8 places taken, 2 more expected")
	d["perch-over"] = Perch(9, 0, 8, "9 of 8 places taken")
	d["perch-open"] = Perch(0, 0, 0, "no bird")
	d["cage"] = Cage(CageView{Href: "/cage/b3", Plate: "B3", State: Today, Cock: "24-031", Hen: "24-076", Species: "Zebra", Box: BoxView{Eggs: Eggs(5, Full)}, Day: "sit 13", What: "hatch", When: "13 Jan", Label: "B3 Zebra, 5 full eggs, hatch likely 13 Jan", Is: "today zebra", Pick: "B3", Form: "bulk", Drop: "B3", Dim: true})
	d["count"] = Count(CountView{Name: "eggs", ID: "b3-eggs", One: "egg", Many: "eggs", Was: 5})
	d["count-blank"] = Count(CountView{Name: "dead", ID: "b3-dead", One: "dead", Many: "dead", Blank: true})
	d["eggcell"] = EggCell(EggCellView{Name: "egg", ID: "b3-egg1", Number: "1", State: Clear})
	d["beam"] = Beam(BeamView{Home: "/", Tabs: []Tab{{Href: "/round", Name: "Round", Current: true}}, Day: "Mon 12 Jan", LampLine: "Lamps 06:00–20:00, 14 h", Strip: StripView{On: 360, Off: 1200, Now: 408}, ThemeURL: "/theme"})
	d["foot"] = Foot([]Tab{{Href: "/round", Name: "Round", Icon: "round", Current: true}})
	seen := Clutch{Eggs: []LaidEgg{{Day: 1, State: Full}, {Day: 2, State: Clear}}, Hatch: SeenOn(15, "hatch 15"), Ring: [2]int{22, 24}, Fledge: SeenOn(34, "out"), Wean: SeenOn(50, "weaned"), Note: "1 weaned"}
	guess := Clutch{Eggs: []LaidEgg{{Day: 50, State: NotYet}, {Day: 56, Guess: true}}, Hatch: Guessed(68, 70, 72, "hatch"), Ring: [2]int{77, 79}, Fledge: Guessed(87, 89, 92, "out"), Wean: Guessed(101, 105, 109, "weaned"), Note: "3–4 weaned", Guess: true}
	over := Clutch{Eggs: []LaidEgg{{Day: 30, State: Full}}, Over: "2 days over"}
	lost := Clutch{Eggs: []LaidEgg{{Day: 30, State: Full}}, Ended: SeenOn(40, "left"), Note: "left the eggs"}
	lanes := []Lane{{Plate: "B3", Name: "Zebra", Href: "/pair/1", Clutches: []Clutch{seen, guess}, Came: "1 weaned"}, {Plate: "C2", Clutches: []Clutch{over}}, {Plate: "C3", Clutches: []Clutch{lost}, Pauses: []Stretch{{From: 44, To: 52, Label: "moult"}}}}
	yearLight := LightCurve{
		Plan: []LightRun{{0, 19, 10}, {20, 90, 14}, {91, 120, 12}}, Real: []LightRun{{0, 25, 10}, {26, 52, 14}}, Daylight: []Point{{0, 9}, {60, 8}, {120, 11}},
	}
	yearFeed := []FeedRow{
		{Name: "Zebras", Feed: []Stretch{{From: 0, To: 30, Label: "rest", Kind: "rest"}, {From: 31, To: 52, Label: "sprouted seed", Kind: "breed"}, {From: 53, To: 99, Label: "sprouted seed", Kind: "breed", Guess: true}, {From: 100, To: 120, Label: "moult", Kind: "moult", Guess: true}}},
		{Name: "Gouldians", Feed: []Stretch{{From: 0, To: 20, Label: "moult", Kind: "moult"}, {From: 21, To: 52, Label: "preparation", Kind: "build"}}},
	}
	month := LanesView{
		From: 30, To: 60, Today: 52, TodayLabel: "12 Jan today", Label: "A month", Months: []Tick{{30, "December"}}, Light: yearLight, Feed: yearFeed, Lanes: lanes,
	}
	for day := month.From; day <= month.To; day++ {
		month.Days = append(month.Days, Tick{day, fmt.Sprint(day - 29)})
	}
	d["lanes-month"] = Lanes(month)
	paper := LanesView{From: 0, To: 364, Today: 52, TodayLabel: "12 Jan today", Label: "A season on paper", Months: []Tick{{0, "November"}}, Light: yearLight, Feed: yearFeed, Lanes: lanes}
	d["lanes-paper"] = LanesPaper(paper, PaperA3)
	for range 4 {
		paper.Lanes = append(paper.Lanes, paper.Lanes...)
	}
	d["lanes-paper-48"] = LanesPaper(paper, PaperA4)
	d["lanes"] = Lanes(LanesView{
		From: 0, To: 120, Today: 52, TodayLabel: "12 Jan today", Label: "Season picture",
		Months: []Tick{{0, "November"}, {30, "December"}}, Light: yearLight, Feed: yearFeed, LanesTitle: "Pairs", Lanes: lanes,
		Moves:   []LaneMove{{Lane: 0, Day: 3, In: true, Words: "1 from C3"}, {Lane: 2, Day: 33, Words: "1 to B3"}},
		Holding: &Holding{Title: "Young", Seen: []Point{{40, 2}, {52, 6}}, Middle: []Point{{52, 6}, {120, 40}}, Low: []Point{{52, 6}, {120, 30}}, High: []Point{{52, 6}, {120, 60}}, Places: []Point{{0, 24}}, PlaceWords: []string{"24 places"}, Full: Guessed(80, 90, 100, "Full about 20 Feb")},
	})
	d["timeline"] = Timeline(TimelineView{From: 48, To: 112, Today: 52, TodayLabel: "today", Ticks: []Tick{{49, "9 Jan"}}, Clutch: guess, EggsLabel: "1 egg", RingLabel: "ring", Label: "Clutch of B3", Marks: []TimelineMark{{Day: 52, Kind: Today, Label: "look today"}}})
	for _, k := range []string{"eggs", "hatch", "box", "ring", "out", "guess", "fed", "plan", "moult", "pause"} {
		d["key-"+k] = LaneKey(k)
	}
	season := LightView{
		LightCurve: LightCurve{
			Plan: []LightRun{{0, 30, 9.5}, {31, 37, 10}, {38, 200, 14}, {201, 240, 9.5}}, Real: []LightRun{{0, 33, 9.5}, {34, 60, 10}, {70, 100, 14}},
			Daylight: []Point{{0, 16.5}, {120, 8}, {240, 12}}, Rather: []LightRun{{52, 58, 10}, {59, 200, 14}},
		},
		From: 0, To: 240, Today: 100, TodayLabel: "13 Jan today", Months: []Tick{{0, "Oct"}, {31, "Nov"}}, Label: "Lamp hours",
	}
	d["light"] = LightPicture(season)
	for _, k := range []string{"real", "plan", "daylight", "rather"} {
		d["key-light-"+k] = LightKey(k)
	}
	d["jars"] = JarsPicture(JarsView{Jars: 2, Days: []string{"13 Jan today", "14 Jan"}, Now: 408, Label: "Jars", Spans: []JarSpan{
		{Jar: 0, Soak: -1200, Drain: -600, Give: 420, Out: 660, Rinses: []int{-120, 360}},
		{Jar: 1, Soak: 360, Drain: 900, Give: 3300, Out: 3540, Rinses: []int{1380, 2000}},
	}})
	d["jars-none"] = JarsPicture(JarsView{Jars: 1, Days: []string{"13 Jan"}, Now: -1, Label: "No jar is under way"})
	nest := NeedView{PeakFrom: 2, PeakTo: 5, Fledge: 4, At: 3, Unit: "kJ", Offered: 190, Label: "Need by day"}
	for i := range 8 {
		nest.Days = append(nest.Days, NeedDay{Adults: 80, Young: float64(min(10+60*i, 140))})
	}
	d["need"] = NeedPicture(nest)
	for _, k := range []string{"adults", "young", "offered"} {
		d["key-need-"+k] = NeedKey(k)
	}
	d["ancestors"] = Ancestors(&Ancestor{
		Name: "Ash", Ring: "24-031", Sex: "cock", Fill: "half", Href: "/bird/1",
		Sire: &Ancestor{Name: "Tarn", Ring: "22-009", Sex: "cock", Sire: &Ancestor{Ring: "20-014", Sex: "cock"}},
		Dam:  &Ancestor{Name: "Clove", Sex: "", Fill: "full", Note: "twice"},
	}, "Ancestors of Ash")
	d["weights"] = Weights(WeightsView{Points: []Point{{0, 13.1}, {30, 13.8}, {60, 13.3}}, Low: 12.9, High: 14.1, First: "Mar", Last: "10 Jan", LastWords: "13.3 g", Label: "Weights"})
	d["wait"] = Wait(WaitView{Start: 100, Today: 108, Signs: []int{103, 107}, Early: 110, Half: 113, Late: 120, Known: true, HalfKnown: true, StartWords: "10 Jan", TodayWords: "today", EarlyWords: "20 Jan", LateWords: "30 Jan", Label: "Wait"})
	d["wait-open"] = Wait(WaitView{Start: 100, Today: 100, Early: 105, Half: 109, Known: true, HalfKnown: true, Open: true, StartWords: "10 Jan", TodayWords: "today", EarlyWords: "15 Jan", Label: "Wait"})
	d["wait-long"] = Wait(WaitView{Start: 100, Today: 140, StartWords: "10 Jan", TodayWords: "today", Label: "Wait, not known"})
	d["weights-one"] = Weights(WeightsView{Points: []Point{{0, 13.1}}, Label: "One weight"})
	d["bar-seen"], d["bar-guess"], d["bar-best"] = Bar(3, 12, BarSeen), Bar(5, 10, BarGuess), Bar(7, 10, BarBest)
	d["colours"] = ColourBar([]Share{{3, "grey"}, {2, "fawn"}, {1, "pied"}, {1, "lutino"}})
	for _, c := range []int{0, 2, 66, 100} {
		d[fmt.Sprintf("hidden-%d", c)] = Hidden(c, 36)
	}
	d["interval"] = Interval(IntervalView{From: 0, To: 100, Low: 69, Mid: 75, High: 81, Before: 82, HasBefore: true, Label: "75, 69 to 81"})
	return d
}

// TestDrawings_MatchTheirGolden holds each drawing to the file that was looked at.
func TestDrawings_MatchTheirGolden(t *testing.T) {
	want := map[string]bool{}
	for name, got := range drawings() {
		file := filepath.Join("testdata", name+".svg")
		want[name+".svg"] = true
		if *update {
			if err := os.MkdirAll("testdata", 0o755); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(file, []byte(got+"\n"), 0o644); err != nil {
				t.Fatal(err)
			}
			continue
		}
		b, err := os.ReadFile(file)
		if err != nil {
			t.Error(err)
			continue
		}
		if string(got)+"\n" != string(b) {
			t.Errorf("%s differs from %s; look at it, then run with -update\n got %s\nwant %s", name, file, got, b)
		}
	}
	files, err := os.ReadDir("testdata")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		if !want[f.Name()] {
			t.Errorf("testdata/%s belongs to no drawing", f.Name())
		}
	}
}

// elements returns the start tags of a drawing, or an error when it is not well-formed.
func elements(html template.HTML) ([]xml.StartElement, error) {
	dec := xml.NewDecoder(strings.NewReader("<all>" + string(html) + "</all>"))
	var out []xml.StartElement
	for {
		tok, err := dec.Token()
		if errors.Is(err, io.EOF) {
			return out, nil
		}
		if err != nil {
			return nil, err
		}
		if el, ok := tok.(xml.StartElement); ok {
			out = append(out, el.Copy())
		}
	}
}

func attr(el xml.StartElement, name string) string {
	for _, a := range el.Attr {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

func TestDrawings_AreWellFormedAndKeepThePolicy(t *testing.T) {
	number := regexp.MustCompile(`NaN|Inf|%!|-?\d+\.\d{3,}`)
	for name, html := range drawings() {
		els, err := elements(html)
		if err != nil {
			t.Errorf("%s: not well-formed: %v", name, err)
			continue
		}
		if len(els) < 2 {
			t.Errorf("%s: draws nothing", name)
		}
		if m := number.FindString(string(html)); m != "" {
			t.Errorf("%s: a number came out as %q", name, m)
		}
		for _, el := range els {
			if el.Name.Local == "script" || el.Name.Local == "style" {
				t.Errorf("%s: holds a <%s>", name, el.Name.Local)
			}
			for _, a := range el.Attr {
				switch {
				case a.Name.Local == "style", strings.HasPrefix(a.Name.Local, "on"):
					t.Errorf("%s: <%s> has the attribute %s", name, el.Name.Local, a.Name.Local)
				case a.Name.Local == "id" && el.Name.Local != "input" && el.Name.Local != "select":
					t.Errorf("%s: <%s> has an id of its own, %q", name, el.Name.Local, a.Value)
				case strings.Contains(a.Value, "url("):
					t.Errorf("%s: <%s %s> points to another element", name, el.Name.Local, a.Name.Local)
				}
			}
		}
	}
}

// TestDrawings_AreNamedOrHidden holds each outermost picture to a role and a label, or to being hidden.
func TestDrawings_AreNamedOrHidden(t *testing.T) {
	for name, html := range drawings() {
		dec := xml.NewDecoder(strings.NewReader("<all>" + string(html) + "</all>"))
		depth := 0
		for {
			tok, err := dec.Token()
			if err != nil {
				break
			}
			switch el := tok.(type) {
			case xml.StartElement:
				if el.Name.Local != "svg" {
					continue
				}
				depth++
				if depth > 1 {
					continue
				}
				hidden := attr(el, "aria-hidden") == "true"
				named := (attr(el, "role") == "img" || attr(el, "role") == "group") && attr(el, "aria-label") != ""
				if hidden == named {
					t.Errorf("%s: a picture is neither named nor hidden, or both", name)
				}
			case xml.EndElement:
				if el.Name.Local == "svg" {
					depth--
				}
			}
		}
	}
}

func TestBox_DrawsOneOfEachAndNoMoreThanEight(t *testing.T) {
	count := func(v BoxView, mark string) int { return strings.Count(string(Box(v, 46, "")), mark) }
	const head, notCandled, bird = `r="3.2"`, `fill="var(--surface)"`, birdPath
	for n := range 12 {
		want := min(n, 8)
		if got := count(BoxView{Chicks: n}, head); got != want {
			t.Errorf("%d chicks draw %d heads, want %d", n, got, want)
		}
		if got := count(BoxView{Eggs: Eggs(n, NotYet)}, notCandled); got != want {
			t.Errorf("%d eggs draw %d, want %d", n, got, want)
		}
		if got := count(BoxView{Out: n}, bird); got != want {
			t.Errorf("%d young out draw %d birds, want %d", n, got, want)
		}
	}
	if got := count(BoxView{Out: 2, Eggs: Eggs(4, NotYet)}, notCandled); got != 4 {
		t.Errorf("a box with young out draws %d of 4 eggs", got)
	}
	// rings are not drawn for chicks that are not there
	if got := count(BoxView{Chicks: 2, Ringed: 5}, `stroke-width="2.6"/>`); got < 1 {
		t.Errorf("ringed chicks draw no bars")
	}
}

func TestBoxView_SaysItsNumbers(t *testing.T) {
	for _, c := range []struct {
		v    BoxView
		want string
	}{
		{BoxView{}, "box empty"},
		{BoxView{Stage: Empty, MaterialIn: true}, "box empty, material in"},
		{BoxView{Stage: Nest}, "nest ready, no eggs"},
		{BoxView{Eggs: Eggs(1, NotYet)}, "1 egg not candled"},
		{BoxView{Eggs: append(Eggs(4, Full), Egg{Clear})}, "4 full eggs, 1 clear egg"},
		{BoxView{Eggs: Eggs(11, NotYet)}, "11 eggs not candled"},
		{BoxView{Eggs: Eggs(2, DeadInShell)}, "2 eggs dead in shell"},
		{BoxView{Chicks: 3, Eggs: Eggs(1, Full), Dead: 1}, "3 chicks, 1 full egg, 1 dead"},
		{BoxView{Chicks: 3, Ringed: 3}, "3 chicks ringed"},
		{BoxView{Chicks: 3, Ringed: 1}, "3 chicks, 1 ringed"},
		{BoxView{Out: 2, Eggs: Eggs(4, Full)}, "4 full eggs, 2 young out"},
		{BoxView{Eggs: []Egg{{"what"}}}, "1 egg not candled"},
	} {
		if got := c.v.Words(); got != c.want {
			t.Errorf("%+v says %q, want %q", c.v, got, c.want)
		}
	}
}

func TestStripView_KnowsTheStateOfTheLamps(t *testing.T) {
	v := StripView{On: 360, Off: 1200, DawnMinutes: 20, DuskMinutes: 45}
	night := StripView{On: 960, Off: 360, DuskMinutes: 60}
	for _, c := range []struct {
		v    StripView
		now  int
		want string
	}{
		{v, 0, "before"},
		{v, 359, "before"},
		{v, 360, "rising"},
		{v, 380, "on"},
		{v, 1154, "on"},
		{v, 1155, "dimming"},
		{v, 1199, "dimming"},
		{v, 1200, "off"},
		{v, 1439, "off"},
		{night, 0, "on"},
		{night, 301, "dimming"},
		{night, 360, "before"},
		{night, 959, "before"},
		{night, 960, "on"},
		{StripView{}, 100, ""},
		{StripView{On: 1, Off: 2, Unknown: true}, 1, ""},
		{v, -1, ""},
	} {
		c.v.Now = c.now
		if got := c.v.State(); got != c.want {
			t.Errorf("lamps %d–%d at %d: got %q, want %q", c.v.On, c.v.Off, c.now, got, c.want)
		}
	}
	v.Now = 408
	if got, want := v.Words(), "Lamps on 06:00 to 20:00, dimming from 19:15. Now 06:48, lamps on."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

// TestStrip_LightsAsLongAsTheLamps adds up the lit widths: full height by length, ramps on top.
func TestStrip_LightsAsLongAsTheLamps(t *testing.T) {
	for _, v := range []StripView{{On: 360, Off: 1200}, {On: 960, Off: 360}, {On: 0, Off: 1439}, {On: 360, Off: 1200, DawnMinutes: 30, DuskMinutes: 60}, {On: 360, Off: 370, DawnMinutes: 30, DuskMinutes: 60}} {
		els, err := elements(Strip(v))
		if err != nil {
			t.Fatal(err)
		}
		lit := 0.0
		for _, el := range els {
			if attr(el, "fill") == "var(--lamp)" {
				var w float64
				if _, err := fmt.Sscanf(attr(el, "width"), "%f%%", &w); err != nil {
					t.Fatal(err)
				}
				lit += w / 100 * dayMinutes
			}
		}
		if want := float64(v.lit()); math.Abs(lit-want) > 1 {
			t.Errorf("%d–%d lights %.1f minutes, want %.0f", v.On, v.Off, lit, want)
		}
	}
}

func TestHatch_StaysInsideAndHasTheSlope(t *testing.T) {
	seg := regexp.MustCompile(`M(-?[\d.]+) (-?[\d.]+)l(-?[\d.]+) (-?[\d.]+)`)
	for _, r := range [][4]float64{{0, 0, 100, 12}, {3.3, 7.1, 5, 40}, {-8, 20, 16, 3}, {0, 0, 0.1, 0.1}} {
		total := 0.0
		for _, m := range seg.FindAllStringSubmatch(hatch(r[0], r[1], r[2], r[3], 5), -1) {
			var a [4]float64
			for i := range a {
				if _, err := fmt.Sscan(m[i+1], &a[i]); err != nil {
					t.Fatal(err)
				}
			}
			const slack = 0.02 // coordinates are rounded to 0.01
			for _, p := range [][2]float64{{a[0], a[1]}, {a[0] + a[2], a[1] + a[3]}} {
				if p[0] < r[0]-slack || p[0] > r[0]+r[2]+slack || p[1] < r[1]-slack || p[1] > r[1]+r[3]+slack {
					t.Errorf("rectangle %v: a line reaches %v", r, p)
				}
			}
			if math.Abs(a[2]+a[3]) > slack {
				t.Errorf("rectangle %v: a line slopes %v by %v", r, a[2], a[3])
			}
			total += a[2]
		}
		// lines 5 apart cover area/5 of horizontal run, up to the two corners
		if want := r[2] * r[3] / 5; math.Abs(total-want) > math.Min(r[2], r[3])+0.5 {
			t.Errorf("rectangle %v: lines run %.1f, want about %.1f", r, total, want)
		}
	}
}

func TestPerch_SeatsEveryBird(t *testing.T) {
	for _, c := range [][3]int{{0, 0, 0}, {5, 0, 0}, {14, 5, 24}, {26, 0, 24}, {9, 0, 36}, {30, 4, 48}, {-1, -1, -1}, {1, 0, 1}, {60, 0, 25}} {
		html := string(Perch(c[0], c[1], c[2], "x"))
		if got, want := strings.Count(html, birdPath), max(c[0], 0)+max(c[1], 0); got != want {
			t.Errorf("%v: %d birds drawn, want %d", c, got, want)
		}
		over := 0
		if c[2] > 0 {
			over = max(c[0]+c[1]-c[2], 0)
		}
		if got := strings.Count(html, "var(--beak)"); got != over {
			t.Errorf("%v: %d birds past the last place, want %d", c, got, over)
		}
	}
}

func TestAncestors_EndsAtFourGenerations(t *testing.T) {
	var line *Ancestor
	for range 9 {
		line = &Ancestor{Name: "x", Sex: "cock", Sire: line}
	}
	if got, want := strings.Count(string(Ancestors(line, "x")), ">x</text>"), deepest+1; got != want {
		t.Errorf("got %d birds in the sire line, want %d", got, want)
	}
}

func TestLanes_DrawsAHundredPairsInAMoment(t *testing.T) {
	v := LanesView{From: 0, To: 211, Today: 72, Label: "x"}
	for i := range 100 {
		l := Lane{Plate: fmt.Sprint(i)}
		for k := range 3 {
			first := i%20 + k*60
			l.Clutches = append(l.Clutches, Clutch{Eggs: []LaidEgg{{Day: first, State: Full}}, Hatch: Guessed(first+13, first+14, first+15, ""), Fledge: Guessed(first+30, first+33, first+36, ""), Wean: Guessed(first+46, first+50, first+54, "")})
		}
		v.Lanes = append(v.Lanes, l)
	}
	html := Lanes(v)
	if _, err := elements(html); err != nil {
		t.Fatal(err)
	}
	if got := len(html); got > 700_000 {
		t.Errorf("the picture takes %d bytes", got)
	}
}

func TestParts_EscapeWordsOfAPerson(t *testing.T) {
	const bad = `<b onclick="x">"&'`
	a := &Ancestor{Name: bad, Ring: bad, Note: bad, Href: bad}
	for name, html := range map[string]template.HTML{
		"box":      Box(BoxView{}, 46, bad),
		"flag":     Flag(Late, bad),
		"plate":    Plate(bad),
		"ring":     Ring(bad),
		"bird":     Bird("hen", bad),
		"cage":     Cage(CageView{Href: bad, Plate: bad, State: bad, Cock: bad, Hen: bad, Species: bad, Day: bad, What: bad, When: bad, Label: bad, Is: bad, Pick: bad, Form: bad, Drop: bad}),
		"count":    Count(CountView{Name: bad, ID: bad, One: bad, Many: bad, Value: bad, Back: true}),
		"egg":      EggCell(EggCellView{Name: bad, ID: bad, Number: bad}),
		"beam":     Beam(BeamView{Home: bad, Day: bad, LampLine: bad, ThemeURL: bad, Tabs: []Tab{{Href: bad, Name: bad}}}),
		"foot":     Foot([]Tab{{Href: bad, Name: bad, Icon: bad}}),
		"pegs":     Pegs([]Peg{{Label: bad}}, bad),
		"kin":      Ancestors(a, bad),
		"wait":     Wait(WaitView{Today: 3, Known: true, Early: 4, Late: 6, StartWords: bad, TodayWords: bad, EarlyWords: bad, LateWords: bad, Label: bad}),
		"weights":  Weights(WeightsView{Points: []Point{{1, 2}}, First: bad, Last: bad, LastWords: bad, Label: bad}),
		"lanes":    Lanes(LanesView{To: 9, Label: bad, TodayLabel: bad, LightWords: bad, LanesTitle: bad, Light: LightCurve{Real: []LightRun{{0, 9, 10}}}, Months: []Tick{{1, bad}}, Days: []Tick{{1, bad}}, Feed: []FeedRow{{bad, []Stretch{{0, 9, bad, bad, true}}}}, Moves: []LaneMove{{Words: bad}}, Lanes: []Lane{{Plate: bad, Name: bad, Href: bad, Clutches: []Clutch{{Over: bad}, {Ended: SeenOn(3, bad), Note: bad}}}}, Holding: &Holding{Title: bad, Sub: bad}}),
		"timeline": Timeline(TimelineView{To: 9, Label: bad, TodayLabel: bad, EggsLabel: bad, RingLabel: bad, Ticks: []Tick{{1, bad}}, Clutch: Clutch{Over: bad, Hatch: SeenOn(2, bad)}, Marks: []TimelineMark{{1, Done, bad}}}),
	} {
		els, err := elements(html)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		for _, el := range els {
			if el.Name.Local == "b" && attr(el, "onclick") != "" {
				t.Errorf("%s: words became markup", name)
			}
		}
	}
}
