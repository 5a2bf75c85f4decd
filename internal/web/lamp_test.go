package web

import (
	"encoding/csv"
	"html"
	"net/http"
	"regexp"
	"strings"
	"testing"

	"broodlight/internal/aviary"
)

// lampRoom is a room of two banks, on 13 Jan 2026.
func lampRoom(t *testing.T, more ...*aviary.Entry) *testRoom {
	t.Helper()
	text := func(s string) *string { return &s }
	lat, lon := 53.3, -6.2
	var list []*aviary.Entry
	for _, b := range []aviary.Body{
		&aviary.RoomSet{Name: text("Back room"), Zone: text("Europe/Dublin"), Latitude: &lat, Longitude: &lon},
		&aviary.PlaceAdded{Place: newID(), Name: "A1", Type: aviary.Cage, Bank: "Bay A", Row: 1, Col: 1},
		&aviary.PlaceAdded{Place: newID(), Name: "B1", Type: aviary.Cage, Bank: "Bay B", Row: 1, Col: 1},
	} {
		list = append(list, &aviary.Entry{ID: newID(), Body: b, Day: aviary.MustDate("2025-06-01")})
	}
	return newRoom(t, append(list, more...)...)
}

func lampEntry(day string, b aviary.Body) *aviary.Entry {
	return &aviary.Entry{ID: newID(), Body: b, Day: aviary.MustDate(day)}
}

// planned is a plan whose step of 13 Jan 2026 raises the lamps from 11 h to 11.5 h.
func planned(circuit string, banks ...string) *aviary.LampPlanned {
	dusk := 30
	return &aviary.LampPlanned{
		Circuit: circuit, Banks: banks, Rest: 9.5, Full: 14, RampFrom: aviary.MustDate("2025-12-23"), FullBy: aviary.MustDate("2026-02-17"),
		TaperFrom: aviary.MustDate("2026-06-01"), RestBy: aviary.MustDate("2026-08-01"), On: aviary.ClockOf(6, 0), Step: 30, Every: 7, Dusk: &dusk,
	}
}

func lampsAt(day string, offH, offM int, circuit string) *aviary.Entry {
	return lampEntry(day, &aviary.LampSet{Circuit: circuit, On: aviary.ClockOf(6, 0), Off: aviary.ClockOf(offH, offM)})
}

// planForm is the trade's example as typed: rest 9.5 h, full 14 h 06:00-20:00 by early October, up from August, down from
// February. Trade practice, no source.
func planForm(change ...string) []string {
	f := []string{
		"circuit", "Bay A", "banks", "Bay A", "rest_hours", "9.5", "full_hours", "14", "ramp_from", "2026-08-01", "full_by", "2026-10-01",
		"taper_from", "2027-02-01", "rest_by", "2027-04-01", "on", "06:00", "step_minutes", "30", "every_days", "7", "moves", "evening",
		"dusk_minutes", "30", "clock_changes", "wall", "windows", "none",
	}
	for i := 0; i+1 < len(change); i += 2 {
		for j := 0; j < len(f); j += 2 {
			if f[j] == change[i] {
				f[j+1] = change[i+1]
				change[i] = ""
			}
		}
		if change[i] != "" {
			f = append(f, change[i], change[i+1])
		}
	}
	return f
}

var seenField = regexp.MustCompile(`name="seen" value="([^"]*)"`)

func TestLamps_HeadlineIsWhatToSet(t *testing.T) {
	for _, x := range []struct {
		name    string
		entries []*aviary.Entry
		want    []string
	}{
		{"nothing", nil, []string{"No lamp hours are planned yet", "Plan the lamps"}},
		{"a step today", []*aviary.Entry{lampEntry("2025-12-01", planned("")), lampsAt("2026-01-06", 17, 0, "")}, []string{"Set the lamps to 06:00–17:30 today", "off 30 min later (was 17:00)", "Set as planned", "Dims from 17:00"}},
		{"two circuits", []*aviary.Entry{lampEntry("2025-12-01", planned("Left", "Bay A")), lampEntry("2025-12-01", planned("Right", "Bay B"))}, []string{"Set 2 timers today: Left 06:00–17:30, Right 06:00–17:30", "Lights Bay A: 1 place."}},
		{"as planned", []*aviary.Entry{lampEntry("2025-12-01", planned("")), lampsAt("2026-01-13", 17, 30, "")}, []string{"Lamps are as planned: 11.5\u00a0h, next change Tue 20 Jan", "As planned."}},
		{"a step was missed", []*aviary.Entry{lampEntry("2025-12-01", planned("")), lampsAt("2025-12-24", 16, 0, "")}, []string{"Set the lamps to 06:00–16:30 today", "one step at a time", "30 Dec: the step from 10 h to 10.5 h is not made yet.", "Off 1 h 30 min earlier than planned: the lamp day is 1 h 30 min shorter."}},
		{"a log and no plan", []*aviary.Entry{lampsAt("2026-01-01", 20, 0, "")}, []string{"No lamp hours are planned for today", "06:00–20:00, 14 h, since 1 Jan 2026"}},
		{"a plan that has no start", []*aviary.Entry{lampEntry("2025-12-01", func() *aviary.LampPlanned { p := planned(""); p.FromReal = true; return p }())}, []string{"The lamp plan cannot be followed", "No lamp setting is logged"}},
	} {
		t.Run(x.name, func(t *testing.T) {
			a := lampRoom(t, x.entries...).get("/lamps")
			a.wants(200, x.want...).sound()
			for _, word := range []string{"required", "needed", "must have"} {
				if strings.Contains(strings.ToLower(a.text()), word) {
					t.Errorf("the page says %q of lamp hours", word)
				}
			}
		})
	}
}

func TestLamps_CautionsCarryTheirSource(t *testing.T) {
	lampRoom(t).get("/lamps").wants(200, "Mains electricity", "licensed electrician", "sudden dark", "Perfito", "common practice, no source")
}

func TestLamps_WithoutAPlaceSaysWhereToGiveIt(t *testing.T) {
	p := planned("")
	p.Windows = "sun"
	m := newRoom(t, append(smallRoom(), lampEntry("2026-01-01", p))...)
	m.get("/lamps").wants(200, "latitude and longitude are not known", `href="/settings/room"`).sound()
	lampRoom(t, lampEntry("2025-12-01", planned(""))).get("/lamps").wants(200, "daylight outside").lacks("latitude and longitude")
}

func TestLamps_SetAsPlanned(t *testing.T) {
	m := lampRoom(t, lampEntry("2025-12-01", planned("Left", "Bay A")), lampsAt("2026-01-06", 17, 0, "Left"))
	once := newID().String()
	form := []string{"once", once, "circuit", "Left", "on", "06:00", "off", "17:30", "dusk_minutes", "30", "back", "/lamps"}
	for range 2 { // a double tap writes once
		if a := m.post("/lamps/set", form...).wants(http.StatusSeeOther); a.to() != "/lamps" {
			t.Errorf("leads to %s", a.to())
		}
	}
	got := m.entries("lamp_set")
	if len(got) != 2 {
		t.Fatalf("%d settings, want 2", len(got))
	}
	b := got[1].Body.(*aviary.LampSet)
	if b.Circuit != "Left" || b.Off != aviary.ClockOf(17, 30) || b.Dusk == nil || *b.Dusk != 30 || got[1].Day.String() != "2026-01-13" {
		t.Errorf("%+v on %s", b, got[1].Day)
	}
	m.get("/lamps").wants(200, "Lamps are as planned", "Left set to 06:00–17:30", "Set today: 06:00–17:30").lacks("Set as planned")
	m.post("/lamps/set", "circuit", "Left", "on", "06:00", "off", "6 pm").wants(422, "is not a time of day")
	if n := len(m.entries("lamp_set")); n != 2 {
		t.Errorf("a refused form wrote: %d settings", n)
	}
}

func TestLampPlan_TradeExampleIsPreviewedThenWritten(t *testing.T) {
	m := lampRoom(t)
	m.get("/lamps/plan?circuit=Bay+A").wants(200, `value="9.5"`, `value="14"`, "2025-08-01", "Single places").sound()
	a := m.post("/lamps/plan", planForm("do", "preview")...).wants(200,
		"Bay A: 14 h of light from 26 Sep to 31 Jan", "Nothing is written yet.", "Lights Bay A: 1 place.",
		"Full light from 26 Sep 2026: 06:00–20:00.", "Rest from 29 Mar 2027: 06:00–15:30, 9.5 h.", "Write this plan").sound()
	if n := len(m.entries("lamp_planned")); n != 0 {
		t.Fatalf("the preview wrote %d plans", n)
	}
	seen := html.UnescapeString(seenField.FindStringSubmatch(a.Body.String())[1])
	// What was changed after the preview is shown once more, not written unseen.
	m.post("/lamps/plan", planForm("do", "write", "seen", seen, "full_hours", "13")...).wants(200, "Bay A: 13 h of light")
	if n := len(m.entries("lamp_planned")); n != 0 {
		t.Fatalf("a plan that was not seen is written")
	}
	if to := m.post("/lamps/plan", planForm("do", "write", "seen", seen)...).wants(http.StatusSeeOther).to(); to != "/lamps" {
		t.Errorf("leads to %s", to)
	}
	b := m.entries("lamp_planned")[0].Body.(*aviary.LampPlanned)
	if b.Full != 14 || b.Rest != 9.5 || b.Step != 30 || b.Every != 7 || len(b.Banks) != 1 || b.FromReal || b.On != aviary.ClockOf(6, 0) {
		t.Errorf("%+v", b)
	}
	m.get("/lamps").wants(200, "up from 1 Aug 2026, full light 14 h by 1 Oct 2026", "Lamps planned: 1 Aug").sound()
	m.get("/lamps/plan?circuit=Bay+A").wants(200, `value="2026-08-01"`, "Plans written so far", "holds")
	m.get("/lamps/plan?circuit=Bay+A&next=yes").wants(200, `value="2027-08-01"`)
}

func TestLampPlan_RefusalsStandBesideTheirFields(t *testing.T) {
	for _, x := range []struct {
		name   string
		change []string
		want   []string
	}{
		{"does not fit", []string{"full_by", "2026-09-01"}, []string{
			`id="step_minutes-err"`, "a step of 54 min fits, 24 min more", `id="every_days-err"`, "a change every 3 days fits, 4 days less",
			`id="full_by-err"`, "Full light by 26 Sep 2026 fits, 25 days later", `id="ramp_from-err"`, "One of step, interval or dates must give",
		}},
		{"no hours", []string{"rest_hours", ""}, []string{`id="rest_hours-err"`, "Give the lamp hours a day"}},
		{"not a number", []string{"full_hours", "long"}, []string{`id="full_hours-err"`, "is not a number"}},
		{"out of order", []string{"taper_from", "2026-09-01"}, []string{`id="taper_from-err"`, "put the four dates in order"}},
		{"rest over full", []string{"rest_hours", "15"}, []string{`id="full_hours-err"`}},
		{"no time", []string{"on", ""}, []string{`id="on-err"`}},
		{"dusk too long", []string{"rest_hours", "1", "dusk_minutes", "90", "every_days", "1", "step_minutes", "60"}, []string{`id="dusk_minutes-err"`}},
		{"no such choice", []string{"windows", "some"}, []string{"is not among the choices"}},
		{"from the real lamps, none written", []string{"from_real", "yes"}, []string{`id="from_real-err"`, "No lamp setting is logged"}},
	} {
		t.Run(x.name, func(t *testing.T) {
			m := lampRoom(t)
			m.post("/lamps/plan", planForm(append(x.change, "do", "write")...)...).wants(422, append(x.want, "Nothing is saved yet")...).sound()
			if n := len(m.entries("lamp_planned")); n != 0 {
				t.Errorf("a refused plan is written")
			}
		})
	}
}

func TestLampReplan_PreviewThenWrite(t *testing.T) {
	m := lampRoom(t, lampEntry("2025-12-01", planned("")), lampsAt("2025-12-24", 16, 0, ""))
	// Eight steps of half an hour from 13 January: full on 3 March, two weeks after 17 February.
	m.get("/lamps/replan").wants(200, "From the lamps as they are: set 06:00–16:30 today", "Full light is reached on 3 Mar, 14 days after the date of the plan.", "Write this plan").sound()
	if n := len(m.entries("lamp_planned")); n != 1 {
		t.Fatal("the preview wrote a plan")
	}
	m.post("/lamps/replan", "circuit", "").wants(http.StatusSeeOther)
	got := m.entries("lamp_planned")
	if len(got) != 2 || !got[1].Body.(*aviary.LampPlanned).FromReal {
		t.Fatalf("%d plans", len(got))
	}
	m.get("/lamps").wants(200, "Set the lamps to 06:00–16:30 today", "goes on from the lamps as they were on 13 Jan 2026").lacks("is not made yet")
	m.get("/lamps/replan?circuit=Attic").wants(404, "no lamps called")
	lampRoom(t, lampEntry("2025-12-01", planned(""))).get("/lamps/replan").wants(400, "No lamp setting is logged")
}

func TestLampLate_AnswersInASentence(t *testing.T) {
	m := lampRoom(t, lampEntry("2025-12-01", planned("")))
	m.get("/lamps/late").wants(200, "Started 3 weeks late", "Starting 21 days late, full light is reached on 10 Mar, 21 days after", "Move the whole season by 3 weeks", "ramp_from=2026-01-13").sound()
	m.get("/lamps/late?weeks=0").wants(200, "full light is still reached in time").sound()
	m.get("/lamps/late?weeks=60").wants(422, `id="weeks-err"`, "must still lie before the taper").sound()
	m.get("/lamps/late?weeks=soon").wants(422, "is not a whole number").sound()
	m.get("/lamps/plan?circuit=&ramp_from=2026-01-13&full_by=2026-03-10&taper_from=2026-06-22&rest_by=2026-08-22").wants(200, `value="2026-06-22"`)
}

func TestLampDays_AsTheCommandPrintsThem(t *testing.T) {
	m := lampRoom(t, lampEntry("2025-12-01", planned("Left", "Bay A")))
	m.get("/lamps/days?circuit=Left").wants(200, "Left, day by day: 23 Dec 2025 to 1 Aug 2026", "11.5 h", "&#43;30 min", "today").sound()
	a := m.get("/lamps/days.csv?circuit=Left").wants(200)
	if got := a.Header().Get("Content-Disposition"); got != `attachment; filename="lamp-days-left-2025-12-23.csv"` {
		t.Error(got)
	}
	rows, err := csv.NewReader(a.Body).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if got := strings.Join(rows[0], ","); got != "date,on,off,lamp_h,daylight_h,seen_h,change,warning" {
		t.Error(got)
	}
	first, last := rows[1], rows[len(rows)-1]
	if first[0] != "2025-12-23" || first[1] != "2025-12-23T06:00:00Z" || first[2] != "2025-12-23T16:00:00Z" || first[3] != "10" || first[6] != "0.5" || last[0] != "2026-08-01" || last[3] != "9.5" {
		t.Errorf("from %v to %v", first, last)
	}
	rows, err = csv.NewReader(m.get("/lamps/timer.csv?circuit=Left").wants(200).Body).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	// Nine steps up, nine down, and one change of the clocks.
	if len(rows) != 1+9+9+1 || rows[0][0] != "date" || rows[1][1] != "Left" {
		t.Errorf("%d rows: %v", len(rows), rows[:2])
	}
	m.get("/lamps/days.csv?circuit=Attic").wants(404)
	bare := lampRoom(t, lampsAt("2026-01-01", 20, 0, ""))
	bare.get("/lamps/days.csv").wants(404, "No plan is written")
	for _, path := range []string{"/lamps/days", "/lamps/late", "/lamps/replan"} {
		if to := bare.get(path).wants(http.StatusSeeOther).to(); to != "/lamps" {
			t.Errorf("%s leads to %s", path, to)
		}
	}
}

func TestLampWait_ButtonWritesTheMovedPlan(t *testing.T) {
	text := func(s string) *string { return &s }
	place, cock, hen := newID(), newID(), newID()
	eggs := 4
	p := planned("")
	p.RampFrom, p.FullBy, p.TaperFrom, p.RestBy = aviary.MustDate("2025-08-01"), aviary.MustDate("2025-10-01"), aviary.MustDate("2026-01-20"), aviary.MustDate("2026-03-20")
	m := newRoom(t,
		lampEntry("2025-06-01", &aviary.RoomSet{Zone: text("Europe/Dublin")}),
		lampEntry("2025-06-01", &aviary.PlaceAdded{Place: place, Name: "A1", Type: aviary.Cage}),
		lampEntry("2025-06-02", &aviary.BirdAcquired{Bird: cock, Species: "zebra", Sex: aviary.Cock, Place: place}),
		lampEntry("2025-06-02", &aviary.BirdAcquired{Bird: hen, Species: "zebra", Sex: aviary.Hen, Place: place}),
		lampEntry("2025-12-01", &aviary.PairSet{Pair: newID(), Place: place, Cocks: []aviary.ID{cock}, Hens: []aviary.ID{hen}}),
		lampEntry("2025-12-01", &aviary.BoxHung{Box: newID(), Place: place}),
		lampEntry("2026-01-06", &aviary.NestCheck{Place: place, Look: "changed", Eggs: &eggs}),
		lampEntry("2025-07-01", p),
	)
	a := m.get("/lamps").wants(200, "when the lamps would start to come down, young may still be fed at A1", "the lamps shorten while").sound()
	taper := regexp.MustCompile(`name="taper_from" value="([^"]*)"`).FindStringSubmatch(a.Body.String())[1]
	m.post("/lamps/wait", "circuit", "", "taper_from", "2026-01-25").wants(409, "nothing was changed")
	if n := len(m.entries("lamp_planned")); n != 1 {
		t.Fatalf("%d plans", n)
	}
	m.post("/lamps/wait", "circuit", "", "taper_from", taper).wants(http.StatusSeeOther)
	b := m.entries("lamp_planned")[1].Body.(*aviary.LampPlanned)
	if b.TaperFrom.String() != taper || b.RestBy-b.TaperFrom != p.RestBy-p.TaperFrom || b.TaperFrom < aviary.MustDate("2026-02-20") {
		t.Errorf("down from %s, rest by %s", b.TaperFrom, b.RestBy)
	}
	m.get("/lamps").wants(200).lacks("young may still be fed", "the lamps shorten while")
}

func TestLamps_AreTheKeepersToChange(t *testing.T) {
	m := roomWith(t, Config{LAN: true}, lampEntry("2025-12-01", planned("")), lampsAt("2026-01-06", 17, 0, ""))
	m.logIn("Tom", helperPhrase)
	m.get("/lamps").wants(200, "Set the lamps to 06:00–17:30 today").lacks("Set as planned", "Change the plan", `href="/settings`)
	m.get("/lamps/days").wants(200)
	m.get("/lamps/plan").wants(403)
	m.post("/lamps/set", "on", "06:00", "off", "17:30").wants(403)
	m.post("/lamps/plan", planForm("do", "write")...).wants(403)
}

func TestSettingsLamps_StartsWithTheCircuitNamed(t *testing.T) {
	m := lampRoom(t, lampEntry("2025-12-01", planned("Left")))
	m.get("/settings/lamps?circuit=Left").wants(200, `value="Left"`, `href="/lamps"`).sound()
}
