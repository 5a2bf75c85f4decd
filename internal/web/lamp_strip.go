package web

import (
	"fmt"
	"net/http"

	"broodlight/internal/aviary"
)

// lamps is the strip in the beam: the day's light as the timers are set.
type lamps struct {
	Known    bool
	On, Off  aviary.Clock
	Dusk     int // minutes of dimming before off
	Now      aviary.Clock
	State    string // before, on, dimming, off
	Text     string // "Lamps 06:00–20:00, 14 h"
	Circuits int
}

// Dark reports whether the lamps are known to be off.
func (l lamps) Dark() bool { return l.Known && (l.State == "before" || l.State == "off") }

// lampsOf reads the lamps as they were set. Of several circuits the one that burns longest stands for the room.
func lampsOf(r *aviary.Room, today aviary.Date, now aviary.Clock) lamps {
	l := lamps{Now: now}
	longest := -1
	for _, c := range r.LampsOn(today) {
		l.Circuits++
		if n := burns(c.On, c.Off); n > longest {
			longest = n
			l.Known, l.On, l.Off, l.Dusk = true, c.On, c.Off, 0
			if c.Dusk != nil {
				l.Dusk = *c.Dusk
			}
		}
	}
	if !l.Known {
		return l
	}
	l.Text = fmt.Sprintf("Lamps %s–%s, %s", l.On, l.Off, hours(longest))
	on, _ := l.On.Minutes()
	t, _ := now.Minutes()
	switch since := (t - on + day) % day; {
	case since >= longest && t < on:
		l.State = "before"
	case since >= longest:
		l.State = "off"
	case since >= longest-l.Dusk:
		l.State = "dimming"
	default:
		l.State = "on"
	}
	return l
}

const day = 24 * 60 // minutes

// burns returns the minutes from on to off, past midnight if need be.
func burns(on, off aviary.Clock) int {
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

// themeCookie holds what the theme button was set to: off or light; the lamps decide when it is not there.
const themeCookie = "theme"

// theme says which theme a page has: what the button was set to, else the lamps-off view while the lamps are off.
func (v *visit) theme(l lamps) string {
	if c, err := v.r.Cookie(themeCookie); err == nil && (c.Value == "off" || c.Value == "light") {
		return c.Value
	}
	if l.Dark() {
		return "off"
	}
	return ""
}

// themeSend sets the theme by hand.
func (s *server) themeSend(v *visit) error {
	const year = 365 * 24 * 3600
	switch theme := v.form().one("theme", "off", "light", "auto"); theme {
	case "off", "light":
		v.setCookie(themeCookie, theme, year)
	default:
		v.setCookie(themeCookie, "", -1)
	}
	return v.back("/")
}

// moreShow lists the pages that have no tab on a phone.
func (s *server) moreShow(v *visit) error {
	return v.render("more_show", &layout{Headline: "More of the room", Tab: "more"})
}

// rootShow sends the browser to the round.
func (s *server) rootShow(v *visit) error {
	http.Redirect(v.w, v.r, "/round", http.StatusSeeOther)
	return nil
}
