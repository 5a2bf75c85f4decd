package look

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

func TestLanes_MovesAreDrawnOnTheirLanesAlone(t *testing.T) {
	v := LanesView{From: 0, To: 100, Today: 50, Lanes: []Lane{{Plate: "A1"}, {Plate: "A2"}}}
	v.Moves = []LaneMove{
		{Lane: 0, Day: 20, Words: "3 to A2"},
		{Lane: 1, Day: 20, In: true, Words: "3 from <A1>"},
		{Lane: 1, Day: 400, Words: "outside"},
		{Lane: 7, Day: 20, Words: "no such lane"},
	}
	got := string(Lanes(v))
	for _, want := range []string{"3 to A2", "3 from &lt;A1&gt;"} {
		if !strings.Contains(got, want) {
			t.Errorf("the picture does not say %q", want)
		}
	}
	for _, not := range []string{"outside", "no such lane", "style="} {
		if strings.Contains(got, not) {
			t.Errorf("the picture says %q", not)
		}
	}
	if _, err := elements(Lanes(v)); err != nil {
		t.Error(err)
	}
	if Lanes(LanesView{From: 5, To: 1, Moves: v.Moves}) != "" || LanesPaper(LanesView{From: 5, To: 1}, PaperA4) != "" {
		t.Error("a picture of no days is drawn")
	}
}

// However many pairs there are, the picture keeps to the shape of the sheet, and no lane is drawn below it.
func TestLanesPaper_KeepsToTheSheet(t *testing.T) {
	box := regexp.MustCompile(`viewBox="0 0 (\S+) (\S+)"`)
	at := regexp.MustCompile(`<svg y="(\S+)" width="(\S+)" height="\S+" viewBox="0 0 (\S+) `)
	for i, n := range []int{0, 1, 12, 45, 60, 120, 300} {
		sheet := []float64{PaperA4, PaperA3}[i%2]
		v := LanesView{From: 0, To: 380, Today: 100, TodayLabel: "today", Label: "x", Light: LightCurve{Real: []LightRun{{0, 100, 14}}}, Feed: []FeedRow{{"Zebras", []Stretch{{From: 0, To: 100, Label: "rest"}}}, {"Gouldians", nil}}}
		for i := range n {
			v.Lanes = append(v.Lanes, Lane{Plate: fmt.Sprint("A", i), Clutches: []Clutch{{Eggs: []LaidEgg{{Day: 20, State: Full}}}}, Came: "4 weaned"})
		}
		html := string(LanesPaper(v, sheet))
		m := box.FindStringSubmatch(html)
		if m == nil {
			t.Fatalf("%d lanes: no picture", n)
		}
		number := func(s string) float64 {
			x, err := strconv.ParseFloat(s, 64)
			if err != nil {
				t.Fatal(err)
			}
			return x
		}
		wide, high := number(m[1]), number(m[2])
		if wide != paperWidth || high > sheet+0.1 {
			t.Errorf("%d lanes: %v × %v, more than the sheet of %v × %v", n, wide, high, paperWidth, sheet)
		}
		if n == 0 {
			continue
		}
		g := at.FindStringSubmatch(html)
		shrink := number(g[2]) / number(g[3])
		lanes := regexp.MustCompile(`>A\d+</text><path d="M0 (\S+)H`).FindAllStringSubmatch(html, -1)
		if len(lanes) != n {
			t.Fatalf("%d of %d lanes are drawn", len(lanes), n)
		}
		if foot := number(g[1]) + shrink*number(lanes[n-1][1]); foot > high-footHeight+0.5 {
			t.Errorf("%d lanes: the last ends at %v of %v", n, foot, high)
		}
	}
}

// What is planned is told from what is so by its fill, not by its colour alone: hatched within a broken edge.
func TestLanes_PlannedFoodIsHatched(t *testing.T) {
	band := func(x Stretch) string {
		return string(Lanes(LanesView{From: 0, To: 300, Today: 50, Feed: []FeedRow{{"Zebras", []Stretch{x}}}}))
	}
	real, plan := band(Stretch{From: 0, To: 90, Label: "moult", Kind: "moult"}), band(Stretch{From: 0, To: 90, Label: "moult", Kind: "moult", Guess: true})
	if strings.Contains(real, "dusk") || !strings.Contains(plan, "var(--dusk-mid)") || !strings.Contains(plan, `stroke-dasharray="5 3"`) {
		t.Error("a phase to come is not told from one that holds")
	}
	if narrow := band(Stretch{From: 0, To: 4, Label: "preparation"}); strings.Contains(narrow, "prep") {
		t.Error("words run out of a narrow band")
	}
}

func TestLanes_AMonthShowsItsDaysAndNothingBeyond(t *testing.T) {
	v := LanesView{From: 31, To: 61, Today: 40, Months: []Tick{{31, "September"}, {62, "October"}}}
	for d := 31; d <= 61; d++ {
		v.Days = append(v.Days, Tick{d, fmt.Sprint(d - 30)})
	}
	v.Lanes = []Lane{{Plate: "A1", Clutches: []Clutch{
		{Eggs: []LaidEgg{{Day: 20, State: Full}}, Hatch: SeenOn(34, ""), Fledge: Guessed(53, 54, 55, ""), Wean: Guessed(68, 70, 72, ""), Ring: [2]int{28, 90}, Note: "4 weaned"},
		{Eggs: []LaidEgg{{Day: 20, State: Full}}, Hatch: Guessed(70, 72, 73, "")},
	}}}
	got := string(Lanes(v))
	for _, want := range []string{">September<", ">1<", ">31<"} {
		if !strings.Contains(got, want) {
			t.Errorf("the month does not say %q", want)
		}
	}
	for _, not := range []string{">October<", "4 weaned"} {
		if strings.Contains(got, not) {
			t.Errorf("the month says %q", not)
		}
	}
	m := v.sheet()
	for _, x := range regexp.MustCompile(`(?:M|H)(-?[\d.]+)`).FindAllStringSubmatch(got[strings.Index(got, "data-scroll-to"):], -1) {
		if at, _ := strconv.ParseFloat(x[1], 64); at < -0.1 || at > m.width+0.1 {
			t.Errorf("something is drawn at %v, outside of 0 to %v", at, m.width)
		}
	}
}
