// Package gallery_test lays the parts out on pages, so that they can be looked at in a browser. Each
// page is also held to the rules that hold for every page: well-formed, no style attribute, no class
// that the style sheet does not know.
package gallery_test

import (
	"encoding/xml"
	"errors"
	"flag"
	"fmt"
	"html/template"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"broodlight/internal/web/look"
)

var update = flag.Bool("update", false, "rewrite the pages under testdata")

// All birds, rings, cages and figures are invented.

var strip = look.StripView{On: 6 * 60, Off: 20 * 60, DawnMinutes: 20, DuskMinutes: 45, Now: 6*60 + 48}

func page(current, class, body string) string {
	tabs := []look.Tab{
		{Href: "round.html", Name: "Round", Icon: "round"},
		{Href: "wall.html", Name: "Wall", Icon: "wall"},
		{Href: "season.html", Name: "Season", Icon: "season"},
		{Href: "bird.html", Name: "Birds", Icon: "birds"},
		{Href: "parts.html", Name: "More", Icon: "more"},
	}
	var foot []look.Tab
	for i := range tabs {
		tabs[i].Current = strings.HasPrefix(tabs[i].Href, current)
		if i != 2 {
			foot = append(foot, tabs[i])
		}
	}
	beam := look.Beam(look.BeamView{Home: "round.html", Tabs: tabs, Day: "Mon 12 Jan", LampLine: "Lamps 06:00–20:00, 14 h", Strip: strip})
	var scripts strings.Builder
	for _, s := range []string{"confirm", "counts", "drag", "eggs", "filter", "pick", "scroll", "theme"} {
		fmt.Fprintf(&scripts, `<script src="../../../static/%s.js" defer="defer"></script>`, s)
	}
	return `<html lang="en" data-theme="light"><head><meta charset="utf-8"/><meta name="viewport" content="width=device-width,initial-scale=1"/>` +
		`<meta http-equiv="Content-Security-Policy" content="default-src 'self'"/><title>` + current + ` – Broodlight</title>` +
		`<link rel="stylesheet" href="../../../static/tokens.css"/><link rel="stylesheet" href="../../../static/look.css"/><link rel="stylesheet" href="../../../static/lamps.css"/>` + scripts.String() +
		"</head>\n<body>" + string(beam) + "\n<main class=\"" + class + "\">\n" + body + "\n</main>\n" + string(look.Foot(foot)) + "</body></html>\n"
}

type boxed struct {
	view look.BoxView
}

var boxes = []boxed{
	{look.BoxView{Stage: look.Resting}},
	{look.BoxView{Stage: look.Empty}},
	{look.BoxView{Stage: look.Empty, MaterialIn: true}},
	{look.BoxView{Stage: look.Building}},
	{look.BoxView{Stage: look.Nest}},
	{look.BoxView{Eggs: look.Eggs(2, look.NotYet)}},
	{look.BoxView{Eggs: append(look.Eggs(4, look.Full), look.Egg{State: look.Clear})}},
	{look.BoxView{Eggs: look.Eggs(5, look.Full)}},
	{look.BoxView{Eggs: look.Eggs(6, look.NotYet)}},
	{look.BoxView{Eggs: look.Eggs(8, look.Full)}},
	{look.BoxView{Eggs: []look.Egg{{State: look.Full}, {State: look.EarlyDead}, {State: look.DeadInShell}, {State: look.Cracked}, {State: look.Clear}}}},
	{look.BoxView{Chicks: 1, Eggs: look.Eggs(4, look.Full)}},
	{look.BoxView{Chicks: 3, Eggs: look.Eggs(1, look.NotYet)}},
	{look.BoxView{Chicks: 5, Ringed: 5}},
	{look.BoxView{Chicks: 3, Dead: 1}},
	{look.BoxView{Chicks: 4}},
	{look.BoxView{Chicks: 8, Ringed: 8}},
	{look.BoxView{Out: 4}},
	{look.BoxView{Out: 2, Eggs: look.Eggs(4, look.Full)}},
	{look.BoxView{Out: 3, Chicks: 2}},
	{look.BoxView{Out: 7}},
}

func parts() string {
	var b strings.Builder
	w := func(s ...any) { fmt.Fprint(&b, s...) }
	w(`<div class="head"><div><h1>Parts: ink is what you saw, dusk is a guess, beak needs you.</h1></div><div class="acts"><button class="quiet">Print</button></div></div><div class="stack wide">`)
	w(`<section class="sheet"><h2>Nest box, 84, 46 and 26 px</h2><ul class="legend">`)
	for _, x := range boxes {
		w(`<li class="stack">`, look.Box(x.view, 84, x.view.Words()), `<span class="row">`, look.Box(x.view, 46, ""), look.Box(x.view, 26, ""), `</span><span class="tiny">`, strings.ReplaceAll(x.view.Words(), ", ", `,<br/>`), `</span></li>`)
	}
	w(`</ul></section><div class="cols c3"><section class="sheet"><h2>Marks</h2><div class="stack">`)
	for _, m := range []struct {
		k look.Kind
		s string
	}{{look.Late, "2 days over"}, {look.Today, "Today"}, {look.Unsure, "Not sure, look"}, {look.Soon, "Coming"}, {look.Done, "Done"}, {look.Rest, "Resting"}, {look.Kept, "Kept by you"}, {look.No, "Forbidden"}, {look.Plus, "More"}, {look.Signal, "No signal"}} {
		w(look.Flag(m.k, m.s))
	}
	w(`</div></section><section class="sheet"><h2>Plate, ring, sex</h2><p class="row">`, look.Plate("B3"), look.Plate("A10"), look.Ring("FC 26-019"), `</p><p class="row"><span>`, look.Sex("cock"), `cock</span><span>`, look.Sex("hen"), `hen</span><span>`, look.Sex(""), `not known</span></p><p>Seen: <b>5 full eggs</b>. Guessed: <span class="guess">4 to 5 chicks</span>.</p>`)
	for _, now := range []int{300, 370, 700, 1190, 1300} {
		v := strip
		v.Now = now
		w(`<p class="small">`, v.State(), `</p>`, look.Strip(v))
	}
	w(look.Strip(look.StripView{On: 16 * 60, Off: 6 * 60, DuskMinutes: 60, Now: 100}), `</section><section class="sheet"><h2>Day pegs</h2>`, pegs(), `<h2>Perch</h2><div class="stack">`,
		look.Perch(14, 5, 24, "14 of 24 places taken, 5 more expected"), look.Perch(26, 0, 24, "26 of 24 places taken"), look.Perch(3, 0, 6, "3 of 6"), look.Perch(30, 4, 48, "30 of 48"), `</div></section></div>`)
	w(`<div class="cols c2"><section class="sheet"><h2>Buttons</h2><div class="stack"><button class="go"><span>Looked, same</span><small>then D3</small></button><span class="row"><button class="quiet">Later</button><button class="quiet danger" data-confirm="Yes, strike it out">Strike out</button><button class="plain">Undo</button></span><button class="go" disabled="disabled">Save</button><p class="why-not">Choose a cage first.</p><div class="chips"><a class="chip" href="#x">`, look.Mark(look.Today, 16), `Today <b>9</b></a><a class="chip" href="#x" aria-current="true">All <b>48</b></a></div></div></section>`)
	w(`<section class="sheet"><h2>Notices</h2><div class="notice">`, look.Mark(look.Signal, 18), `<p>No signal in here. <b>5 marks kept on this phone</b>.</p></div><div class="notice bad">`, look.Mark(look.Late, 16), `<p><b>Ring FC 26-019 is worn already</b> by a hen in B3. Write another number.</p></div><div class="notice guess">`, look.Mark(look.Unsure, 16), `<p>Two cages are not sure. A look settles them.</p></div><div class="notice good">`, look.Mark(look.Done, 16), `<p>All sent 07:04.</p></div><div class="empty">`, look.Box(look.BoxView{Stage: look.Resting}, 64, ""), `<p>No pair is up yet. Put a cock and a hen into a cage to begin.</p></div></section></div>`)
	w(`<div class="cols c2"><section class="sheet"><h2>Colours hidden</h2><ul class="hid"><li>`, look.Hidden(100, 36), `<b>Split fawn</b><span class="pc">certain</span><p class="why">His mother is fawn. Fawn is sex-linked, so every son of hers carries it.</p></li><li>`, look.Hidden(66, 36), `<b>Split pied</b><span class="pc guess">2 in 3</span><p class="why">Both parents threw a pied chick.</p></li><li>`, look.Hidden(2, 36), `<b>Split black-cheek</b><span class="pc guess">1 in 65</span><p class="why">Was 1 in 2. Six chicks, all normal.</p></li></ul></section>`)
	w(`<section class="sheet"><h2>Bars</h2><ul class="bars"><li>`, look.Bird("hen", "Merle 24-076"), look.Bar(3.1, 25, look.BarSeen), `<span>3.1</span></li><li>`, look.Bird("hen", "Clove 22-051"), look.Bar(25, 25, look.BarSeen), `<span>25.0</span></li></ul><div class="pb"><span>wait</span>`, look.Bar(41, 100, look.BarGuess), `<span>4 in 10</span><span class="bl">change feed</span>`, look.Bar(63, 100, look.BarBest), `<span class="bl">6 in 10</span><span>re-pair</span>`, look.Bar(48, 100, look.BarGuess), `<span>5 in 10</span></div><p class="row">`, look.Interval(look.IntervalView{From: 50, To: 100, Low: 69, Mid: 75, High: 81, Before: 82, HasBefore: true, Label: "75, 69 to 81; before 82"}), `75 % (69–81)</p>`, look.ColourBar([]look.Share{{Part: 3, Colour: "grey"}, {Part: 2, Colour: "fawn"}, {Part: 1, Colour: "pied"}}), `</section></div></div>`)
	return page("parts", "page", b.String())
}

func pegs() template.HTML {
	return look.Pegs([]look.Peg{{Label: "11 Jan", Chance: 4}, {Label: "12", Chance: 24, Today: true}, {Label: "13", Chance: 36, Top: true}, {Label: "14", Chance: 20}, {Label: "15", Chance: 10}, {Label: "16", Chance: 4}}, "Hatch 12–14 Jan (8 in 10), most likely 13 Jan")
}

func round() string {
	var b strings.Builder
	w := func(s ...any) { fmt.Fprint(&b, s...) }
	n, d, t, o := look.MiniNow, look.MiniDone, look.MiniToDo, look.MiniNone
	banks := [][][]look.Mini{
		{{d, d, d, o}, {o, d, n, o}, {o, d, o, t}, {o, t, o, o}},
		{{o, o, t, o}, {t, t, o, o}, {o, o, o, look.MiniLate}, {o, o, t, t}},
		{{o, t, o, look.MiniGap}, {o, o, look.MiniUnsure, o}, {o, o, o, o}, {o, t, o, o}},
	}
	w(`<section class="rhead"><h1>Morning round: <span class="nw">5 of 16 done,</span> <span class="nw">11 left</span></h1>`, look.MiniWall(banks, "5 cages done, now at B3, 10 to come"), `<p class="queue">`, look.Mark(look.Signal, 18), `<span>No signal in here. <b>5 marks kept on this phone</b>, sent when it is back.</span></p><p class="sub deskonly">Walking order: bay 1 from the door, down each column.</p></section><ol class="jobs">`)
	w(`<li class="job done">`, look.Plate("A3"), `<span class="nw">5th egg counted, 06:46</span><button class="plain">Undo</button></li>`)
	counts := func(id string) string {
		var c strings.Builder
		c.WriteString(`<div class="counts">`)
		for _, v := range []look.CountView{{Name: "eggs", One: "egg", Many: "eggs", Was: 5}, {Name: "chicks", One: "chick", Many: "chicks"}, {Name: "dead", One: "dead", Many: "dead", Blank: true}, {Name: "clear", One: "clear", Many: "clear"}} {
			v.ID = id + v.Name
			fmt.Fprint(&c, look.Count(v))
		}
		c.WriteString(`</div>`)
		return c.String()
	}
	answers := `<div class="answers"><button class="go" name="answer" value="same" data-same="">Looked, same<small>then D3</small></button><button class="quiet" name="answer" value="left">Sitting, left alone</button><button class="quiet" name="answer" value="changed" data-save=""><span>Save changes</span></button></div><div class="later"><button class="plain" name="answer" value="later">Later</button><a class="plain" href="wall.html">More at B3</a></div>`
	w(`<li class="job now"><form method="post" action="#"><div class="jtop">`, look.Plate("B3"), `<h2>Look for chicks</h2>`, look.Flag(look.Today, "Today"), `<p class="pair"><span>Zebra</span>`, look.Bird("cock", "24-031"), look.Bird("hen", "24-076"), `<span>2nd clutch</span></p></div><div class="jwhy">`, look.Box(boxes[7].view, 64, boxes[7].view.Words()), `<div><p>5 full eggs, sat since 30 Dec.</p><p class="guess line">Hatch <b>12–14 Jan</b> (8 in 10), most likely 13 Jan.</p></div></div>`, pegs(), counts("b3-"), answers, `</form></li>`)
	w(`<li class="job next">`, look.Plate("D3"), `<h2><a href="#d3">Count chicks</a></h2>`, look.Flag(look.Today, "Today"), `<p class="sub">Day 1, 2 hatched, 3 full eggs left</p></li>`)
	w(`<li class="job next look">`, look.Plate("C4"), `<h2><a href="#c4">No nest after 6 days</a></h2>`, look.Flag(look.Unsure, "Not sure"), `<p class="sub">Hen new to this cock</p></li>`)
	w(`<li class="job"><form method="post" action="#"><div class="jtop">`, look.Plate("B5"), `<h2>Ring 3 chicks</h2>`, look.Flag(look.Today, "Today"), `</div><div class="jwhy">`, look.Box(boxes[14].view, 64, ""), `<div><p>Day 9. The ring goes over on day 7 to 10.</p></div></div><ul class="ringlist">`)
	for _, r := range []string{"FC 26-019", "FC 26-020", "FC 26-021"} {
		w(`<li>`, look.Ring(r), `<label class="choice"><input type="checkbox" name="ring" value="`, r, `"/>On</label></li>`)
	}
	w(`</ul><div class="jgo"><button class="go" data-save=""><span>Save</span><small>then B6</small></button><button class="quiet">Later</button></div></form></li>`)
	w(`<li class="job late"><form method="post" action="#"><div class="jtop">`, look.Plate("C8"), `<h2>Hatch is over time</h2>`, look.Flag(look.Late, "1 day over"), `<p class="pair"><span>Gouldian</span>`, look.Bird("cock", "24-038"), look.Bird("hen", "24-058"), `</p></div><div class="jwhy">`, look.Box(look.BoxView{Eggs: look.Eggs(4, look.Full)}, 64, ""), `<div><p>4 full eggs, sat 16 days. Here they took 14–16.</p><p class="guess line">Still hatch: <b>about 1 in 3</b>.</p></div></div>`, counts("c8-"), answers, `</form></li>`)
	w(`<li class="job"><form method="post" action="#"><div class="jtop">`, look.Plate("D8"), `<h2>Candle 5 eggs</h2>`, look.Flag(look.Today, "Today"), `</div><div class="eggs">`)
	for i, s := range []look.EggState{look.Full, look.Full, look.Clear, look.DeadInShell, look.NotYet} {
		w(look.EggCell(look.EggCellView{Name: "egg", ID: fmt.Sprintf("d8-egg%d", i+1), Number: fmt.Sprint(i + 1), State: s}))
	}
	w(`</div><div class="jgo"><button class="go" data-save=""><span>Save candling</span><small>then A10</small></button><button class="quiet">Later</button></div></form></li></ol>`)
	w(`<div class="undo" role="status"><span>A3 saved: 5 eggs</span><form method="post" action="#"><button>Undo</button></form></div>`)
	return page("round", "round", b.String())
}

func wall() string {
	var b strings.Builder
	w := func(s ...any) { fmt.Fprint(&b, s...) }
	w(`<div class="head"><div><h1>13 of 32 cages want you today. Two hatches are overdue.</h1><p class="deskonly">The back wall, as you stand facing it.</p></div></div><div class="chips"><a class="chip" data-filter="" href="?" aria-current="true">All <b>32</b></a><a class="chip" data-filter="late" href="?only=late">`, look.Mark(look.Late, 16), `Over <b>2</b></a><a class="chip" data-filter="today" href="?only=today">`, look.Mark(look.Today, 16), `Today <b>9</b></a><a class="chip" data-filter="look" href="?only=look">`, look.Mark(look.Unsure, 16), `Not sure <b>2</b></a><a class="chip" data-filter="zebra" href="?only=zebra">Zebra <b>28</b></a></div><p class="small sub" role="status" data-filter-count=""></p>`)
	w(`<form class="vh" method="post" action="#" data-carry-form=""><input name="what" aria-label="what" data-carry-what=""/><input name="to" aria-label="to" data-carry-to=""/></form>`)
	w(`<div class="room"><nav class="bayswitch" aria-label="Bays"><a href="#bay-1" aria-current="true"><span>Bay 1, 6 to do</span>`, look.MiniWall([][][]look.Mini{{{"today", "", "", ""}, {"", "late", "look", ""}, {"", "", "", "today"}}}, ""), `</a><a href="#bay-2"><span>Bay 2, 5 to do</span>`, look.MiniWall([][][]look.Mini{{{"", "", "", ""}, {"", "today", "", ""}, {"", "", "gap", ""}}}, ""), `</a></nav><div class="bays">`)
	states := []struct {
		k          look.Kind
		day        string
		what, when string
		box        int
	}{
		{look.Soon, "sit 9", "hatch", "16 Jan", 6},
		{look.Today, "day 8", "ring", "today", 15},
		{look.Soon, "egg 4", "egg 5", "today", 5},
		{look.Soon, "day 3", "1st egg", "14 Jan", 3},
		{look.Soon, "day 24", "wean", "28 Jan", 17},
		{look.Late, "sit 17", "2 days", "over", 7},
		{look.Unsure, "day 6", "no nest", "look", 1},
		{look.Rest, "rest 5", "pair", "31 Jan", 0},
		{look.Soon, "day 27", "wean", "30 Jan", 18},
		{look.Today, "sit 7", "candle", "today", 8},
		{look.Soon, "day 16", "fledge", "15 Jan", 13},
		{look.Soon, "day 1", "count", "tomorrow", 11},
	}
	for bay, cols := range []int{4, 4, 6} {
		open := ""
		if bay == 0 {
			open = " open"
		}
		w(`<section class="bay lab cols-`, cols, open, `" id="bay-`, bay+1, `" aria-label="Bay `, bay+1, `"><p class="bayname"><b>Bay `, bay+1, `</b><span>Door end</span></p>`)
		for r, row := range []string{"A", "B", "C"} {
			w(`<span class="rowl">`, row, `</span>`)
			for c := range cols {
				i := r*cols + c
				if bay == 2 && r == 2 && c > 3 {
					w(`<span class="nocage"></span>`)
					continue
				}
				s := states[i%len(states)]
				plate := fmt.Sprintf("%s%d", row, bay*4+c+1)
				sp := []string{"Zebra", "Bengalese", "Gouldian"}[(i+bay)%3]
				v := look.CageView{Href: "#" + plate, Plate: plate, State: s.k, Cock: fmt.Sprintf("24-0%d", 20+i+20*bay), Hen: fmt.Sprintf("25-1%d", 10+i+20*bay), Species: sp, Box: boxes[s.box].view, Day: s.day, What: s.what, When: s.when, Label: plate + " " + sp + ", " + boxes[s.box].view.Words() + ", " + s.what + " " + s.when, Is: string(s.k) + " " + strings.ToLower(sp), Drop: plate}
				if bay == 2 {
					v.Pick, v.Form = plate, "bulk"
				}
				w(look.Cage(v))
			}
		}
		w(`</section>`)
	}
	w(`</div><div class="flights"><section class="flight"><header><h2>Flight 1, young cocks</h2><span class="sub">14 of 24</span></header>`, look.Perch(14, 5, 24, "14 of 24 places taken, 5 more expected"), `<p class="tiny">5 more by 4 Feb (3–7, 8 in 10)</p></section><section class="flight full"><header><h2>Flight 2, young hens</h2><span class="sub">26 of 24, 2 too many</span></header>`, look.Perch(26, 0, 24, "26 birds in 24 places"), `</section><section class="flight outd"><header><h2>Outdoor aviary</h2><span class="sub">9 of 36</span></header>`, look.Perch(9, 0, 36, "9 of 36 places taken"), `<p class="tiny">Night 2 °C. No young out before about 1 Apr.</p></section></div>`)
	w(`<ul class="legend">`)
	for _, k := range []struct {
		i int
		s string
	}{{0, "resting"}, {1, "empty"}, {3, "building"}, {6, "eggs: full, not candled, clear"}, {15, "chicks"}, {13, "ringed"}, {17, "young out"}} {
		w(`<li>`, look.Box(boxes[k.i].view, 26, ""), k.s, `</li>`)
	}
	w(`</ul><form class="bulk" id="bulk" method="post" action="#" data-bulk=""><b data-pick-count=""></b><button class="quiet">Box in</button><button type="button" class="plain" data-pick-none="">Let go of all</button></form><p><button type="button" class="carry" data-carry="b7" data-carry-name="24-031" hidden="hidden">Carry 24-031</button></p></div>`)
	return page("wall", "page wide", b.String())
}

// day counts from 1 November of the invented season.
func season() string {
	clutch := func(first, n int) look.Clutch {
		c := look.Clutch{Ring: [2]int{}, Guess: true, Note: "3–4 weaned"}
		for i := range n {
			e := look.LaidEgg{Day: first + i, State: look.Full, Guess: first+i > 72}
			if i == n-1 {
				e.State = look.Clear
			}
			c.Eggs = append(c.Eggs, e)
		}
		h := first + n + 12
		when := func(day, wide int, label string) look.When {
			if day <= 72 {
				return look.SeenOn(day, label)
			}
			return look.Guessed(day-wide, day, day+wide, label)
		}
		c.Hatch = when(h, 1, "hatch")
		c.Ring = [2]int{h + 7, h + 9}
		c.Fledge = when(h+19, 2, "out of the box")
		c.Wean = when(h+35, 3, "weaned")
		if h+35 <= 72 {
			c.Guess, c.Note = false, "4 weaned"
		}
		return c
	}
	v := look.LanesView{From: 0, To: 211, Today: 72, TodayLabel: "12 Jan today", LightWords: "Lamps 06:00–20:00, 14 h from 4 Jan", LanesTitle: "Pairs, 12 of 44", Label: "Season picture, November to May"}
	for i, m := range []struct {
		d int
		s string
	}{{0, "November"}, {30, "December"}, {61, "January"}, {92, "February"}, {120, "March"}, {151, "April"}, {181, "May"}} {
		v.Months = append(v.Months, look.Tick{Day: m.d, Label: m.s})
		_ = i
	}
	for i := range 9 {
		v.Light.Plan = append(v.Light.Plan, look.LightRun{From: i * 8, To: i*8 + 7, Hours: 10 + float64(i)*0.5})
	}
	v.Light.Plan[8].To = 171
	v.Light.Real = append(slices.Clone(v.Light.Plan[:5]), look.LightRun{From: 40, To: 49, Hours: 12}, look.LightRun{From: 50, To: 72, Hours: 14})
	v.Light.Plan = append(v.Light.Plan, look.LightRun{From: 172, To: 189, Hours: 13}, look.LightRun{From: 190, To: 211, Hours: 12})
	for d := 0; d <= 211; d += 7 {
		x := float64(d-50) / 100
		v.Light.Daylight = append(v.Light.Daylight, look.Point{Day: d, Value: 7.8 + 3.2*x*x})
	}
	v.Feed = []look.FeedRow{
		{Name: "Zebras", Feed: []look.Stretch{{From: 0, To: 22, Label: "rest", Kind: "rest"}, {From: 23, To: 44, Label: "preparation", Kind: "build"}, {From: 45, To: 72, Label: "sprouted seed and egg food", Kind: "breed"}, {From: 73, To: 168, Label: "sprouted seed and egg food", Kind: "breed", Guess: true}, {From: 169, To: 211, Label: "moult", Kind: "moult", Guess: true}}},
		{Name: "Gouldians", Feed: []look.Stretch{{From: 0, To: 30, Label: "moult", Kind: "moult"}, {From: 31, To: 72, Label: "rest", Kind: "rest"}, {From: 73, To: 211, Label: "preparation", Kind: "build", Guess: true}}},
	}
	for i, p := range []string{"B3", "A2", "C3", "B6", "C2", "D4", "D1", "C9", "C5", "D9", "A10", "A12"} {
		l := look.Lane{Plate: p, Name: []string{"Zebra", "Bengalese", "Gouldian"}[i%3], Href: "#" + p}
		switch {
		case i == 4:
			c := clutch(50, 4)
			c.Hatch, c.Fledge, c.Wean, c.Ring = look.When{}, look.When{}, look.When{}, [2]int{}
			c.Over, c.Note = "hatch 2 days over: 1 in 4 still comes", ""
			l.Clutches = []look.Clutch{c}
		case i == 7:
			c := clutch(30, 5)
			c.Hatch, c.Fledge, c.Wean, c.Ring = look.When{}, look.When{}, look.When{}, [2]int{}
			c.Ended, c.Note = look.SeenOn(48, "left the nest"), "left the eggs"
			l.Clutches = []look.Clutch{c, clutch(66, 5)}
		default:
			l.Clutches = []look.Clutch{clutch(2+i*5, 5), clutch(70+i*5, 4)}
		}
		v.Lanes = append(v.Lanes, l)
	}
	h := look.Holding{Title: "Young on hand", Sub: "against places", FullSub: "8 in 10: 16 Feb to 11 Mar", Full: look.Guessed(107, 117, 130, "Full about 26 Feb"), Places: []look.Point{{Day: 0, Value: 48}, {Day: 151, Value: 84}}, PlaceWords: []string{"Flights 1 and 2: 48 places", "with the aviary: 84 places"}}
	for d := 40; d <= 72; d += 4 {
		h.Seen = append(h.Seen, look.Point{Day: d, Value: float64(d-40) * 0.78})
	}
	for d := 72; d <= 210; d += 6 {
		m := 25 + float64(d-72)*0.52
		h.Middle = append(h.Middle, look.Point{Day: d, Value: m})
		h.Low = append(h.Low, look.Point{Day: d, Value: m - float64(d-72)*0.2})
		h.High = append(h.High, look.Point{Day: d, Value: m + float64(d-72)*0.24})
	}
	v.Holding = &h
	var key strings.Builder
	for _, k := range []string{"eggs", "hatch", "box", "ring", "out", "guess", "fed", "plan", "moult"} {
		fmt.Fprint(&key, `<li>`, look.LaneKey(k), map[string]string{"fed": "fed so, up to today", "plan": "planned", "moult": "moult", "eggs": "egg full, not candled, clear", "hatch": "hatch", "box": "chicks in the box", "ring": "ring goes over", "out": "out, to weaning", "guess": "hatched lines: a guess"}[k], `</li>`)
	}
	c := clutch(56, 5)
	c.Hatch = look.Guessed(72, 73, 74, "hatch 12–14 Jan, most likely 13")
	c.Fledge = look.Guessed(90, 92, 95, "out of the box 30 Jan–4 Feb")
	c.Wean = look.Guessed(105, 109, 113, "weaned 14–22 Feb")
	c.Ring = [2]int{80, 82}
	tl := look.TimelineView{From: 54, To: 116, Today: 72, TodayLabel: "12 Jan today", Clutch: c, EggsLabel: "5 eggs, 26–30 Dec", RingLabel: "ring 20–22 Jan", Label: "Clutch of B3", Marks: []look.TimelineMark{{Day: 57, Kind: look.Done, Label: "looked 27 Dec"}, {Day: 66, Kind: look.Done, Label: "candled 6 Jan"}, {Day: 72, Kind: look.Today, Label: "look today"}, {Day: 81, Kind: look.Soon, Label: "ring"}}}
	for d, s := range map[int]string{54: "25 Dec", 61: "1 Jan", 68: "8 Jan", 75: "15 Jan", 82: "22 Jan", 89: "29 Jan", 96: "5 Feb", 103: "12 Feb", 110: "19 Feb"} {
		tl.Ticks = append(tl.Ticks, look.Tick{Day: d, Label: s})
	}
	sortTicks(tl.Ticks)
	return page("season", "page wide", `<div class="head"><div><h1>Holding space runs out about 26 February, 34 days before the aviary can open.</h1><p>44 pairs, 25 weaned so far.</p></div></div><div class="sheet">`+string(look.Lanes(v))+`<ul class="legend">`+key.String()+`</ul></div><p></p><section class="sheet"><h2>Clutch of B3</h2><div class="scroll" tabindex="0">`+string(look.Timeline(tl))+`</div></section>`)
}

func sortTicks(t []look.Tick) {
	for i := range t {
		for j := i; j > 0 && t[j].Day < t[j-1].Day; j-- {
			t[j], t[j-1] = t[j-1], t[j]
		}
	}
}

func tree(depth int, sex string, n int) *look.Ancestor {
	names := []string{"Ash", "Tarn", "Clove", "Hale", "Wren", "Brock", "Ivy", "Stour", "Fern", "Pike", "Mab", "Dilly", "Nye", "Rue", "Jory", "Žofie"}
	a := &look.Ancestor{Name: names[n%len(names)], Ring: fmt.Sprintf("%d-0%02d", 24-(4-depth)*2, n*7%99), Sex: sex, Href: "#" + names[n%len(names)]}
	if n%5 == 0 {
		a.Fill = "half"
	}
	if n%7 == 3 {
		a.Fill = "full"
	}
	if depth > 0 {
		if n != 5 {
			a.Sire = tree(depth-1, "cock", 2*n+1)
		}
		a.Dam = tree(depth-1, "hen", 2*n+2)
	}
	return a
}

func bird() string {
	var b strings.Builder
	w := func(s ...any) { fmt.Fprint(&b, s...) }
	w(`<div class="bhead"><span class="ring big">FC 24-031</span><h1>`, look.Sex("cock"), `Ash, grey cock, 1 year 10 months</h1><a class="quiet deskonly" href="#p">Print bird card</a><p class="sub">Zebra. In cage <b>B3</b> with `, look.Bird("hen", "24-076 Merle"), ` since 14 Nov.</p></div><div class="cols c57"><div class="stack wide"><section class="sheet"><h2>Weight</h2>`)
	var pts []look.Point
	for i, g := range []float64{13.1, 13.3, 13.2, 13.6, 13.9, 14, 13.8, 13.9, 13.5, 13.2, 13.3} {
		pts = append(pts, look.Point{Day: i * 30, Value: g})
	}
	w(look.Weights(look.WeightsView{Points: pts, Low: 12.9, High: 14.1, First: "Mar 2025", Last: "10 Jan", LastWords: "13.3 g", Label: "Weights, grams"}))
	w(`</section><section class="sheet"><h2>Facts</h2><dl class="facts"><dt>Hatched</dt><dd>3 Mar 2024 in B3</dd><dt>Look</dt><dd>grey</dd></dl></section><section class="sheet"><div class="shead"><h2>Journal</h2><a class="small" href="#j">All 41</a></div><ol class="journal"><li class="day">12 Jan</li><li><span class="when">06:46</span><div><p class="what">Looked: 5 eggs</p><p class="by">Jo, on the phone</p></div><button class="plain">Strike out</button></li><li class="struck"><span class="when">06:41</span><div><p class="what">Looked: 6 eggs</p><p class="by">struck out 06:45, miscounted</p></div><button class="plain">Put back</button></li></ol></section></div>`)
	w(`<div class="stack wide"><section class="sheet"><h2>Ancestors</h2><div class="scroll" tabindex="0">`, look.Ancestors(tree(4, "cock", 0), "Ancestors of Ash"), `</div><ul class="legend"><li>`, look.Sex("cock"), `cock</li><li>`, look.Sex("hen"), `hen</li><li>filled: shows fawn</li><li>half filled: split fawn</li></ul></section><section class="sheet"><h2>Clutches</h2><div class="list" tabindex="0"><table><thead><tr><th aria-sort="descending"><a href="#s">First egg</a></th><th><a href="#s">With</a></th><th class="n">Eggs</th><th class="n">Full</th><th class="n">Hatched</th><th class="n">Weaned</th></tr></thead><tbody>`)
	for _, r := range []string{"Jan 2025", "Mar 2025", "Nov 2025", "Dec 2025"} {
		w(`<tr><td>`, r, `</td><td>`, look.Bird("hen", "24-090"), `</td><td class="n">5</td><td class="n">4</td><td class="n">4</td><td class="n"><span class="guess">3–5</span></td></tr>`)
	}
	w(`</tbody></table></div></section><section class="sheet"><h2>A new bird</h2><form class="form two" method="post" action="#"><div class="field bad"><label for="f1">Ring <span class="opt">if it wears one</span></label><p class="hint" id="f1h">As it stands on the ring.</p><input id="f1" value="FC 26-019" class="mid"/><p class="err">`, look.Mark(look.Late, 14), `<span>This ring is worn by a hen in B3.</span></p></div><div class="field"><label for="f2">Species</label><select id="f2"><option>Zebra finch</option></select></div><fieldset class="field full"><legend>Sex</legend><div class="choices"><label class="choice"><input type="radio" name="sex"/>Cock</label><label class="choice"><input type="radio" name="sex" checked="checked"/>Hen</label><label class="choice"><input type="radio" name="sex"/>Not known</label></div></fieldset><div class="field"><label for="f3">Weight</label><span class="unit"><input id="f3" inputmode="decimal"/> g</span></div><div class="field"><label for="f4">Hatched</label><input id="f4" type="date"/></div><div class="field full"><label class="tick" for="f5"><input type="checkbox" id="f5"/>Bought in</label></div><div class="field full"><label for="f6">Note</label><textarea id="f6" rows="3"></textarea></div><div class="acts"><button class="go hug">Save bird</button><a class="plain" href="#b">Back</a></div></form></section></div></div>`)
	return page("bird", "page", b.String())
}

func forms() string {
	var b strings.Builder
	w := func(s ...any) { fmt.Fprint(&b, s...) }
	w(`<p class="up"><a href="parts.html">More</a></p><div class="head"><div><h1>Lamps of the room</h1><p>As the timer on the wall is set.</p></div></div><form class="form" method="post" action="#"><div class="notice bad" role="alert">`, look.Mark(look.Late, 16), `<p><b>Nothing is saved yet.</b> This wants mending:</p><ul><li><a href="#on">Lamps on is not a time</a></li></ul></div><div class="field bad"><label for="on">Lamps on</label><p class="hint">Hours and minutes.</p><input id="on" class="short" value="25:00"/><p class="err">`, look.Mark(look.Late, 14), `<span>There is no 25:00. Write a time from 00:00 to 23:59.</span></p></div><div class="field"><label for="off">Lamps off</label><input id="off" class="short" value="20:00"/></div><fieldset class="group"><legend>Dimming</legend><div class="field"><label for="dusk">Takes</label><span class="unit"><input id="dusk" value="30"/> minutes</span></div><label class="tick"><input type="checkbox"/>A night light burns</label></fieldset><div class="slide"><div class="ends"><span>more young</span><span>wider lines</span></div><input type="range" aria-label="more young or wider lines"/></div><details class="why"><summary>Why this is asked</summary><p>The page turns dark when the lamps are off.</p></details><div class="acts"><button class="go">Save</button><a class="plain" href="#b">Back</a></div></form>`)
	w(`<ul class="more"><li><a href="#s"><b>Season</b><span>A lane for each pair, and the counts so far</span></a></li><li><a href="#s"><b>Settings</b><span>Lamps, rings, species</span></a></li></ul>`)
	w(`<div class="sheet"><h2>Pairs</h2><div class="scroll" tabindex="0"><table class="matrix"><thead><tr><th>Cocks down, hens across</th><th>Merle</th><th>Linnet</th><th>Sedge</th><th>Bram</th><th>Isla</th></tr></thead><tbody>`)
	for _, c := range []string{"Ash", "Rook"} {
		w(`<tr><th>`, look.Bird("cock", c), `</th>`)
		for k := range 5 {
			class, lock := fmt.Sprintf("mc k%d", k), template.HTML("")
			if k == 1 && c == "Ash" {
				class += " pick"
				lock = look.Mark(look.Kept, 12)
			}
			if k == 3 && c == "Rook" {
				w(`<td><a class="mc no" href="#m"><span class="v">aunt</span></a></td>`)
				continue
			}
			w(`<td><a class="`, class, `" href="#m"><span class="v">`, float64(k)*3.1, `</span><span class="ex"><i class="f"></i><i></i></span>`, lock, look.ColourBar([]look.Share{{Part: 3, Colour: "grey"}, {Part: 2, Colour: "fawn"}, {Part: 1, Colour: "pied"}}), `</a></td>`)
		}
		w(`</tr>`)
	}
	w(`</tbody></table></div></div>`)
	return page("parts", "page narrow", b.String())
}

func pages() map[string]string {
	return map[string]string{"parts": parts(), "round": round(), "wall": wall(), "season": season(), "bird": bird(), "forms": forms()}
}

func TestPages_KeepTheRules(t *testing.T) {
	var css []byte
	for _, name := range []string{"look.css", "lamps.css"} {
		b, err := os.ReadFile("../../static/" + name)
		if err != nil {
			t.Fatal(err)
		}
		css = append(css, b...)
	}
	known := map[string]bool{}
	for _, m := range regexp.MustCompile(`\.([a-zA-Z][\w-]*)`).FindAllStringSubmatch(string(css), -1) {
		known[m[1]] = true
	}
	// classes that only name a thing for scripts, tests or a reader of the page
	for _, c := range []string{"gl", "ic", "mk", "timeline", "kin", "weights", "season", "interval", "clock", "soon", "signal", "kept", "what", "row", "fledged", "sw"} {
		known[c] = true
	}
	class := regexp.MustCompile(` class="([^"]*)"`)
	id := regexp.MustCompile(` id="([^"]*)"`)
	for name, html := range pages() {
		if strings.Contains(html, "style=") {
			t.Errorf("%s: holds a style attribute", name)
		}
		dec := xml.NewDecoder(strings.NewReader(html))
		for {
			_, err := dec.Token()
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				t.Errorf("%s: not well-formed: %v", name, err)
				break
			}
		}
		for _, m := range class.FindAllStringSubmatch(html, -1) {
			for _, c := range strings.Fields(m[1]) {
				if !known[c] {
					t.Errorf("%s: class %q is not in look.css or lamps.css", name, c)
				}
			}
		}
		seen := map[string]bool{}
		for _, m := range id.FindAllStringSubmatch(html, -1) {
			if seen[m[1]] {
				t.Errorf("%s: id %q stands twice", name, m[1])
			}
			seen[m[1]] = true
		}
		file := filepath.Join("testdata", name+".html")
		html = "<!doctype html>" + html
		if *update {
			if err := os.MkdirAll("testdata", 0o755); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(file, []byte(html), 0o644); err != nil {
				t.Fatal(err)
			}
			continue
		}
		want, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if html != string(want) {
			t.Errorf("%s: the page differs from %s; look at it and run with -update", name, file)
		}
	}
}
