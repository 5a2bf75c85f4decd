package look

import "html/template"

// Tab is one of the hanging tabs.
type Tab struct {
	Href    string
	Name    string
	Icon    string // for the foot, see Icon
	Current bool
}

// BeamView is the top of every page.
type BeamView struct {
	Home     string // where the wordmark leads
	Tabs     []Tab
	Day      string // "Mon 12 Jan"
	LampLine string // "Lamps 06:00–20:00, 14 h"
	Note     string // what else stands there, such as that the room is invented
	Strip    StripView
	Theme    string // "off" when the page is drawn lamps-off, which names the button
	ThemeURL string // where the button posts without JavaScript; empty leaves the button to theme.js
}

// Beam draws the top beam (theme.js keeps its clock and bar at the time): on a desk the wordmark, hanging tabs, lamp strip and theme button; on a
// phone the day, the time, the lamp line and the strip.
func Beam(v BeamView) template.HTML {
	var p pen
	p.w(`<header class="beam"><a class="wordmark" href="`, esc(v.Home), `">`, Wordmark(), `</a><nav class="tabs" aria-label="Pages">`)
	for _, t := range v.Tabs {
		p.w(`<a href="`, esc(t.Href), `"`)
		if t.Current {
			p.w(` aria-current="page"`)
		}
		p.w(`>`, esc(t.Name), `</a>`)
	}
	p.w(`</nav><div class="light"`)
	if v.Strip.Now >= 0 {
		p.w(` data-now="`, v.Strip.Now, `"`)
	}
	if v.Strip.lit() > 0 {
		p.w(` data-lamps-on="`, v.Strip.On, `" data-lamps-off="`, v.Strip.Off, `"`)
	}
	p.w(`>`, Strip(v.Strip), `<p class="lampline"><b>`, esc(v.Day), `</b>`)
	if v.Strip.Now >= 0 {
		p.w(` <span class="clock">`, Clock(v.Strip.Now), `</span>`)
	}
	p.w(`<span class="lamps">`, esc(v.LampLine), `</span>`)
	if v.Note != "" {
		p.w(`<span class="lamps">`, esc(v.Note), `</span>`)
	}
	p.w(`</p>`)
	name, to := "Lamps-off view", "off"
	if v.Theme == "off" {
		name, to = "Day view", "light"
	}
	if v.ThemeURL != "" {
		p.w(`<form class="themeform" method="post" action="`, esc(v.ThemeURL), `"><button class="theme" name="theme" value="`, to, `" data-theme-button="">`, name, `</button></form>`)
	} else {
		p.w(`<span class="themeform"><button type="button" class="theme" data-theme-button="" hidden="hidden">`, name, `</button></span>`)
	}
	p.w(`</div></header>`)
	return p.html()
}

// Foot draws the tabs at the foot of a phone, four at most.
func Foot(tabs []Tab) template.HTML {
	var p pen
	p.w(`<nav class="foot" aria-label="Main pages">`)
	for _, t := range tabs[:min(len(tabs), 4)] {
		p.w(`<a href="`, esc(t.Href), `"`)
		if t.Current {
			p.w(` aria-current="page"`)
		}
		p.w(`>`, Icon(t.Icon), `<span>`, esc(t.Name), `</span></a>`)
	}
	p.w(`</nav>`)
	return p.html()
}

// CountView is one count of a check.
type CountView struct {
	Name  string // name of the form field
	ID    string // id of the field, unique on the page
	One   string // "egg"
	Many  string // "eggs"
	Was   int    // what was last seen
	Blank bool   // nothing was counted before: the field starts empty, which is not 0
	Value string // what a form that came back held; used when Back is set
	Back  bool
	Max   int // the largest count that the field takes; 0 means 30
}

// Count draws a count cell for an element of class "counts". Without JavaScript it is a number field;
// counts.js makes its upper part add one and its lower part take one away.
func Count(v CountView) template.HTML {
	was, value := "", ""
	if !v.Blank {
		was = num(float64(v.Was))
		value = was
	}
	if v.Back {
		value = v.Value
	}
	top := v.Max
	if top == 0 {
		top = 30
	}
	var p pen
	p.w(`<div class="count" data-count="" data-was="`, was, `" data-one="`, esc(v.One), `" data-many="`, esc(v.Many), `"><input id="`, esc(v.ID),
		`" name="`, esc(v.Name), `" type="number" inputmode="numeric" min="0" max="`, top, `" step="1" value="`, esc(value),
		`" placeholder="–" autocomplete="off"/><label for="`, esc(v.ID), `">`, esc(v.Many), `</label></div>`)
	return p.html()
}
