package web

import (
	"strings"

	"broodlight/internal/aviary"
)

// roundSeenSend writes that the whole room was seen and all is well, but for the places named.
func (s *server) roundSeenSend(v *visit) error {
	f := v.form()
	b := &aviary.RoundSeen{Except: f.ids("except"), Text: f.text("text")}
	said := "Whole room seen, all well"
	v.s.Book.View(func(r *aviary.Room) {
		var names []string
		for _, id := range b.Except {
			if p := r.Place(id); p != nil {
				names = append(names, p.Name)
			} else if !v.later() {
				f.wrong("except", "a cage is named that is not in the books; open the round again")
			}
		}
		if len(names) > 0 {
			said += " but " + strings.Join(names, ", ")
		}
	})
	v.say("%s", said)
	if err := v.save(f, v.entry(b)); err != nil {
		return v.retry(f, err, (*visit).roundPage)
	}
	return v.see("/round")
}
