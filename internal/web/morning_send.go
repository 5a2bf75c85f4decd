package web

import (
	"fmt"
	"slices"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
)

// morningGivenSend writes that the portions of a bank, or of the whole room, were given: one batch, one undo. What was written
// already is not written twice.
func (s *server) morningGivenSend(v *visit) error {
	f := v.form()
	var bodies []aviary.Body
	var said string
	known := true
	v.desk(func(d *advice.Desk) {
		m := d.Morning()
		if f.tick("all") {
			bodies, said = m.Giving(), fmt.Sprintf("All given: %d places", m.ToFeed())
			return
		}
		bank := f.Values.Get("bank")
		at := slices.IndexFunc(m.Banks, func(b advice.MorningBank) bool { return b.Name == bank })
		if known = at >= 0 && f.Values.Has("bank"); known {
			b := m.Banks[at]
			bodies, said = m.Giving(bank), fmt.Sprintf("%s fed: %s", b.Label(), countWord(len(b.Places)-b.Fed, "place", "places"))
		}
	})
	if !known {
		f.wrong("", "there is no bank called %q with birds in it; choose one of the list", short(f.Values.Get("bank")))
		return v.retry(f, f.err(), s.morningPage)
	}
	var entries []*aviary.Entry
	for _, b := range bodies {
		entries = append(entries, v.entry(b))
	}
	v.say("%s", said)
	if err := v.save(f, entries...); err != nil {
		return v.retry(f, err, s.morningPage)
	}
	return v.back("/morning")
}

// morningAteSend writes how much the birds of some cages ate.
func (s *server) morningAteSend(v *visit) error {
	f := v.form()
	body := &aviary.IntakeSeen{Places: f.ids("places"), Share: f.float("share"), Text: f.text("text")}
	if f.text("share") == "" {
		f.wrong("share", "say whether they ate as always, less, or much less")
	}
	if err := v.save(f, v.entry(body)); err != nil {
		return v.retry(f, err, s.morningPage)
	}
	v.say("%s ate %s", countWord(len(body.Places), "cage", "cages"), shareWord(body.Share))
	return v.back("/morning")
}

func countWord(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
