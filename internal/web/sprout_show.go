package web

import (
	"errors"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
)

// sproutShow shows the jars by the plan that holds.
func (s *server) sproutShow(v *visit) error { return sproutPageOf(v, nil, nil) }

// sproutForm begins with the plan that holds, or with what is common practice.
func sproutForm(d *advice.Desk, u units) *form {
	f := blank("serve_at", "07:00", "serve", "phases", "celsius", u.typedWarmth(20), "every_days", "1", "wake_from", "06:00", "wake_to", "22:00", "seeds", "100", "day", d.Today.String())
	var p *aviary.SproutPlan
	for i, x := range d.Room.Whole().Sprouts {
		if !x.Stop && x.Day <= d.Today {
			p = &d.Room.Whole().Sprouts[i]
		}
	}
	if p == nil {
		return f
	}
	f.Values.Set("serve_at", p.ServeAt.String())
	f.Values.Set("celsius", u.typedWarmth(p.Celsius))
	f.Values.Set("every_days", figure(float64(p.Every), 0))
	f.Values.Set("wake_from", p.WakeFrom.String())
	f.Values.Set("wake_to", p.WakeTo.String())
	if p.ServeML != nil {
		f.Values.Set("serve", "amount")
		f.Values.Set("serve_ml", u.typedVolume(*p.ServeML))
	}
	if p.DryML != nil {
		f.Values.Set("dry_ml", figure(*p.DryML, 3))
	}
	return f
}

// sproutPageOf shows the page; with tried it shows the jars by a plan that is not written.
func sproutPageOf(v *visit, f *form, tried *aviary.SproutsPlanned) error {
	p := &sproutPage{layout: layout{Title: "Sprouting", Tab: "season", Up: "/food", UpTo: "Food", Class: "page wide", Form: f}, Serve: sproutServe, Every: sproutEvery, Tried: tried != nil}
	for _, c := range advice.FeedCautions("sprouts") {
		p.Care = cautionView{c.Title, c.Text, c.Source}
	}
	v.desk(func(d *advice.Desk) {
		u := unitsOf(d.Room.Settings(d.Today))
		p.Volume, p.Warmth = u.VolumeUnit(), u.WarmthUnit()
		start := sproutForm(d, u)
		if p.Form == nil {
			p.Form = start
		}
		for name, x := range start.Values { // of the two forms on the page one was sent
			if !p.Form.Values.Has(name) {
				p.Form.Values[name] = x
			}
		}
		s, err := d.Sprouts()
		if tried != nil {
			s, err = d.SproutsBy(*tried)
		}
		p.HasPlan = s.Plan != nil && tried == nil
		if p.HasPlan {
			p.Planned, p.PlanID = s.Plan.Day.Long(), s.Plan.Entry
		}
		p.Seeds = seedViews(s)
		p.Dead = len(s.Seeds) > 0
		for _, x := range s.Seeds {
			p.Names = append(p.Names, x.Name)
			p.Dead = p.Dead && !x.Last.Use
		}
		for _, t := range s.Tests {
			p.Tests = append(p.Tests, germView{Day: t.Day, Name: t.Food, ID: t.Entry, Odds: germOdds(t), Text: count(t.Sprouted, "seed", "seeds") + " of " + figure(float64(t.Seeds), 0)})
		}
		var refused *aviary.Error
		if errors.As(err, &refused) {
			p.Headline, p.Problem = "The jars cannot be laid out by this plan", refused.Message
			return
		}
		p.Headline, p.Sub = sproutHeadline(d, s, u)
		if tried != nil {
			p.Headline, p.Sub = "Tried: "+p.Headline, "Nothing is written yet."
		}
		days := sproutDays(d, s, u)
		p.Days, p.Later = days[:2], days[2:]
		p.Picture, p.Jars = jarsPicture(d, s), jarsNow(d, s)
		p.Facts, p.Notes = sproutFacts(s, u), sproutNotes(s)
		p.UsualDry = figure(advice.UsualDrySeed(), 2)
	})
	return v.render("sprout_show", p)
}
