package web

import (
	"net/http"
	"testing"

	"broodlight/internal/aviary"
)

// sproutPlanned is a plan of 100 ml a day at 07:00 in a room of 20 °C, written on a day.
func sproutPlanned(day string) *aviary.Entry {
	ml := 100.0
	return lampEntry(day, &aviary.SproutsPlanned{ServeAt: aviary.ClockOf(7, 0), Celsius: 20, Every: 1, ServeML: &ml, WakeFrom: aviary.ClockOf(6, 0), WakeTo: aviary.ClockOf(22, 0)})
}

// sproutTyped is a plan as typed.
func sproutTyped(change ...string) []string {
	f := []string{"serve", "amount", "serve_ml", "100", "serve_at", "07:00", "celsius", "20", "every_days", "1", "wake_from", "06:00", "wake_to", "22:00", "dry_ml", "", "do", "write"}
	for i := 0; i+1 < len(change); i += 2 {
		for j := 0; j < len(f); j += 2 {
			if f[j] == change[i] {
				f[j+1] = change[i+1]
			}
		}
	}
	return append(f, "once", newID().String())
}

func TestSprouting_SaysWhatIsNext(t *testing.T) {
	for name, x := range map[string]struct {
		entries []*aviary.Entry
		wants   []string
	}{
		"no plan": {nil, []string{"No seed is sprouted yet", "Plan it once", "Sprouted seed can make birds and people ill", "Salmonella", "No germination test is written yet"}},
		"a plan": {[]*aviary.Entry{sproutPlanned("2026-01-05")}, []string{
			"07:00: rinse, smell and give 100 ml from jar", "Today, 13 Jan", "Tomorrow, 14 Jan", "of dry seed in jar", "It gives 100 ml.", "Take out of the cages",
			"Jars in turn", "68 ml for 100 ml sprouted (0.68 dry for 1; 48 g as white millet)", "20 °C, as the plan has it", "8–12 h in cold water", "4 h after it was given", "From memory",
		}},
		"stopped":       {[]*aviary.Entry{sproutPlanned("2025-12-05"), lampEntry("2025-12-20", &aviary.SproutsPlanned{Stop: true})}, []string{"No seed is sprouted since 20 Dec 2025"}},
		"nothing asked": {[]*aviary.Entry{lampEntry("2026-01-05", &aviary.SproutsPlanned{ServeAt: aviary.ClockOf(7, 0), Celsius: 20, Every: 1})}, []string{"No jar is due in the next days", "The plan waits"}},
		"too cold":      {[]*aviary.Entry{lampEntry("2026-01-05", &aviary.SproutsPlanned{ServeAt: aviary.ClockOf(7, 0), Celsius: 9, Every: 1})}, []string{"The jars cannot be laid out by this plan", "chits too slowly"}},
	} {
		t.Run(name, func(t *testing.T) { newRoom(t, x.entries...).get("/food/sprouting").wants(200, x.wants...).sound() })
	}
}

func TestSprouting_IsTriedAndWritten(t *testing.T) {
	m := newRoom(t)
	m.post("/food/sprouting", sproutTyped("do", "try")...).wants(200, "Tried: ", "Nothing is written yet", "soak 68 ml of dry seed in jar 1", "100 ml given").lacks("Stop sprouting").sound()
	if n := len(m.entries("sprouts_planned")); n != 0 {
		t.Fatalf("%d plans are written by trying", n)
	}
	m.post("/food/sprouting", sproutTyped("serve", "phases", "serve_ml", "", "dry_ml", "0,6")...).wants(http.StatusSeeOther)
	list := m.entries("sprouts_planned")
	if len(list) != 1 {
		t.Fatalf("%d plans", len(list))
	}
	b := list[0].Body.(*aviary.SproutsPlanned)
	if b.ServeML != nil || b.DryML == nil || *b.DryML != 0.6 || b.Celsius != 20 || b.Every != 1 || b.WakeTo != aviary.ClockOf(22, 0) {
		t.Errorf("%+v", b)
	}
	m.get("/food/sprouting").wants(200, "It holds since 13 Jan 2026", `value="0.6"`, "Stop sprouting").sound()
	m.post("/food/sprouting/stop", "once", newID().String()).wants(http.StatusSeeOther)
	m.get("/food/sprouting").wants(200, "No seed is sprouted since 13 Jan 2026")
}

// TestSprouting_InTheKeepersUnits: two teaspoons are 10 ml, 68 °F are 20 °C.
func TestSprouting_InTheKeepersUnits(t *testing.T) {
	text := func(s string) *string { return &s }
	m := newRoom(t, lampEntry("2025-06-01", &aviary.RoomSet{Volume: text("tsp"), Warmth: text("F")}))
	m.get("/food/sprouting").wants(200, `value="68"`, "°F", "tsp")
	m.post("/food/sprouting", sproutTyped("serve_ml", "2", "celsius", "68")...).wants(http.StatusSeeOther)
	b := m.entries("sprouts_planned")[0].Body.(*aviary.SproutsPlanned)
	if *b.ServeML != 10 || b.Celsius != 20 {
		t.Errorf("%v ml at %v °C", *b.ServeML, b.Celsius)
	}
	m.get("/food/sprouting").wants(200, "2 teaspoons", "68 °F").sound()
}

func TestSprouting_Refuses(t *testing.T) {
	m := newRoom(t)
	for name, x := range map[string]struct{ field, value, says string }{
		"no time":     {"serve_at", "", "Say at what time of day"},
		"cold":        {"celsius", "9", "chits too slowly"},
		"hot":         {"celsius", "41", "spoils"},
		"no warmth":   {"celsius", "", "Give the temperature"},
		"a word":      {"celsius", "warm", "is not a number"},
		"nothing":     {"serve_ml", "0", "Give how much is served"},
		"empty":       {"serve_ml", "", "Give how much is served"},
		"five days":   {"every_days", "5", "outside 1 to 4"},
		"one hour":    {"wake_to", "", "both times"},
		"to bed":      {"wake_to", "05:00", "You cannot be up"},
		"more dry":    {"dry_ml", "1.5", "swells"},
		"no amount":   {"serve", "some", "not among the choices"},
		"huge number": {"serve_ml", "1e300", "20000"},
	} {
		t.Run(name, func(t *testing.T) {
			for _, do := range []string{"write", "try"} {
				m.post("/food/sprouting", sproutTyped(x.field, x.value, "do", do)...).wants(http.StatusUnprocessableEntity, x.says).sound()
			}
		})
	}
	if n := len(m.entries("sprouts_planned")); n != 0 {
		t.Errorf("%d plans are written", n)
	}
}

func TestGermination_IsJudgedAndKept(t *testing.T) {
	m := newRoom(t)
	test := func(food, seeds, sprouted string) answer {
		return m.post("/food/sprouting/test", "food", food, "seeds", seeds, "sprouted", sprouted, "day", "2026-01-12", "once", newID().String())
	}
	test("millet, new bag", "100", "91").wants(http.StatusSeeOther)
	test("millet, old bag", "50", "33").wants(http.StatusSeeOther)
	m.get("/food/sprouting").wants(200, "good to sprout", "91 in 100, 87–94 (8 in 10)", "do not sprout it", "Fewer than 80 in 100", "2 tests so far").lacks("No seed that was tested").sound()
	for _, x := range [][4]string{
		{"", "100", "91", "Say which seed"},
		{"millet", "", "91", "how many seeds were laid out"},
		{"millet", "0", "0", "outside 1 to 10000"},
		{"millet", "100", "", "how many sprouted"},
		{"millet", "100", "120", "cannot have sprouted"},
		{"millet", "many", "2", "not a whole number"},
	} {
		test(x[0], x[1], x[2]).wants(http.StatusUnprocessableEntity, x[3]).sound()
	}
	m.post("/food/sprouting/test", "food", "millet", "seeds", "100", "sprouted", "90", "day", "2026-01-20", "once", newID().String()).wants(http.StatusUnprocessableEntity)
	if n := len(m.entries("germination_tested")); n != 2 {
		t.Errorf("%d tests are written", n)
	}
}

func TestSprouting_AHelperCountsAndDoesNotPlan(t *testing.T) {
	m := roomWith(t, Config{LAN: true}, sproutPlanned("2026-01-05"))
	m.logIn("Tom", helperPhrase)
	m.get("/food/sprouting").wants(200, "give 100 ml from jar", "Save the test").lacks("Change the plan", "Stop sprouting")
	m.post("/food/sprouting", sproutTyped()...).wants(http.StatusForbidden)
	m.post("/food/sprouting/stop", "once", newID().String()).wants(http.StatusForbidden)
	m.post("/food/sprouting/test", "food", "millet", "seeds", "100", "sprouted", "90", "once", newID().String()).wants(http.StatusSeeOther)
}
