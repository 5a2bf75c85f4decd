package web

import (
	"context"
	"html"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"broodlight/internal/aviary"
	"broodlight/internal/journal"
	"broodlight/internal/species"
)

func TestSettings_RoomIsSetAndOnlyWhatChanged(t *testing.T) {
	m := newRoom(t)
	m.get("/settings/room").wants(200, `name="season_start_day"`, `value="2026-01-13"`)
	m.post("/settings/room", "name", "Back room", "zone", "Australia/Adelaide", "latitude", "34,9 S", "longitude", "138.6",
		"season_start_day", "1", "season_start_month", "08", "lull_from_day", "15", "lull_from_month", "05", "lull_to_day", "1", "lull_to_month", "07").wants(303)
	m.book.View(func(r *aviary.Room) {
		s := r.Settings(aviary.MustDate("2026-01-14"))
		if s.Name != "Back room" || s.Zone != "Australia/Adelaide" || s.SeasonStart != "08-01" || s.LullFrom != "05-15" || s.LullTo != "07-01" || *s.Latitude != -34.9 || *s.Longitude != 138.6 {
			t.Errorf("the room is set to %+v", s)
		}
	})
	// The same once more changes nothing and writes nothing.
	form := m.get("/settings/room").wants(200, `value="Back room"`, `value="-34.9"`, `value="15"`)
	form.sound()
	m.post("/settings/room", "name", "Back room", "zone", "Australia/Adelaide", "latitude", "-34.9", "longitude", "138.6",
		"season_start_day", "1", "season_start_month", "08", "lull_from_day", "15", "lull_from_month", "05", "lull_to_day", "1", "lull_to_month", "07").wants(303)
	if n := len(m.entries("room_set")); n != 1 {
		t.Errorf("%d settings are written, want 1", n)
	}
	for name, tt := range map[string]struct {
		pairs []string
		says  string
	}{
		"a zone that is none":     {[]string{"zone", "Mars/Olympus"}, "There is no time zone called &#34;Mars/Olympus&#34;"},
		"a day that is none":      {[]string{"season_start_day", "31", "season_start_month", "02"}, "Give the day and the month, such as 1 August"},
		"half a rest":             {[]string{"lull_from_day", "1", "lull_from_month", "02"}, "Give both ends of the rest, or neither"},
		"a latitude in words":     {[]string{"latitude", "south"}, "is not a number of degrees"},
		"a latitude off the pole": {[]string{"latitude", "95"}, "95"},
		"a day to come":           {[]string{"name", "X", "day", "2026-02-01"}, "has not come yet"},
	} {
		t.Run(name, func(t *testing.T) {
			a := m.post("/settings/room", tt.pairs...)
			a.t = t
			a.wants(422, tt.says, "Nothing is saved yet").sound()
		})
	}
}

func TestSettings_UnitsTurnFiguresBothWays(t *testing.T) {
	m := newRoom(t)
	m.post("/settings/units", "mass_unit", "oz", "length_unit", "in", "volume_unit", "tsp", "temperature_unit", "F").wants(303)
	m.post("/settings/units", "mass_unit", "stone").wants(422, "stone")
	var u units
	m.book.View(func(r *aviary.Room) { u = unitsOf(r.Settings(aviary.MustDate("2026-01-14"))) })
	// NIST Special Publication 811, appendix B.8: 1 oz (avoirdupois) = 28.34952 g, 1 in = 25.4 mm, 1 fl oz (US) = 29.57353 ml;
	// and t/°F = 1.8 t/°C + 32.
	for _, tt := range []struct{ got, want string }{
		{u.Mass(28.34952), "1 oz"},
		{u.Length(25.4), "1 in"},
		{u.Volume(5), "1 tsp"},
		{u.Warmth(20), "68 °F"},
		{units{"g", "oz", "mm", "C"}.Volume(29.57353), "1 fl oz"},
		{units{"g", "ml", "mm", "C"}.Mass(15.24), "15.2 g"},
		{units{"g", "ml", "mm", "C"}.Warmth(-2.04), "-2 °C"},
	} {
		if tt.got != tt.want {
			t.Errorf("got %q, want %q", tt.got, tt.want)
		}
	}
	if g := blank("grams", "0.54").massp("grams", u); g == nil || *g != 15.31 { // 0.54 × 28.349523
		t.Errorf("0.54 oz is read as %v g", g)
	}
	// A species' value: shown in ounces, an own one typed in ounces and kept in grams.
	m.get("/settings/species/zebra").wants(200, " oz").sound()
	m.post("/settings/species/zebra", "parameter", "adult_mass", "low", "0.4", "typical", "0.5", "high", "0.6").wants(303)
	m.book.View(func(r *aviary.Room) {
		if got := r.Whole().Own["zebra"]["adult_mass"]; *got.Typical != 0.5*gramsPerOunce {
			t.Errorf("kept as %v g", *got.Typical)
		}
	})
	m.get("/settings/species/zebra").wants(200, "0.5 (0.4–0.6) oz")
}

func TestSettings_LampsAreWrittenAndStruck(t *testing.T) {
	m := newRoom(t)
	m.get("/settings/lamps").wants(200, "No lamp times are written yet")
	m.post("/settings/lamps", "on", "06:00", "off", "20:00", "dusk_minutes", "30", "day", "2026-01-10").wants(303)
	m.post("/settings/lamps", "circuit", "Top row", "on", "05:30", "off", "20:00").wants(303)
	m.get("/settings/lamps").wants(200, "Lamps 05:30–20:00, 14 h 30 min on the circuit that burns longest", "Whole room", "dims for the last 30 min", "Top row")
	m.post("/strike", "id", m.entries("lamp_set")[1].ID.String(), "back", "/settings/lamps").wants(303)
	m.get("/settings/lamps").wants(200, "<h1>Lamps 06:00–20:00, 14 h</h1>")
	m.post("/settings/lamps", "on", "06:00").wants(422, "for on and for off")
	m.post("/settings/lamps", "on", "06:00", "off", "06:00").wants(422, "no light or no night")
	m.post("/settings/lamps", "on", "25:00", "off", "06:00").wants(422, "is not a time of day")
	m.post("/settings/lamps", "on", "06:00", "off", "07:00", "dusk_minutes", "90").wants(422, "burn for 1 h only").sound()
}

func TestTheme_FollowsTheLampsUntilTheButton(t *testing.T) {
	m := newRoom(t)
	m.get("/more").wants(200, `<html lang="en">`)
	m.post("/settings/lamps", "on", "06:00", "off", "20:00", "day", "2026-01-10").wants(303)
	m.get("/more").wants(200, `data-theme="light"`)
	m.now = m.now.Add(-2 * 3600e9) // 04:48, before the lamps
	m.get("/more").wants(200, `data-theme="off"`)
	m.post("/theme", "theme", "light", "back", "/more").wants(303)
	m.get("/more").wants(200, `data-theme="light"`)
	m.post("/theme", "theme", "auto").wants(303)
	m.get("/more").wants(200, `data-theme="off"`)
	m.post("/theme", "theme", "pink").wants(303)
	m.get("/more").wants(200, `data-theme="off"`)
}

func TestSettings_SpeciesValueOfOneself(t *testing.T) {
	m := newRoom(t)
	m.get("/settings/species").wants(200, "Zebra finch", "3 (2–3) clutches</span>").sound()
	m.get("/settings/species/zebra").wants(200, "no own values yet", "From: ").sound()
	m.get("/settings/species/dybowski").wants(200, "<b>not known</b>")
	m.get("/settings/species/dodo").wants(404, "no such species")
	m.post("/settings/species/zebra", "parameter", "max_clutches_per_season", "high", "2").wants(303)
	m.get("/settings/species/zebra").wants(200, "1 own value", "In place of: ", "Take own value back")
	m.get("/settings/species").wants(200, "own room", "1 own value")
	m.post("/settings/species/zebra", "parameter", "max_clutches_per_season", "typical", "900").wants(422, "cannot be right", "<details id=\"max_clutches_per_season\" open>", `href="#max_clutches_per_season-typical"`, `id="max_clutches_per_season-typical"`).sound()
	m.post("/settings/species/zebra", "parameter", "max_clutches_per_season", "low", "3", "high", "2").wants(422, "is above the high one")
	m.post("/settings/species/zebra", "parameter", "max_clutches_per_season", "low", "two").wants(422, "&#34;two&#34; is not a number")
	m.post("/settings/species/zebra", "parameter", "max_clutches_per_season").wants(422, "write at least one figure")
	m.post("/settings/species/zebra", "parameter", "wing_span", "low", "3").wants(404)
	m.post("/settings/species/zebra", "parameter", "max_clutches_per_season", "clear", "yes").wants(303)
	m.get("/settings/species/zebra").wants(200, "no own values yet")
	for _, x := range species.All() {
		m.get("/settings/species/"+x.Slug).wants(200, html.EscapeString(x.English)).sound()
	}
}

func TestSettings_RingsOnHand(t *testing.T) {
	m := newRoom(t)
	m.get("/settings/rings").wants(200, "No rings are written down yet", `value="2026"`)
	m.post("/settings/rings", "ring_issuer", "FC", "ring_year", "2026", "from", "001", "to", "060", "size_mm", "2.7", "species", "zebra", "species", "bengalese").wants(303)
	m.get("/settings/rings").wants(200, "60 rings on hand", "FC 26-001 to FC 26-060", "2.7 mm", "Zebra finch, Bengalese").sound()
	m.post("/settings/rings", "from", "60", "to", "1").wants(422, "must not be below the first")
	m.post("/settings/rings", "to", "10").wants(422, "Give the first number")
	m.post("/settings/rings", "from", "1", "to", "9", "species", "dodo").wants(422, "Choose species from the list")
	m.post("/settings/rings", "from", "1", "to", "9", "ring_year", "26").wants(422, "outside 1950").sound()
}

func TestSettings_People(t *testing.T) {
	m := newRoom(t)
	m.get("/settings/people").wants(200, "Only you, on this computer").sound()
	m.post("/settings/people/owner", "owner", "Nora", "owner_passphrase", "short").wants(422, "at least 8").lacks(`value="short"`).sound()
	m.post("/settings/people/owner", "owner", "Nora", "owner_passphrase", keeperPhrase).wants(303)
	m.get("/settings/people").wants(200, "One person may log in", "Nora</b> (you)").sound()
	m.post("/settings/people", "name", "Tom", "role", "helper", "passphrase", "seven77").wants(422, "at least 8 letters").sound()
	m.post("/settings/people", "name", "Tom", "role", "boss", "passphrase", helperPhrase).wants(422, "is not a role")
	m.post("/settings/people", "name", "nora", "role", "keeper", "passphrase", helperPhrase).wants(422, "already")
	m.post("/settings/people", "name", "Tom", "role", "helper", "passphrase", helperPhrase).wants(303)
	people, err := m.book.People(context.Background())
	if err != nil || len(people) != 2 {
		t.Fatalf("people %v, %v", people, err)
	}
	nora, tom := people[0], people[1]
	if _, err := m.book.NewSession(context.Background(), tom.ID); err != nil {
		t.Fatal(err)
	}
	m.get("/settings/people").wants(200, "logged in on 1 phone or computer", "Log out everywhere").sound()
	m.post("/settings/people/" + tom.ID.String() + "/logout").wants(303)
	m.get("/settings/people").wants(200).lacks("logged in on")
	m.post("/settings/people/"+tom.ID.String()+"/passphrase", "new_passphrase", "x").wants(422, "at least 8").sound()
	m.post("/settings/people/"+tom.ID.String()+"/passphrase", "new_passphrase", "other words now").wants(303)
	if ok, err := m.book.CheckPassphrase(context.Background(), tom.ID, "other words now"); !ok || err != nil {
		t.Errorf("the new passphrase does not hold: %v", err)
	}
	m.post("/settings/people/" + nora.ID.String() + "/remove").wants(409) // the last keeper who could let the helper in
	m.get("/settings/people/"+tom.ID.String()+"/remove").wants(200, "Take Tom off the list?").sound()
	m.post("/settings/people/" + tom.ID.String() + "/remove").wants(303)
	m.post("/settings/people/" + tom.ID.String() + "/remove").wants(404)
	m.post("/settings/people/" + nora.ID.String() + "/remove").wants(303)
	m.get("/settings/people").wants(200, "Only you, on this computer", `value="`+DefaultKeeper+`"`)
}

func TestSettings_TheLastKeeperOnANetworkStays(t *testing.T) {
	m := roomWith(t, Config{LAN: true})
	m.logIn("Nora", keeperPhrase)
	people, err := m.book.People(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	m.post("/settings/people/" + people[1].ID.String() + "/remove").wants(303) // Tom
	m.post("/settings/people/"+people[0].ID.String()+"/remove").wants(409, "last keeper")
	m.post("/settings/people/owner", "owner", "X", "owner_passphrase", keeperPhrase).wants(409)
}

func TestSettings_BackupIsMadeAndHandedOver(t *testing.T) {
	m := newRoom(t, smallRoom()...)
	m.get("/settings/backup").wants(200, "No copy has been made here yet", "12 marks")
	m.post("/settings/backup").wants(303)
	const name = "room-2026-01-13-064800.db"
	m.get("/settings/backup").wants(200, "The last copy is of 13 Jan 2026, 06:48", name).sound()
	a := m.get("/settings/backup/" + name)
	if a.Code != 200 || !strings.HasPrefix(a.Body.String(), "SQLite format 3") || !strings.Contains(a.Header().Get("Content-Disposition"), name) {
		t.Errorf("status %d, %q", a.Code, a.Header().Get("Content-Disposition"))
	}
	if r, err := journal.VerifyFile(filepath.Join(m.book.Dir(), backupFolder, name)); err != nil || !r.Good || r.Entries != 12 {
		t.Errorf("the copy: %+v, %v", r, err)
	}
	m.post("/settings/backup").wants(500, "is there already") // within the same second
	if err := os.WriteFile(filepath.Join(m.book.Dir(), backupFolder, "secret.txt"), []byte("x"), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, bad := range []string{"secret.txt", "..%2Froom.db", "room-2026-01-13-064801.db"} {
		m.get("/settings/backup/" + bad).wants(404)
	}
}

func TestSettings_PhonesAreKeptApart(t *testing.T) {
	m := newRoom(t)
	m.post("/settings/phones", "keeper", "041 200 300", "vet", strings.Repeat("1", 61)).wants(422, "At most 60 letters").sound()
	m.post("/settings/phones", "keeper", "041 200 300", "vet", "Dr Fell 041 9").wants(303)
	m.get("/settings/phones").wants(200, `value="Dr Fell 041 9"`).sound()
	m.book.View(func(r *aviary.Room) {
		if r.Len() != 0 {
			t.Error("a number stands in the books")
		}
	})
}

func TestPages_EscapeWhatPeopleType(t *testing.T) {
	const evil = `<img src=x onerror=alert(1)>"'`
	m := newRoom(t)
	m.post("/settings/room", "name", evil).wants(303)
	m.post("/settings/lamps", "circuit", evil, "on", "06:00", "off", "20:00").wants(303)
	m.post("/settings/phones", "vet", evil).wants(303)
	m.post("/settings/people/owner", "owner", evil, "owner_passphrase", keeperPhrase).wants(303)
	for _, path := range []string{"/more", "/settings", "/settings/room", "/settings/lamps", "/settings/phones", "/settings/people"} {
		m.get(path).wants(200).lacks("<img").sound()
	}
	m.post("/settings/room", "zone", evil).wants(422).lacks("<img").sound()
}
