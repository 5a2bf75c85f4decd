package web

import (
	"fmt"
	"html/template"

	"broodlight/internal/aviary"
	"broodlight/internal/web/look"
)

// lamps is the day's light as the timers are set.
type lamps struct {
	strip look.StripView
	Known bool
	Text  string // "Lamps 06:00–20:00, 14 h"
}

// Dark reports whether the lamps are known to be off.
func (l lamps) Dark() bool {
	state := l.strip.State()
	return l.Known && (state == "before" || state == "off")
}

// lampsOf reads the lamps as they were set. Of several circuits the one that burns longest stands for the room.
func lampsOf(r *aviary.Room, today aviary.Date, now aviary.Clock) lamps {
	l := lamps{strip: look.StripView{Unknown: true}, Text: "Lamps not written yet"}
	l.strip.Now, _ = now.Minutes()
	longest := -1
	for _, c := range r.LampsOn(today) {
		n := burns(c.On, c.Off)
		if n <= longest {
			continue
		}
		longest = n
		l.Known, l.strip.Unknown, l.strip.DuskMinutes = true, false, 0
		l.strip.On, _ = c.On.Minutes()
		l.strip.Off, _ = c.Off.Minutes()
		if c.Dusk != nil {
			l.strip.DuskMinutes = min(*c.Dusk, n)
		}
		l.Text = fmt.Sprintf("Lamps %s–%s, %s", c.On, c.Off, hours(n))
	}
	return l
}

// burns returns the minutes from on to off, past midnight if need be.
func burns(on, off aviary.Clock) int {
	const day = 24 * 60 // minutes
	a, _ := on.Minutes()
	b, _ := off.Minutes()
	return (b - a + day) % day
}

func hours(minutes int) string {
	if minutes%60 == 0 {
		return fmt.Sprintf("%d h", minutes/60)
	}
	return fmt.Sprintf("%d h %d min", minutes/60, minutes%60)
}

// tabs are the pages in the beam; the foot of a phone leaves out the season, which is under More there.
func (l *layout) tabs(foot bool) []look.Tab {
	current := l.Tab
	if foot && current == "season" {
		current = "more"
	}
	var out []look.Tab
	for _, t := range []struct{ key, name string }{{"round", "Round"}, {"wall", "Wall"}, {"season", "Season"}, {"birds", "Birds"}, {"more", "More"}} {
		if foot && t.key == "season" {
			continue
		}
		out = append(out, look.Tab{Href: "/" + t.key, Name: t.name, Icon: t.key, Current: t.key == current})
	}
	return out
}

// beam draws the top of a page.
func beam(p page) template.HTML {
	l := p.base()
	note := ""
	if l.Demo {
		note = "Invented room"
	}
	return look.Beam(look.BeamView{
		Home: "/", Tabs: l.tabs(false), Day: l.Today.Time().Format("Mon ") + l.Today.Short(), LampLine: l.Lamps.Text, Note: note,
		Strip: l.Lamps.strip, Theme: l.Theme, ThemeURL: "/theme?back=" + template.URLQueryEscaper(l.Path),
	})
}

// foot draws the tabs at the foot of a phone.
func foot(p page) template.HTML { return look.Foot(p.base().tabs(true)) }
