package web

import (
	"html"
	"regexp"
	"strings"
	"testing"

	"broodlight/internal/aviary"
)

// fieldsIn reads every field of the season's form as a browser would send it.
func fieldsIn(t *testing.T, page string) []string {
	t.Helper()
	i := strings.Index(page, `id="plan"`)
	if i < 0 {
		t.Fatal("the page has no form of a season")
	}
	var out []string
	for _, m := range regexp.MustCompile(`<input [^>]*>`).FindAllString(page[i:], -1) {
		get := func(name string) string {
			x := regexp.MustCompile(` ` + name + `="([^"]*)"`).FindStringSubmatch(m)
			if x == nil {
				return ""
			}
			return html.UnescapeString(x[1])
		}
		kind, checked := get("type"), strings.Contains(m, " checked")
		if (kind == "checkbox" || kind == "radio") && !checked {
			continue
		}
		out = append(out, get("name"), get("value"))
	}
	return out
}

// planSeason previews a form, and writes it as it was shown.
func (m *testRoom) planSeason(fields []string) answer {
	m.t.Helper()
	shown := m.post("/season/plan", with(fields, "do", "preview")...).wants(200, "The season as it would be", "Nothing is written yet")
	return m.post("/season/plan", with(fieldsIn(m.t, shown.Body.String()), "do", "write")...)
}

func TestSeasonPlan_ProposedPreviewedWrittenAsOneBatch(t *testing.T) {
	m := seasonRoom(t)
	form := m.get("/season/plan").wants(200, "Plan a season", "Common practice, no source", "Lamps: Whole room", "Food: Whole room", "Where the room stands").Body.String()
	for name, want := range map[string]string{
		"c1_ramp_from": "2025-08-01", "c1_full_by": "2025-10-01", "c1_taper_from": "2026-02-01", "c1_rest_by": "2026-04-01", "c1_rest_hours": "9.5", "c1_full_hours": "14",
		"c1_on": "06:00", "g1_preparation": "2025-09-17", "g1_conditioning": "2025-10-01", "g1_moult": "2026-04-01", "g1_rest": "2026-05-27",
	} {
		if got := startValue(form, name); got != want {
			t.Errorf("%s is proposed as %q, want %q", name, got, want)
		}
	}
	fields := with(fieldsIn(t, form), "latitude", "53.3", "longitude", "-6.2", "zone", "Europe/London")
	before := len(m.entries("lamp_planned")) + len(m.entries("feed_planned")) + len(m.entries("room_set"))
	shown := m.post("/season/plan", with(fields, "do", "preview")...).wants(200, "The season as it would be", "Nothing is written yet", "moult", "The timer is touched on", "Write this season").sound()
	if n := len(m.entries("lamp_planned")) + len(m.entries("feed_planned")) + len(m.entries("room_set")); n != before {
		t.Fatalf("a preview wrote %d entries", n-before)
	}
	ready := with(fieldsIn(t, shown.Body.String()), "do", "write")
	// A form that was changed since its preview is shown again, not written.
	m.post("/season/plan", with(ready, "c1_full_hours", "13.5")...).wants(200, "Nothing is written yet")
	m.post("/season/plan", ready...).wants(303)
	m.post("/season/plan", ready...).wants(303) // a double tap
	lamps, food, room := m.entries("lamp_planned"), m.entries("feed_planned"), m.entries("room_set")
	room = room[len(room)-1:]
	if len(lamps) != 1 || len(food) != 1 {
		t.Fatalf("%d lamp plans, %d feed plans, %d places are written", len(lamps), len(food), len(room))
	}
	if lamps[0].Batch != food[0].Batch || lamps[0].Batch != room[0].Batch || lamps[0].Batch == (aviary.ID{}) {
		t.Error("the season is not one batch")
	}
	if b := room[0].Body.(*aviary.RoomSet); *b.Latitude != 53.3 || *b.Longitude != -6.2 || b.Zone == nil || *b.Zone != "Europe/London" {
		t.Errorf("the place is written as %+v", b)
	}
	m.get("/season").wants(200, "lamps planned", "daylight outside", "planned", "Food as a table", "Season planned", "Sprouted seed and egg food")
	// One undo takes all of it back.
	m.post("/strike", "id", lamps[0].Batch.String()).wants(303)
	m.get("/season").wants(200).lacks("Food as a table", "lamps planned", "Copy to next year")
}

// startValue is the value that a field of a page begins with.
func startValue(page, name string) string {
	m := regexp.MustCompile(`name="` + name + `"[^>]* value="([^"]*)"`).FindStringSubmatch(page)
	if m == nil {
		return "(none)"
	}
	return html.UnescapeString(m[1])
}

func TestSeasonPlan_Refusals(t *testing.T) {
	m := seasonRoom(t)
	fields := fieldsIn(t, m.get("/season/plan").Body.String())
	written := func() int {
		return len(m.entries("lamp_planned")) + len(m.entries("feed_planned")) + len(m.entries("room_set"))
	}
	before := written()
	for _, tt := range []struct {
		name   string
		change []string
		want   string
	}{
		{"a ramp too steep for its step", []string{"c1_full_by", "2025-08-20", "c1_from_real", ""}, "One of step, interval or dates must give"},
		{"dates out of order", []string{"c1_taper_from", "2025-09-01"}, "put the four dates in order"},
		{"no hours", []string{"c1_rest_hours", ""}, "Give the lamp hours a day"},
		{"hours in words", []string{"c1_full_hours", "plenty"}, "is not a number"},
		{"no date", []string{"c1_ramp_from", ""}, "Give the first longer day"},
		{"moult before the food", []string{"g1_moult", "2025-09-01"}, "put the days in order"},
		{"rest two years on", []string{"g1_rest", "2027-11-01"}, "a plan is for one season"},
		{"no phase", []string{"g1_preparation", "", "g1_conditioning", "", "g1_moult", "", "g1_rest", ""}, "Give the first day of at least one phase"},
		{"half a place", []string{"latitude", "53.3"}, "Give both latitude and longitude, or neither"},
		{"a place off the globe", []string{"latitude", "153.3", "longitude", "2"}, "153.3"},
		{"a zone that is none", []string{"latitude", "53.3", "longitude", "2", "zone", "Mars/Base"}, "Mars/Base"},
		{"a bank that is none", []string{"g1_banks", "Attic"}, "There is no bank called &#34;Attic&#34;"},
		{"a species that is none", []string{"g1_species", "dodo"}, "dodo"},
		{"everything left out", []string{"c1_off", "yes", "g1_off", "yes"}, "every row is left out"},
		{"rows beyond measure", []string{"circuits", "many"}, "is not a whole number"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			for _, do := range []string{"preview", "write"} {
				got := m.post("/season/plan", with(fields, append(tt.change, "do", do)...)...)
				if got.Code != 422 || !strings.Contains(strings.ToLower(got.Body.String()), strings.ToLower(tt.want)) {
					t.Errorf("%s: status %d, and it does not say %q", do, got.Code, tt.want)
				}
			}
		})
	}
	if n := written() - before; n != 0 {
		t.Errorf("%d entries were written by refused forms", n)
	}
	m.get("/season/plan?next=yes").wants(404, "No season was planned yet")
	m.get("/season?month=2026-13").wants(400, "A month is written as 2026-09")
	m.get("/season?month=2031-01").wants(404, "January 2031 lies outside")
	m.get("/season/print?paper=a5").wants(400, "The sheet is a4 or a3")
}

func TestSeasonPlan_RowsAreAddedNamedAndLeftOut(t *testing.T) {
	m := seasonRoom(t)
	fields := fieldsIn(t, m.get("/season/plan").Body.String())
	two := m.post("/season/plan", with(fields, "do", "group")...).wants(200, `name="groups" value="2"`, `name="g2_conditioning"`).Body.String()
	two = m.post("/season/plan", with(fieldsIn(t, two), "do", "circuit")...).wants(200, `name="circuits" value="2"`).Body.String()
	fields = fieldsIn(t, two)
	m.post("/season/plan", with(fields, "do", "preview")...).wants(422, "Two rows are for the same lamps", "Two groups bear the same name")
	fields = with(fields, "c2_circuit", "Shelf", "c2_banks", "Bay 1", "g2_name", "Zebras", "g2_species", "zebra", "g2_conditioning", "2025-10-15", "g2_preparation", "2025-10-01")
	m.planSeason(fields).wants(303)
	if a, b := m.entries("lamp_planned"), m.entries("feed_planned"); len(a) != 2 || len(b) != 2 {
		t.Fatalf("%d circuits and %d groups are written", len(a), len(b))
	}
	page := m.get("/season").wants(200, "Shelf", "Zebras", `name="lamps"`)
	page.sound()
	m.get("/season?lamps=Shelf").wants(200, "Light as a table: Shelf", `value="Shelf" selected`)
	// Of the same form once more nothing is new; of one row that is changed, that row is.
	again := fieldsIn(t, m.get("/season/plan").wants(200, "Food: Zebras", "Lamps: Shelf").Body.String())
	m.post("/season/plan", with(again, "do", "preview")...).wants(422, "These plans stand in the books already")
	m.planSeason(with(again, "c2_full_hours", "13.5", "c2_circuit", "Shelf")).wants(303)
	if a, b := m.entries("lamp_planned"), m.entries("feed_planned"); len(a) != 3 || len(b) != 2 {
		t.Errorf("after one row was changed %d lamp plans and %d feed plans stand", len(a), len(b))
	}
}

func TestSeasonPlan_CopiedToNextYear(t *testing.T) {
	m := seasonRoom(t)
	m.planSeason(with(fieldsIn(t, m.get("/season/plan").Body.String()), "latitude", "53.3", "longitude", "-6.2")).wants(303)
	page := m.get("/season/plan?next=yes").wants(200, "Last season, a year later", "29 February becomes 1 March").Body.String()
	for name, want := range map[string]string{"c1_ramp_from": "2026-08-01", "c1_rest_by": "2027-04-01", "g1_conditioning": "2026-10-01", "g1_rest": "2027-05-27"} {
		if got := startValue(page, name); got != want {
			t.Errorf("%s is copied as %q, want %q", name, got, want)
		}
	}
	done := m.planSeason(fieldsIn(t, page)).wants(303)
	to := done.Header().Get("Location")
	if to != "/season?season=2026-08-01" {
		t.Errorf("it leads to %q", to)
	}
	m.get(to).wants(200, "The season 2026–27 is planned: full light by 1 Oct 2026, down from 1 Feb 2027", "Lamps planned, 9.5 h to 14 h", "Food as a table").lacks("Pairs of the season").sound()
	// Once more: the same season again, and it is refused.
	page = m.get("/season/plan?next=yes").wants(200).Body.String()
	m.post("/season/plan", with(fieldsIn(t, page), "do", "preview")...).wants(422, "These plans stand in the books already")
	if n := len(m.entries("lamp_planned")); n != 2 {
		t.Errorf("%d lamp plans stand, want 2", n)
	}
	m.get("/season?month=2026-09").wants(200, "September 2026", ">30<", "Month before", "Month after").sound()
}

func TestSeason_MonthByMonth(t *testing.T) {
	m := seasonRoom(t)
	m.get("/season?month=2026-01").wants(200, "January 2026", ">31<", "13 Jan today", `href="/season?month=2025-12"`, `href="/season?month=2026-02"`, "Month after").sound()
	m.get("/season?month=2025-08").wants(200, "August 2025", "Month after").lacks("Month before")
	m.get("/season?month=2026-07").wants(200, "July 2026", "Month before").lacks("Month after")
	m.now = m.now.AddDate(1, 0, 0)
	m.get("/season?month=2025-08").wants(200, "4 weaned in the season 2025–26", "August 2025")
	m.get("/season?month=2026-07").wants(200, `href="/season?month=2026-08"`, `href="/season?month=2026-06&amp;season=2025-08-01"`)
	m.get("/season?season=2025-08-01&month=2026-10").wants(404, "October 2026 lies outside")
}

// A season without a plan has the whole page around it, and says where to plan one.
func TestSeason_WithoutPlansHasItsBeam(t *testing.T) {
	m := wallRoom(t)
	for _, path := range []string{"/season", "/season/print"} {
		m.get(path).wants(200, `class="beam"`, "came to nothing").sound()
	}
	m.get("/season").wants(200, "No lamps are written or planned here, and no feeding", "Plan the season").lacks("Light as a table", "Copy to next year")
}

func TestSeason_OnPaper(t *testing.T) {
	m := seasonRoom(t)
	m.get("/season/print").wants(200, `class="page yearsheet a4"`, "yearpaper", "One sheet of A4", "4 weaned so far", "13 Jan today", "Back to the season").sound()
	m.get("/season/print?paper=a3&month=2026-01&species=zebra").wants(200, `class="page yearsheet a3"`, "On A4 instead", ">31<")
	newRoom(t).get("/season/print").wants(200, "No pair is set up yet").sound()
}

func TestSeasonPlan_IsTheKeepersOwn(t *testing.T) {
	m := roomWith(t, Config{LAN: true})
	m.logIn("Tom", helperPhrase)
	m.get("/season/plan").wants(403)
	m.post("/season/plan", "circuits", "0", "groups", "0").wants(403)
}
