package web

import (
	"fmt"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
)

// lampWait writes the plan moved so that the lamps come down only when the young are on their own. It refuses when the nests
// have changed since the page was shown, because another day would be written than the button said.
func (s *server) lampWait(v *visit) error {
	f := v.form()
	name, shown := f.text("circuit"), f.date("taper_from")
	var body *aviary.LampPlanned
	err := v.circuit(name, func(_ *advice.Desk, c *advice.LampCircuit) error {
		switch w := c.Wait(); {
		case c.Plan != nil && c.Plan.TaperFrom == shown: // the same form, sent twice
			b := c.Plan.LampPlanned
			body = &b
		case w.Plan == nil:
			return &aviary.Error{Code: aviary.Conflict, Message: "no nest holds up the lamps any more; nothing was changed"}
		case w.Plan.TaperFrom != shown:
			return &aviary.Error{Code: aviary.Conflict, Message: fmt.Sprintf("meanwhile the nests say %s; nothing was changed, look again", w.Plan.TaperFrom.Long())}
		default:
			body = w.Plan
		}
		return nil
	})
	if err != nil {
		return err
	}
	v.say("Lamps come down from %s", shown.Short())
	if err := v.save(f, v.entry(body)); err != nil {
		return v.retry(f, err, lampsPageOf)
	}
	return v.back("/lamps")
}
