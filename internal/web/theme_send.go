package web

// themeCookie holds what the theme button was set to: off or light; the lamps decide when it is not there.
const themeCookie = "theme"

// theme says which theme a page has: what the button was set to, else the one that the lamps ask for, else none: then the
// browser's own setting decides.
func (v *visit) theme(l lamps) string {
	if c, err := v.r.Cookie(themeCookie); err == nil && (c.Value == "off" || c.Value == "light") {
		return c.Value
	}
	switch {
	case l.Dark():
		return "off"
	case l.Known:
		return "light"
	}
	return ""
}

// themeSend sets the theme by hand, or hands it back to the lamps.
func (s *server) themeSend(v *visit) error {
	const year = 365 * 24 * 3600 // seconds
	switch theme := v.form().one("theme", "off", "light", "auto"); theme {
	case "off", "light":
		v.setCookie(themeCookie, theme, year)
	default:
		v.setCookie(themeCookie, "", -1)
	}
	return v.back("/")
}
