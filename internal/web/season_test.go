package web

import (
	"net/http"
	"strconv"
	"strings"
	"testing"

	"broodlight/internal/aviary"
)

// seasonRoom is the room of the wall's tests with a brood weaned last season and one this season, and a clear clutch.
func seasonRoom(t *testing.T, more ...*aviary.Entry) *testRoom {
	t.Helper()
	last, group := tid(61), tid(62)
	return wallRoom(t, append([]*aviary.Entry{
		on("2025-08-03", &aviary.LampSet{On: aviary.ClockOf(7, 0), Off: aviary.ClockOf(19, 0)}),
		on("2025-12-10", &aviary.LampSet{On: aviary.ClockOf(6, 0), Off: aviary.ClockOf(20, 0)}),
		on("2025-09-01", &aviary.PairSet{Pair: last, Place: wallA2, Cocks: []aviary.ID{wallCock2}, Plan: "<i>line</i>"}),
		on("2025-09-10", &aviary.NestCheck{Place: wallA2, Eggs: some(0), Chicks: some(0)}),
		on("2025-09-12", &aviary.NestCheck{Place: wallA2, Eggs: some(2), Chicks: some(0)}),
		on("2025-09-15", &aviary.NestCheck{Place: wallA2, Eggs: some(5), Chicks: some(0)}),
		on("2025-09-22", &aviary.NestCheck{Place: wallA2, Eggs: some(5), Chicks: some(0), Candled: []string{"fertile", "fertile", "fertile", "fertile", "clear"}}),
		on("2025-09-30", &aviary.NestCheck{Place: wallA2, Eggs: some(1), Chicks: some(4)}),
		on("2025-10-20", &aviary.NestCheck{Place: wallA2, Eggs: some(0), Chicks: some(0), Out: some(4)}),
		on("2025-11-05", &aviary.YoungWeaned{Place: wallA2, Unringed: 4, Group: group, Species: "zebra", To: wallFlight}),
		on("2025-11-20", &aviary.NestCheck{Place: wallA2, Eggs: some(3), Chicks: some(0), NewClutch: true}),
		on("2025-11-30", &aviary.NestCheck{Place: wallA2, Eggs: some(3), Chicks: some(0), Candled: []string{"clear", "clear", "clear"}, Removed: some(3), RemovedWhy: "clear"}),
	}, more...)...)
}

func TestSeason_ShowsCountsLanesAndTable(t *testing.T) {
	m := seasonRoom(t)
	page := m.get("/season").wants(200, "4 weaned so far, in the first season of the books", "So far, by species", "Zebra finch",
		"4 of 8: 50\u2009% (", "4 not known", "nothing to set beside it yet", "The season 2025–26", "13 Jan today", "4 weaned", ">clear<",
		"Lamps 06:00–20:00, 14 h", "The pairs as a table", "Light as a table: Whole room", "3 Aug–9 Dec", "2 pairs, 3 clutches, 12 eggs", "1st clutch", "4 hatched about 2", "clear, 30 Nov", "8 in 10", `class="guess line"`)
	page.lacks("style=", "<script>", "%!", "<i>line")
	if strings.Contains(page.Body.String(), `aria-label="Seasons"`) {
		t.Error("one season alone is offered as a choice")
	}
}

func TestSeason_SwitchFilterSort(t *testing.T) {
	m := seasonRoom(t)
	m.now = m.now.AddDate(1, 0, 0)
	m.get("/season").wants(200, "0 weaned so far, 4 fewer than on this day last season", "2025–26", "2026–27", `href="/season?season=2025-08-01"`)
	m.get("/season?season=2025-08-01").wants(200, "4 weaned in the season 2025–26", "What it came to", `name="season" value="2025-08-01"`)
	m.get("/season?season=2025-08-01&species=zebra&sort=egg").wants(200, "Zebra finch: 4 weaned", `value="zebra" selected`, `value="egg" selected`)
	m.get("/season?bank=Bay+1").wants(200, "Bay 1: ")
	m.get("/season?bank=-").wants(200, "No pair and no clutch fits")
	m.get("/season?bank=%3Cb%3E&species=nobody").wants(200, "Nobody, &lt;b&gt;", "No pair and no clutch fits").lacks("<b>:", "%!")
	m.get("/season?season=1999-01-01").wants(404, "The books do not reach to the season of 1 Jan 1999")
	m.get("/season?season=yesterday").wants(400, "The season is named by a day in it")
}

func TestSeason_EmptyRoomSaysWhatIsNotKnown(t *testing.T) {
	newRoom(t).get("/season").wants(200, "has not begun", "No pair is set up yet", "/pair/new").lacks("<svg class=\"names\"", "%!", "NaN")
	m := newRoom(t, on("2025-12-01", &aviary.PlaceAdded{Place: wallA1, Name: "A1", Type: aviary.Cage}),
		on("2025-12-01", &aviary.BirdAcquired{Bird: wallCock, Species: "zebra", Sex: aviary.Cock, Place: wallA1}),
		on("2025-12-02", &aviary.PairSet{Pair: wallPair, Place: wallA1, Cocks: []aviary.ID{wallCock}, Found: true}))
	m.get("/season").wants(200, "1 pair, no egg yet", "The books begin on 1 Dec 2025; what this season brought until then is not known", "Zebra finch")
}

func TestSeason_FosteredEggsAreMarked(t *testing.T) {
	m := seasonRoom(t, on("2026-01-03", &aviary.NestMoved{Place: wallA1, ToPlace: wallA2, Eggs: 2}))
	m.get("/season").wants(200, "2 to A2", "2 from A1", "2 eggs from A1 3 Jan", "2 eggs to A2 3 Jan", "put in from another nest")
}

// What was drawn before is shown again until something is written, and to each person as his own.
func TestSeason_DrawnAgainWhenAnythingIsWritten(t *testing.T) {
	m := seasonRoom(t)
	first := m.get("/season").wants(200, "12 eggs").Body.String()
	if again := m.get("/season").Body.String(); again != first {
		t.Error("the same page twice differs")
	}
	m.post("/strike", "id", m.entries("nest_check")[0].ID.String()).wants(303)
	m.post("/strike", "id", m.entries("young_weaned")[0].ID.String()).wants(303)
	m.get("/season").wants(200, "hatched so far").lacks("4 weaned so far")
	m.now = m.now.AddDate(0, 0, 1)
	m.get("/season").wants(200, "day 167 of the season", "14 Jan today")
}

func TestSeason_HelperMaySee(t *testing.T) {
	m := roomWith(t, Config{LAN: true})
	m.logIn("Tom", helperPhrase)
	m.get("/season").wants(200, "No pair is set up yet").lacks("/pair/new")
}

// BenchmarkSeason shows the season of a room of 100 cages, ten seasons and 20,000 young. The promise is 95 answers in 100
// under 50 ms. "fresh" is drawn each time as after a mark was saved, with what clutches came to kept.
func BenchmarkSeason(b *testing.B) {
	s := bigRoom(b, 100, 10, 2000)
	b.Run("again", func(b *testing.B) { measure(b, s.h, "/season") })
	b.Run("fresh", func(b *testing.B) {
		n := 0
		measure(b, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			n++
			r.URL.RawQuery = "sort=" + strconv.Itoa(n)
			s.h.ServeHTTP(w, r)
		}), "/season")
	})
}
