package web

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"html/template"
	"slices"
	"strconv"
	"strings"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
	"broodlight/internal/species"
	"broodlight/internal/web/look"
)

// seasonPlanPage is the short form of a season, and what the season would be before it is written.
type seasonPlanPage struct {
	layout
	Circuits []*planRow
	Groups   []*planRow
	AskPlace bool   // the form asks where the room stands
	Stands   string // where it stands
	Copied   string // what is said of a season that was copied
	Basis    string // what the proposed dates rest on
	Seen     string
	Preview  *seasonPreview
}

// planRow is one circuit or one group of the form. Its fields bear the row's prefix.
type planRow struct {
	f       *form
	Prefix  string
	Title   string
	Banks   []option
	Species []option
	Places  []option // single places that the plan named before
	Moves   []option
	Clocks  []option
	Windows []option
	Open    bool // something under the fold wants mending
}

// Text, Decimal, Number, Date, Time, Ticks, Radio and Tick are the form's controls, named for the row.
func (r *planRow) Text(name, label string) field    { return r.f.Text(r.Prefix+name, label) }
func (r *planRow) Decimal(name, label string) field { return r.f.Decimal(r.Prefix+name, label) }
func (r *planRow) Number(name, label string) field  { return r.f.Number(r.Prefix+name, label) }
func (r *planRow) Date(name, label string) field    { return r.f.Date(r.Prefix+name, label) }
func (r *planRow) Time(name, label string) field    { return r.f.Time(r.Prefix+name, label) }
func (r *planRow) Tick(name, label string) field    { return r.f.Tick(r.Prefix+name, label) }

// Ticks is a row of choices of which several may hold.
func (r *planRow) Ticks(name, label string, o []option) field {
	return r.f.Ticks(r.Prefix+name, label, o)
}

// Radio is a row of choices of which one holds.
func (r *planRow) Radio(name, label string, o []option) field {
	return r.f.Radio(r.Prefix+name, label, o)
}

// seasonPreview is a season as it would be.
type seasonPreview struct {
	Picture  template.HTML
	Keys     []keyView
	Circuits []circuitPreview
	Minds    []string
	Groups   []seasonFeedRow
	Stands   []string // rows that are in the books already
	Writes   string
}

// circuitPreview is what the plan makes of one circuit.
type circuitPreview struct {
	lampSheet
	Name, Headline string
	Lines          []string
	Picture        template.HTML // of every circuit but the first, which stands in the year's picture
}

// mostRows is how many circuits, and how many groups, the form takes.
const mostRows = 12

func (s *server) seasonPlanShow(v *visit) error {
	next := v.r.URL.Query().Get("next") != ""
	var f *form
	ok := true
	v.desk(func(d *advice.Desk) {
		var p advice.SeasonPlan
		proposed, years := false, 0
		if next {
			p, years, ok = d.SeasonPlanNext()
		} else {
			p, proposed = d.SeasonPlanStart()
		}
		f = seasonPlanForm(p)
		if years > 0 {
			f.Values.Set("copied", strconv.Itoa(years))
		}
		if proposed {
			f.Values.Set("proposed", "yes")
		}
	})
	if !ok {
		return notThere("no season was planned yet, so there is none to copy; plan one first")
	}
	return seasonPlanPageOf(v, f, nil, nil)
}

// seasonPlanForm fills the form in with a plan.
func seasonPlanForm(p advice.SeasonPlan) *form {
	f := blank()
	for i, b := range p.Lamps {
		f.fillRow(rowName("c", i), lampPlanForm(b))
	}
	for i, b := range p.Feed {
		f.fillRow(rowName("g", i), feedPlanForm(b))
	}
	f.Values.Set("circuits", strconv.Itoa(len(p.Lamps)))
	f.Values.Set("groups", strconv.Itoa(len(p.Feed)))
	return f
}

func rowName(kind string, i int) string { return kind + strconv.Itoa(i+1) + "_" }

// fillRow takes over the fields of a form of its own, each under the row's prefix.
func (f *form) fillRow(prefix string, row *form) {
	for name, values := range row.Values {
		f.Values[prefix+name] = values
	}
}

// row is the part of a form whose fields bear a prefix, as a form of its own.
func (f *form) row(prefix string) *form {
	out := blank()
	for name, values := range f.Values {
		if own, ok := strings.CutPrefix(name, prefix); ok {
			out.Values[own] = values
		}
	}
	return out
}

// wrongIn notes what is wrong in a row.
func (f *form) wrongIn(prefix string, row *form) {
	for _, e := range row.Errors {
		f.wrong(prefix+e.Field, "%s", e.Message)
	}
}

// feedPlanForm fills a group's fields in with its plan.
func feedPlanForm(b *aviary.FeedPlanned) *form {
	f := blank("name", b.Name)
	for _, id := range b.Places {
		f.Values.Add("places", id.String())
	}
	f.Values["banks"], f.Values["species"] = slices.Clone(b.Banks), slices.Clone(b.Species)
	for name, day := range map[string]aviary.Date{"preparation": b.Preparation, "conditioning": b.Conditioning, "moult": b.Moult, "rest": b.Rest} {
		if day != 0 {
			f.Values.Set(name, day.String())
		}
	}
	return f
}

// feedPlanOf reads a group's fields.
func feedPlanOf(f *form) *aviary.FeedPlanned {
	body := &aviary.FeedPlanned{
		Name: f.text("name"), Places: f.ids("places"), Banks: f.words("banks"),
		Preparation: f.date("preparation"), Conditioning: f.date("conditioning"), Moult: f.date("moult"), Rest: f.date("rest"),
	}
	for _, name := range f.words("species") {
		sp, err := species.Find(name)
		if err != nil {
			f.wrong("species", "%v", err)
			continue
		}
		body.Species = append(body.Species, sp.Slug)
	}
	return body
}

// rows is how many rows of a kind the form has.
func (f *form) rows(name string) int { return min(max(f.int(name), 0), mostRows) }

// planRead is a form of a season, read.
type planRead struct {
	advice.SeasonPlan
	lamps, feed []string // prefix of each row
}

// seasonPlanOf reads the rows that are not left out.
func seasonPlanOf(f *form, askPlace bool) planRead {
	var p planRead
	for i := range f.rows("circuits") {
		prefix := rowName("c", i)
		row := f.row(prefix)
		if row.tick("off") {
			continue
		}
		b := lampPlanOf(row)
		if slices.ContainsFunc(p.Lamps, func(x *aviary.LampPlanned) bool { return strings.EqualFold(x.Circuit, b.Circuit) }) {
			row.wrong("circuit", "two rows are for the same lamps; leave one out, or name their circuits")
		}
		f.wrongIn(prefix, row)
		p.Lamps, p.lamps = append(p.Lamps, b), append(p.lamps, prefix)
	}
	for i := range f.rows("groups") {
		prefix := rowName("g", i)
		row := f.row(prefix)
		if row.tick("off") {
			continue
		}
		b := feedPlanOf(row)
		if slices.ContainsFunc(p.Feed, func(x *aviary.FeedPlanned) bool { return strings.EqualFold(x.Name, b.Name) }) {
			row.wrong("name", "two groups bear the same name; call one of them something else, or leave it out")
		}
		f.wrongIn(prefix, row)
		p.Feed, p.feed = append(p.Feed, b), append(p.feed, prefix)
	}
	if askPlace {
		p.Place = standsOf(f)
	}
	return p
}

// standsOf reads where the room stands; nil when that was left open.
func standsOf(f *form) *aviary.RoomSet {
	lat, lon := f.degrees("latitude", "N", "S"), f.degrees("longitude", "E", "W")
	switch {
	case lat == nil && lon == nil:
		return nil
	case lat == nil && f.Error("latitude") == "":
		f.wrong("latitude", "give both latitude and longitude, or neither")
	case lon == nil && f.Error("longitude") == "":
		f.wrong("longitude", "give both latitude and longitude, or neither")
	}
	b := &aviary.RoomSet{Latitude: lat, Longitude: lon}
	if zone := f.text("zone"); zone != "" && zone != f.text("zone_was") {
		b.Zone = &zone
	}
	return b
}

// seasonPlanSend shows the season as it would be, and writes it once it was shown as it stands. Every plan that is not in the
// books already becomes an entry; all of them are one batch.
func (s *server) seasonPlanSend(v *visit, past *advice.Past) error {
	f := v.form()
	switch f.text("do") {
	case "circuit", "group":
		return addPlanRow(v, f)
	}
	again := func(v *visit, f *form) error { return seasonPlanPageOf(v, f, nil, nil) }
	ask := false
	v.room(func(r *aviary.Room, _ *species.Catalogue) {
		// The same form once more asks what it asked before.
		ask = !placeKnown(r.Settings(v.today)) || f.Values.Has("latitude") && r.Entry(v.once) != nil
	})
	p := seasonPlanOf(f, ask)
	if f.err() == nil && len(p.Lamps)+len(p.Feed) == 0 {
		f.wrong("", "every row is left out, so there is nothing to plan")
	}
	if err := f.err(); err != nil {
		return v.retry(f, err, again)
	}
	entries, fresh := seasonEntries(v, f, p)
	if err := f.err(); err != nil {
		return v.retry(f, err, again)
	}
	seen, err := seenBodies(entries)
	if err != nil {
		return err
	}
	if f.text("do") != "write" || f.Values.Get("seen") != seen {
		f.Values.Set("seen", seen)
		return seasonPlanPageOf(v, f, &p, past)
	}
	v.say("Season planned: %s", planSaid(fresh))
	if err := v.save(f, entries...); err != nil {
		return v.retry(f, err, again)
	}
	return v.see(seasonOfPlan(v, fresh))
}

// seasonOfPlan is the page of the season in which a plan begins.
func seasonOfPlan(v *visit, p advice.SeasonPlan) string {
	var days []aviary.Date
	for _, b := range p.Lamps {
		days = append(days, b.RampFrom)
	}
	for _, b := range p.Feed {
		days = append(days, firstDay(&aviary.FeedPlan{FeedPlanned: *b}))
	}
	day := slices.Min(days)
	to := "/season"
	v.desk(func(d *advice.Desk) {
		if !d.SeasonOn(d.Today).Contains(day) {
			to += "?season=" + day.String()
		}
	})
	return to
}

// planSaid says what was planned: "lamps, 2 groups".
func planSaid(p advice.SeasonPlan) string {
	var parts []string
	if n := len(p.Lamps); n == 1 {
		parts = append(parts, "lamps "+advice.Days(p.Lamps[0].RampFrom, p.Lamps[0].RestBy))
	} else if n > 1 {
		parts = append(parts, count(n, "circuit", "circuits")+" of lamps")
	}
	if n := len(p.Feed); n > 0 {
		parts = append(parts, "food for "+count(n, "group", "groups"))
	}
	if p.Place != nil {
		parts = append(parts, "where the room stands")
	}
	return strings.Join(parts, ", ")
}

// seenBodies is the sum of the entries as they would be written, for telling a form that was changed since its preview.
func seenBodies(entries []*aviary.Entry) (string, error) {
	h := sha256.New()
	for _, e := range entries {
		body, err := aviary.EncodeBody(e.Body)
		if err != nil {
			return "", err
		}
		fmt.Fprintf(h, "%s %s\n", e.Body.Kind(), body)
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

// seasonEntries makes the entries of what is not in the books yet, and notes in the form what they would be refused for.
func seasonEntries(v *visit, f *form, p planRead) (entries []*aviary.Entry, fresh advice.SeasonPlan) {
	v.desk(func(d *advice.Desk) {
		fresh = d.Unwritten(p.SeasonPlan)
		if old := d.Room.Entry(v.once); old != nil { // the same form once more: as it was written
			fresh = p.SeasonPlan
		}
		if len(fresh.Lamps)+len(fresh.Feed) == 0 {
			f.wrong("", "these plans stand in the books already, so there is nothing to write; change something, or strike the old ones out first")
			return
		}
		x := d.If(nil, nil, p.Place)
		door := func(prefix string, body aviary.Body) bool {
			e := v.entry(body)
			entries = append(entries, e)
			if d.Room.Entry(e.ID) != nil {
				return true
			}
			asked := *e
			asked.Kind, asked.Version, asked.By, asked.Written = body.Kind(), 1, v.who.By, v.now
			var refused *aviary.Error
			if errors.As(d.Room.Check(&asked, v.today), &refused) {
				f.wrong(prefix+refused.Field, "%s", refused.Message)
				return false
			}
			return true
		}
		if p.Place != nil {
			door("", p.Place)
		}
		for i, b := range p.Lamps {
			if !slices.Contains(fresh.Lamps, b) || !door(p.lamps[i], b) {
				continue
			}
			for _, e := range x.LampPlanFaults(b) {
				f.wrong(p.lamps[i]+e.Field, "%s", e.Message)
			}
		}
		for i, b := range p.Feed {
			if !slices.Contains(fresh.Feed, b) || !door(p.feed[i], b) {
				continue
			}
			for _, e := range d.FeedPlanFaults(b) {
				f.wrong(p.feed[i]+e.Field, "%s", e.Message)
			}
		}
	})
	return entries, fresh
}

// addPlanRow shows the form with one row more.
func addPlanRow(v *visit, f *form) error {
	kind, what := "c", "circuits"
	if f.text("do") == "group" {
		kind, what = "g", "groups"
	}
	n := f.rows(what)
	if n == mostRows {
		f.wrong("", "the form takes %d %s at the most; write these first", mostRows, what)
		return v.retry(f, f.err(), func(v *visit, f *form) error { return seasonPlanPageOf(v, f, nil, nil) })
	}
	v.desk(func(d *advice.Desk) {
		if kind == "c" {
			f.fillRow(rowName(kind, n), lampPlanForm(d.ProposedLamps()))
		} else {
			f.fillRow(rowName(kind, n), feedPlanForm(d.ProposedFeed()))
		}
	})
	f.Values.Set(what, strconv.Itoa(n+1))
	f.Values.Del("seen")
	return seasonPlanPageOf(v, f, nil, nil)
}

func placeKnown(set aviary.Settings) bool { return set.Latitude != nil && set.Longitude != nil }

// seasonPlanPageOf shows the form, and with a plan the season as it would be.
func seasonPlanPageOf(v *visit, f *form, plan *planRead, past *advice.Past) error {
	p := &seasonPlanPage{layout: layout{
		Headline: "Plan a season: when it starts, peaks and ends", Sub: "Lamps and food in one go. You see the year as it would be before anything is written.",
		Title: "Plan a season", Tab: "season", Class: "page wide", Form: f,
	}}
	if years := f.int("copied"); years > 0 {
		p.Headline = "Last season, a year later"
		if years > 1 {
			p.Headline = fmt.Sprintf("Last season, %d years later", years)
		}
		p.Copied = "All dates stand as they were, moved on. 29 February becomes 1 March where the year has none. Look them through, change what should change, and preview."
	}
	if f.tick("proposed") {
		p.Basis = advice.ProposedWords
	}
	v.desk(func(d *advice.Desk) {
		set := d.Room.Settings(d.Today)
		if p.AskPlace = !placeKnown(set); !p.AskPlace {
			p.Stands = fmt.Sprintf("%s, %s", angle(*set.Latitude, "N", "S"), angle(*set.Longitude, "E", "W"))
			if set.Zone != "" {
				p.Stands += ", " + set.Zone
			}
		} else if !f.Values.Has("zone") {
			f.Values.Set("zone", set.Zone)
			f.Values.Set("zone_was", set.Zone)
		}
		p.fillRows(d, f)
		if plan != nil {
			p.Seen = f.Values.Get("seen")
			p.Preview = previewSeason(d, plan.SeasonPlan, past)
			p.Headline, p.Sub = "The season as it would be", "Nothing is written yet."
		}
	})
	return v.render("season_plan", p)
}

// angle writes degrees as people do: "53.3° N".
func angle(x float64, plus, minus string) string {
	if x < 0 {
		x, plus = -x, minus
	}
	return strconv.FormatFloat(x, 'f', -1, 64) + "° " + plus
}

// fillRows lays out the rows of the form.
func (p *seasonPlanPage) fillRows(d *advice.Desk, f *form) {
	var banks, kinds []option
	kept := d.Kept()
	for _, x := range d.Room.Places() {
		if x.Bank != "" && !slices.ContainsFunc(banks, func(o option) bool { return o.Value == x.Bank }) {
			banks = append(banks, option{Value: x.Bank, Label: x.Bank})
		}
	}
	named := func(prefix string) []option {
		var out []option
		for _, id := range f.Values[prefix+"places"] {
			for _, x := range d.Room.EveryPlace() {
				if x.ID.String() == id {
					out = append(out, option{Value: id, Label: x.Name})
				}
			}
		}
		return out
	}
	for _, sp := range d.Cat.All() {
		used := kept[sp.Slug]
		for i := range f.rows("groups") {
			used = used || f.Has(rowName("g", i)+"species", sp.Slug)
		}
		if used {
			kinds = append(kinds, option{Value: sp.Slug, Label: sp.English})
		}
	}
	folded := []string{"circuit", "banks", "places", "dusk_minutes", "moves", "clock_changes", "windows", "from_real"}
	for i := range f.rows("circuits") {
		r := &planRow{f: f, Prefix: rowName("c", i), Banks: banks, Moves: lampMoves, Clocks: lampClocks, Windows: lampWindows}
		r.Places = named(r.Prefix)
		if r.Title = f.Value(r.Prefix + "circuit"); r.Title == "" {
			r.Title = "Whole room"
		}
		for _, name := range folded {
			r.Open = r.Open || f.Error(r.Prefix+name) != ""
		}
		p.Circuits = append(p.Circuits, r)
	}
	for i := range f.rows("groups") {
		r := &planRow{f: f, Prefix: rowName("g", i), Banks: banks, Species: kinds}
		r.Places = named(r.Prefix)
		if r.Title = f.Value(r.Prefix + "name"); r.Title == "" {
			r.Title = "Whole room"
		}
		for _, name := range []string{"banks", "species", "places"} {
			r.Open = r.Open || f.Error(r.Prefix+name) != ""
		}
		p.Groups = append(p.Groups, r)
	}
}

// previewSeason draws the season as it would be.
func previewSeason(d *advice.Desk, plan advice.SeasonPlan, past *advice.Past) *seasonPreview {
	x := d.PreviewSeason(plan, past)
	fresh := d.Unwritten(plan)
	p := &seasonPreview{Minds: x.Minds, Writes: planSaid(fresh)}
	var page seasonPage
	page.picture(d, x.Season, "")
	p.Picture, p.Keys = page.Picture, page.Keys
	for i, c := range x.Circuits {
		v := circuitPreview{lampSheet: sheetOf(c), Name: c.Label(), Headline: previewHeadline(c), Lines: previewLines(d, c)}
		if i > 0 {
			year := yearView(x.Season.From, x.Season.To, d.Today, x.Light[i], nil)
			year.Label = fmt.Sprintf("Lamp hours of %s as planned", c.Label())
			v.Picture = look.Lanes(year)
		}
		if !slices.Contains(fresh.Lamps, plan.Lamps[i]) {
			p.Stands = append(p.Stands, "lamps of "+c.Label())
		}
		p.Circuits = append(p.Circuits, v)
	}
	for _, b := range plan.Feed {
		name := b.Name
		if name == "" {
			name = "Whole room"
		}
		if !slices.Contains(fresh.Feed, b) {
			p.Stands = append(p.Stands, "food of "+name)
		}
		for _, day := range []struct {
			what string
			day  aviary.Date
		}{{"preparation", b.Preparation}, {"sprouted seed", b.Conditioning}, {"moult", b.Moult}, {"rest", b.Rest}} {
			if day.day != 0 {
				p.Groups = append(p.Groups, seasonFeedRow{Group: name, Phase: day.what, From: weekdayLong(day.day)})
			}
		}
	}
	return p
}

// weekdayLong writes a day with its weekday: "Sat 1 Aug 2026".
func weekdayLong(day aviary.Date) string { return day.Time().Format("Mon ") + day.Long() }
