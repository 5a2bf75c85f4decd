package web

import (
	"fmt"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
)

// Ids of the room of the round's tests.
var (
	rA1, rA2, rA3, rA4, rA5, rA6, rA7, rFlight = rid(901), rid(902), rid(903), rid(904), rid(905), rid(906), rid(907), rid(910)
	rRoom                                      = []aviary.ID{rA1, rA2, rA3, rA4, rA5, rA6, rA7}
	chick1, chick2                             = rid(951), rid(952)
)

// rid is an id of the round's tests.
func rid(n int) aviary.ID {
	id := tid(0)
	id[1], id[14], id[15] = 9, byte(n>>8), byte(n)
	return id
}

// roundRoom is a bank of seven cages of zebra finches on 13 Jan 2026, each at another stage:
// A1 near hatching, A2 with chicks to be ringed, A3 with young to be parted, A4 with eggs that fell, A5 to be candled,
// A6 with a pair and an empty box, A7 without birds. Lamps burn 06:00–20:00, so lids may be lifted from 07:00.
func roundRoom(t *testing.T, cfg Config, more ...*aviary.Entry) *testRoom {
	t.Helper()
	list := []*aviary.Entry{
		on("2025-08-01", &aviary.RoomSet{Name: some("Back room"), Zone: some("Europe/Dublin"), Latitude: some(53.3), Longitude: some(-6.3)}),
		on("2025-08-01", &aviary.LampSet{On: aviary.ClockOf(6, 0), Off: aviary.ClockOf(20, 0)}),
		on("2025-08-01", &aviary.RingsListed{Issuer: "FC", Year: 2026, From: 19, To: 60, Digits: 3, Size: 2.7, Species: []string{"zebra"}}),
		on("2025-08-01", &aviary.PlaceAdded{Place: rFlight, Name: "Flight 1", Type: aviary.Flight, Capacity: some(30)}),
	}
	add := func(day string, b aviary.Body) { list = append(list, on(day, b)) }
	for i, place := range rRoom {
		name := fmt.Sprintf("A%d", i+1)
		add("2025-08-01", &aviary.PlaceAdded{Place: place, Name: name, Type: aviary.Cage, Bank: "Bay 1", Row: 1, Col: i + 1})
		if place == rA7 {
			continue
		}
		cock, hen := rid(2000+i), rid(2100+i)
		add("2025-08-02", &aviary.BirdAcquired{Bird: cock, Species: "zebra", Sex: aviary.Cock, Hatched: aviary.MustDate("2024-03-01"), Ring: aviary.Ring{Issuer: "FC", Year: 2024, Number: fmt.Sprint(31 + i)}, Place: place})
		add("2025-08-02", &aviary.BirdAcquired{Bird: hen, Species: "zebra", Sex: aviary.Hen, Hatched: aviary.MustDate("2024-03-01"), Ring: aviary.Ring{Issuer: "FC", Year: 2024, Number: fmt.Sprint(76 + i)}, Place: place})
		add("2025-11-01", &aviary.PairSet{Pair: rid(2200 + i), Place: place, Cocks: []aviary.ID{cock}, Hens: []aviary.ID{hen}})
		add("2025-11-01", &aviary.BoxHung{Box: rid(2300 + i), Place: place})
		add("2025-11-05", &aviary.NestCheck{Place: place, Look: "same", Eggs: some(0), Chicks: some(0)})
	}
	full := []string{"fertile", "fertile", "fertile", "fertile", "fertile"}
	add("2025-12-26", &aviary.NestCheck{Place: rA1, Eggs: some(0), Chicks: some(0)})
	add("2025-12-27", &aviary.NestCheck{Place: rA1, Eggs: some(1), Chicks: some(0)})
	add("2026-01-01", &aviary.NestCheck{Place: rA1, Eggs: some(5), Chicks: some(0)})
	add("2026-01-07", &aviary.NestCheck{Place: rA1, Eggs: some(5), Chicks: some(0), Candled: full})

	add("2025-12-15", &aviary.NestCheck{Place: rA2, Eggs: some(1), Chicks: some(0)})
	add("2025-12-20", &aviary.NestCheck{Place: rA2, Eggs: some(4), Chicks: some(0)})
	add("2026-01-03", &aviary.NestCheck{Place: rA2, Eggs: some(4), Chicks: some(0)})
	add("2026-01-05", &aviary.NestCheck{Place: rA2, Eggs: some(1), Chicks: some(3)})

	add("2025-11-21", &aviary.NestCheck{Place: rA3, Eggs: some(3), Chicks: some(0)})
	add("2025-12-07", &aviary.NestCheck{Place: rA3, Eggs: some(0), Chicks: some(3)})
	add("2025-12-15", &aviary.ChickRinged{Bird: chick1, Place: rA3, Species: "zebra", Ring: aviary.Ring{Issuer: "FC", Year: 2025, Number: "201"}, Hatched: aviary.MustDate("2025-12-06")})
	add("2025-12-15", &aviary.ChickRinged{Bird: chick2, Place: rA3, Species: "zebra", Ring: aviary.Ring{Issuer: "FC", Year: 2025, Number: "202"}, Hatched: aviary.MustDate("2025-12-06")})
	add("2025-12-28", &aviary.NestCheck{Place: rA3, Eggs: some(0), Chicks: some(0), Out: some(3)})

	add("2026-01-04", &aviary.NestCheck{Place: rA4, Eggs: some(1), Chicks: some(0)})
	add("2026-01-08", &aviary.NestCheck{Place: rA4, Eggs: some(5), Chicks: some(0)})
	add("2026-01-11", &aviary.NestCheck{Place: rA4, Eggs: some(3), Chicks: some(0)})

	add("2026-01-01", &aviary.NestCheck{Place: rA5, Eggs: some(1), Chicks: some(0)})
	add("2026-01-06", &aviary.NestCheck{Place: rA5, Eggs: some(5), Chicks: some(0)})
	return roomWith(t, cfg, append(list, more...)...)
}

// card returns the part of the page that holds the card with the title, forms and all.
func (a answer) card(title string) string {
	a.t.Helper()
	for _, part := range strings.Split(a.Body.String(), `<li class="job`) {
		if strings.Contains(part, "<h2>"+title) {
			return part
		}
	}
	a.t.Fatalf("no card says %q\n%s", title, a.Body)
	return ""
}

var hidden = regexp.MustCompile(`<input type="hidden" name="([^"]*)" value="([^"]*)">`)

// fields reads the hidden fields of the form in a card that posts to the action, as pairs.
func fields(t *testing.T, card, action string) []string {
	t.Helper()
	_, rest, ok := strings.Cut(card, `action="`+action+`"`)
	if !ok {
		t.Fatalf("no form posts to %s in %s", action, card)
	}
	rest, _, _ = strings.Cut(rest, "</form>")
	var out []string
	for _, m := range hidden.FindAllStringSubmatch(rest, -1) {
		out = append(out, m[1], strings.NewReplacer("&#43;", "+", "&amp;", "&").Replace(m[2]))
	}
	return out
}

// with returns the pairs with others laid over them: a name that is given anew stands as given.
func with(base []string, pairs ...string) []string {
	anew := map[string]bool{}
	for i := 0; i < len(pairs); i += 2 {
		anew[pairs[i]] = true
	}
	var out []string
	for i := 0; i < len(base); i += 2 {
		if !anew[base[i]] {
			out = append(out, base[i], base[i+1])
		}
	}
	return append(out, pairs...)
}

// follow goes where the answer sends the browser, which keeps what stands behind # to itself.
func (m *testRoom) follow(a answer) answer {
	m.t.Helper()
	path, _, _ := strings.Cut(a.to(), "#")
	return m.get(path)
}

// last returns the newest entry of a kind that stands.
func last[T aviary.Body](m *testRoom, kind aviary.Kind) (*aviary.Entry, T) {
	m.t.Helper()
	var newest *aviary.Entry
	for _, e := range m.entries(kind) {
		if newest == nil || !e.Written.Before(newest.Written) {
			newest = e
		}
	}
	if newest == nil {
		m.t.Fatalf("nothing of kind %s was written", kind)
	}
	return newest, newest.Body.(T)
}

func (m *testRoom) jobs() string {
	var out []string
	m.book.View(func(r *aviary.Room) {
		for _, j := range advice.At(r, m.book.Today(), 0).Round().Jobs {
			out = append(out, j.Place.Name+" "+j.Title)
		}
	})
	return strings.Join(out, "; ")
}

func TestRound_ShowsTheDaysJobs(t *testing.T) {
	m := roundRoom(t, Config{})
	a := m.get("/round").wants(http.StatusOK, "Morning round: 0\u00a0of\u00a07", "Bay 1", "Lids may be lifted 07:00–18:00",
		"Ring 3 chicks", "See whether 3 young feed themselves", "What became of 2 eggs?", "Candle 5 eggs", "No nest after", "FC 26-019", "FC 26-020", "FC 26-021",
		`aria-label="The wall: 0 cages done, now at A1`, "Whole room seen, all well but").sound()
	first := strings.Index(a.Body.String(), ">A1<")
	for _, plate := range []string{"A2", "A3", "A4", "A5", "A6"} {
		at := strings.Index(a.Body.String(), `<span class="plate">`+plate+`<`)
		if at < first {
			t.Errorf("%s stands before the cage walked to before it", plate)
		}
		first = at
	}
	if open := strings.Count(a.Body.String(), "<details open>"); open != 1 {
		t.Errorf("%d cards are open at first, want the one in hand", open)
	}
	for _, word := range []string{"inbreeding", "probability", "sync", "dashboard", "alert"} {
		a.lacks(word)
	}
}

func TestRound_EmptyRoomSaysWhatToDo(t *testing.T) {
	newRoom(t).get("/round").wants(http.StatusOK, "No cage hangs here yet", `href="/setup"`).sound()
}

func TestRound_NothingDue(t *testing.T) {
	m := newRoom(t, on("2026-01-01", &aviary.PlaceAdded{Place: rA7, Name: "A7", Type: aviary.Cage}))
	m.get("/round").wants(http.StatusOK, "nothing is due today", "best left alone").sound()
}

func TestRound_LidsStayShutAtFirstLightAndLate(t *testing.T) {
	m := roundRoom(t, Config{})
	card := m.get("/round").card("Look for chicks")
	for _, want := range []string{"hens feed in the first hour of light", "07:00–18:00", "Sitting, left alone", "Looked in all the same"} {
		if !strings.Contains(card, want) {
			t.Errorf("at 06:48 the card does not say %q", want)
		}
	}
	m.now = time.Date(2026, 1, 13, 7, 30, 0, 0, time.UTC)
	card = m.get("/round").card("Look for chicks")
	if strings.Contains(card, "Looked in all the same") || !strings.Contains(card, "Looked, same") {
		t.Error("at 07:30 lids may be lifted, but the card does not offer the look first")
	}
	m.now = time.Date(2026, 1, 13, 18, 5, 0, 0, time.UTC)
	if card = m.get("/round").card("Look for chicks"); !strings.Contains(card, "back on their eggs before dark") {
		t.Error("at 18:05 the card does not say that it is too late for a lid")
	}
	// A look is never refused, whatever the hour.
	m.post("/cage/"+rA1.String()+"/check", "back", "/round", "answer", "changed", "eggs", "4", "chicks", "1").wants(http.StatusSeeOther)
}

func TestRound_ThreeAnswersToALook(t *testing.T) {
	for _, c := range []struct {
		answer, look string
		eggs, chicks string // what is written
		pairs        []string
	}{
		{"same", "same", "-", "-", nil},
		{"sitting", "sitting", "-", "-", nil},
		{"changed", "changed", "4", "1", []string{"eggs", "4", "chicks", "1"}},
		{"changed", "changed", "4", "1", []string{"eggs", "5", "chicks", "1"}},                     // one tap: the chick takes one egg
		{"changed", "changed", "5", "1", []string{"eggs", "5", "chicks", "1", "evened", "yes"}},    // evened out on the page already
		{"same", "changed", "3", "2", []string{"eggs", "3", "chicks", "2"}},                        // what was counted is never thrown away
		{"sitting", "sitting", "-", "1", []string{"eggs", "5", "chicks", "1", "evened", "yes"}},    // only what was changed
		{"changed", "changed", "5", "0", []string{"eggs", "5", "chicks", "0", "dead_chicks", "0"}}, // saved with nothing changed
	} {
		m := roundRoom(t, Config{})
		m.now = time.Date(2026, 1, 13, 7, 30, 0, 0, time.UTC)
		page := m.get("/round").card("Look for chicks")
		send := with(fields(t, page, "/cage/"+rA1.String()+"/check"), "answer", c.answer)
		send = append(send, c.pairs...)
		if len(c.pairs) == 0 {
			send = append(send, "eggs", "5", "chicks", "0", "dead_chicks", "0", "clear", "0")
		}
		a := m.post("/cage/"+rA1.String()+"/check", send...).wants(http.StatusSeeOther)
		if want := "/round?from=" + rA1.String() + "#next"; a.to() != want {
			t.Errorf("after saving the browser goes to %s, want %s", a.to(), want)
		}
		e, b := last[*aviary.NestCheck](m, "nest_check")
		if c.answer == "changed" && strings.HasSuffix(strings.Join(c.pairs, " "), "dead_chicks 0") {
			if b.Look != "same" {
				t.Errorf("saved with nothing changed it is written as %q, want same", b.Look)
			}
			continue
		}
		show := func(n *int) string {
			if n == nil {
				return "-"
			}
			return itoa(*n)
		}
		if b.Look != c.look || show(b.Eggs) != c.eggs || show(b.Chicks) != c.chicks || b.DeadChicks != nil {
			t.Errorf("%s %v: written look %q, eggs %s, chicks %s; want %q %s %s", c.answer, c.pairs, b.Look, show(b.Eggs), show(b.Chicks), c.look, c.eggs, c.chicks)
		}
		if e.Time != aviary.ClockOf(7, 30) || e.Day != aviary.MustDate("2026-01-13") {
			t.Errorf("the look bears %s %s, want the day and time of the clock", e.Day, e.Time)
		}
		m.follow(a).wants(http.StatusOK, "A1 saved: ", "1\u00a0of\u00a0", "Undo").sound()
	}
}

func TestRound_AfterSavingTheNextCageIsOpen(t *testing.T) {
	m := roundRoom(t, Config{})
	a := m.post("/cage/"+rA2.String()+"/check", "back", "/round", "answer", "sitting").wants(http.StatusSeeOther)
	page := m.follow(a).wants(http.StatusOK)
	_, rest, _ := strings.Cut(page.Body.String(), `id="next"`)
	if i := strings.Index(rest, `<span class="plate">`); !strings.HasPrefix(rest[i:], `<span class="plate">A2<`) {
		t.Errorf("the next job is %.60s; A2 still has chicks to ring", rest[i:])
	}
	a = m.post("/cage/"+rA6.String()+"/check", "back", "/round", "answer", "same").wants(http.StatusSeeOther)
	_, rest, _ = strings.Cut(m.follow(a).Body.String(), `id="next"`)
	if i := strings.Index(rest, `<span class="plate">`); !strings.HasPrefix(rest[i:], `<span class="plate">A1<`) {
		t.Errorf("after the last cage the round does not begin again at the first that is left: %.60s", rest[i:])
	}
}

func TestRound_AnEmptyBoxStaysEmptyInTheBooks(t *testing.T) {
	m := roundRoom(t, Config{})
	card := m.get("/round").card("No nest after")
	send := with(fields(t, card, "/cage/"+rA6.String()+"/check"), "answer", "same", "eggs", "0")
	m.post("/cage/"+rA6.String()+"/check", send...).wants(http.StatusSeeOther)
	if _, b := last[*aviary.NestCheck](m, "nest_check"); b.Eggs == nil || *b.Eggs != 0 || b.Chicks == nil || *b.Chicks != 0 || b.Look != "same" {
		t.Errorf("written %+v, want no eggs and no chicks: that is what dates the first egg", b)
	}
}

func TestRound_BadInputChangesNothing(t *testing.T) {
	m := roundRoom(t, Config{})
	before := len(m.entries("nest_check"))
	check := "/cage/" + rA1.String() + "/check"
	for _, c := range []struct {
		name   string
		pairs  []string
		status int
		says   string
	}{
		{"a negative count", []string{"answer", "changed", "eggs", "-1"}, 422, "-1 eggs cannot be"},
		{"letters for a number", []string{"answer", "changed", "eggs", "five"}, 422, "is not a whole number"},
		{"a slip of the thumb", []string{"answer", "changed", "eggs", "444"}, 422, "look at the number again"},
		{"a look tomorrow", []string{"answer", "changed", "eggs", "4", "day", "2026-01-14"}, 422, "has not come yet"},
		{"no such day", []string{"answer", "changed", "eggs", "4", "day", "2026-02-30"}, 422, "is not a date"},
		{"no such hour", []string{"answer", "changed", "eggs", "4", "time", "25:00"}, 422, "is not a time of day"},
		{"an answer of its own", []string{"answer", "maybe"}, 422, "is not among the choices"},
		{"a sign of its own", []string{"answer", "changed", "signs", "whistling"}, 422, "is not one of"},
		{"a mark with a colon", []string{"answer", "changed", "was_egg", ",", "egg", "fertile", "egg", "", "marks", "a:b"}, 422, "no colon"},
		{"a state of its own", []string{"answer", "changed", "was_egg", ",", "egg", "blue", "egg", ""}, 422, "is not what candling shows"},
		{"a box that is not there", []string{"answer", "same", "box", rid(77777).String()}, 422, "no such"},
		{"a box that is no id", []string{"answer", "same", "box", "xyz"}, 422, "Choose from the list"},
	} {
		for _, back := range []string{"/round", "/cage/" + rA1.String()} {
			a := m.post(check, append(c.pairs, "back", back)...)
			if a.Code != c.status {
				t.Errorf("%s: status %d, want %d", c.name, a.Code, c.status)
			}
		}
		card := m.get("/round").card("Look for chicks")
		send := with(fields(t, card, check), c.pairs...)
		m.post(check, send...).wants(c.status, "Nothing is saved yet", c.says).sound()
	}
	m.post("/cage/"+rid(4242).String()+"/check", "answer", "same").wants(http.StatusNotFound, "no such cage")
	m.post("/cage/xyz/check", "answer", "same").wants(http.StatusNotFound)
	if after := len(m.entries("nest_check")); after != before {
		t.Errorf("%d looks were written by forms that were refused", after-before)
	}
}

func TestRound_RefusedFormComesBackFilledIn(t *testing.T) {
	m := roundRoom(t, Config{})
	check := "/cage/" + rA1.String() + "/check"
	send := with(fields(t, m.get("/round").card("Look for chicks"), check), "answer", "changed", "eggs", "3", "chicks", "2", "text", "one with <b>a dark spot</b>", "day", "2027-01-01")
	a := m.post(check, send...).wants(422, "Nothing is saved yet").sound()
	card := a.card("Look for chicks")
	for _, want := range []string{`value="3"`, `value="2"`, "one with &lt;b&gt;a dark spot", `value="2027-01-01"`} {
		if !strings.Contains(card, want) {
			t.Errorf("the form comes back without %s", want)
		}
	}
	a.lacks("<b>a dark spot")
}

func TestRound_SameFormTwiceWritesOnce(t *testing.T) {
	m := roundRoom(t, Config{})
	check := "/cage/" + rA1.String() + "/check"
	send := with(fields(t, m.get("/round").card("Look for chicks"), check), "answer", "changed", "eggs", "4", "chicks", "1")
	before := len(m.entries("nest_check"))
	m.post(check, send...).wants(http.StatusSeeOther)
	m.post(check, send...).wants(http.StatusSeeOther)
	if n := len(m.entries("nest_check")) - before; n != 1 {
		t.Errorf("a double tap wrote %d looks, want 1", n)
	}
}

// Two phones write the same cage at the same minute: both looks are kept, and what does not agree is asked.
func TestRound_TwoPhonesAtOneCage(t *testing.T) {
	m := roundRoom(t, Config{})
	check := "/cage/" + rA1.String() + "/check"
	before := len(m.entries("nest_check"))
	one := with(fields(t, m.get("/round").card("Look for chicks"), check), "answer", "changed", "eggs", "4", "chicks", "1")
	two := with(fields(t, m.get("/round").card("Look for chicks"), check), "answer", "changed", "eggs", "2", "chicks", "2")
	var wg sync.WaitGroup
	for _, send := range [][]string{one, two} {
		wg.Add(1)
		r := m.request("POST", check, formOf(send))
		r.Header.Set("Sec-Fetch-Site", "same-origin")
		go func() {
			defer wg.Done()
			m.h.ServeHTTP(discard{http.Header{}}, r)
		}()
	}
	wg.Wait()
	if n := len(m.entries("nest_check")) - before; n != 2 {
		t.Errorf("two phones wrote %d looks, want both", n)
	}
	m.get("/round").wants(http.StatusOK).sound()
}

// discard is an answer that nobody reads.
type discard struct{ head http.Header }

func (d discard) Header() http.Header         { return d.head }
func (d discard) Write(b []byte) (int, error) { return len(b), nil }
func (d discard) WriteHeader(int)             {}

func formOf(pairs []string) string {
	values := url.Values{}
	for i := 0; i+1 < len(pairs); i += 2 {
		values.Add(pairs[i], pairs[i+1])
	}
	return values.Encode()
}

func TestRound_EggsThatFellAreAskedNextAndAnsweredInOneTap(t *testing.T) {
	m := roundRoom(t, Config{})
	check := "/cage/" + rA1.String() + "/check"
	send := with(fields(t, m.get("/round").card("Look for chicks"), check), "answer", "changed", "eggs", "3", "chicks", "0", "dead_chicks", "0")
	a := m.post(check, send...).wants(http.StatusSeeOther)
	page := m.follow(a).wants(http.StatusOK, "5 eggs before and 3 now", "Not known", "Tossed out")
	_, rest, _ := strings.Cut(page.Body.String(), `id="next"`)
	if i := strings.Index(rest, "<h2>"); !strings.HasPrefix(rest[i:], "<h2>What became of 2 eggs?") {
		t.Errorf("the question is not next: %.60s", rest[i:])
	}
	answer := "/cage/" + rA1.String() + "/answer"
	send = with(fields(t, page.card("What became of 2 eggs?"), answer), "why_gone", "broken")
	m.post(answer, send...).wants(http.StatusSeeOther)
	if _, b := last[*aviary.NestCheck](m, "nest_check"); b.GoneEggs == nil || *b.GoneEggs != 2 || b.GoneEggsWhy != "broken" {
		t.Errorf("written %+v, want 2 eggs gone: broken", b)
	}
	m.post(answer, send...).wants(http.StatusSeeOther) // a double tap
	if jobs := m.jobs(); strings.Contains(jobs, "A1 What became") {
		t.Errorf("it is still asked: %s", jobs)
	}
	// Another phone that still shows the question is told so.
	late := append([]string{"once", newID().String(), "why_gone", "eaten"}, send[2:]...)
	m.post(answer, late...).wants(422, "answered meanwhile")
}

func TestRound_NewClutchFromHere(t *testing.T) {
	m := roundRoom(t, Config{}, on("2026-01-12", &aviary.NestCheck{Place: rA1, Eggs: some(8), Chicks: some(0)}))
	page := m.get("/round")
	answer := "/cage/" + rA1.String() + "/answer"
	send := with(fields(t, page.card("An egg after sitting began"), answer), "further", "yes", "new", "3")
	m.post(answer, send...).wants(http.StatusSeeOther)
	m.book.View(func(r *aviary.Room) {
		p := r.Place(rA1)
		c := p.Clutches[len(p.Clutches)-1]
		if eggs, _, _, _ := c.Known(); len(p.Clutches) != 2 || c.First != aviary.MustDate("2026-01-12") || eggs != 3 {
			t.Errorf("after it there are %d clutches, the newest of %s with %d eggs; want a second of 12 Jan with 3", len(p.Clutches), c.First, eggs)
		}
	})
	send = with(fields(t, m.get("/round").card("What became of 2 eggs?"), "/cage/"+rA4.String()+"/answer"), "why_gone", "no such word")
	m.post("/cage/"+rA4.String()+"/answer", send...).wants(422, "Choose one of the answers")
}

func TestRound_Candling(t *testing.T) {
	m := roundRoom(t, Config{})
	check := "/cage/" + rA5.String() + "/check"
	card := m.get("/round").card("Candle 5 eggs")
	base := fields(t, card, check)
	m.post(check, with(base, "answer", "changed", "egg", "", "egg", "", "egg", "", "egg", "", "egg", "")...).wants(422, "Tap each egg")
	m.post(check, with(base, "answer", "changed", "egg", "fertile", "egg", "fertile", "egg", "clear", "egg", "fertile", "egg", "", "marks", "a b")...).wants(http.StatusSeeOther)
	if _, b := last[*aviary.NestCheck](m, "nest_check"); strings.Join(b.Candled, " ") != "a:fertile b:fertile clear fertile" || b.Eggs == nil || *b.Eggs != 5 {
		t.Errorf("candling is written as %v with %v eggs", b.Candled, b.Eggs)
	}
	if strings.Contains(m.jobs(), "A5 Candle") {
		t.Error("the candled nest is still to be candled")
	}
	m.get("/cage/"+rA5.String()).wants(http.StatusOK, "3 full eggs, 1 egg, 1 clear egg").sound()
}

func TestRound_RingsFromTheKeepersList(t *testing.T) {
	m := roundRoom(t, Config{})
	ring := "/cage/" + rA2.String() + "/ring"
	base := fields(t, m.get("/round").card("Ring 3 chicks"), ring)
	m.post(ring, with(base, "ring0", "FC 26-019")...).wants(422, "Tap On beside each ring")
	m.post(ring, with(base, "ring0", "FC 24-31", "on", "0")...).wants(422, "Another bird wears this ring").sound()
	m.post(ring, with(base, "ring0", "FC 26-019", "ring1", "019", "on", "0", "on", "1")...).wants(422, "stands there twice")
	m.post(ring, with(base, "ring0", "", "on", "0")...).wants(422, "write it as it is stamped")
	m.post(ring, with(base, "ring0", "FC 26-019", "on", "0", "without", "-1")...).wants(422, "-1 chicks cannot be")
	m.post(ring, with(base, "ring0", "FC 26-019", "on", "0", "hatched", "2026-02-01")...).wants(422)
	if n := len(m.entries("chick_ringed")); n != 2 {
		t.Fatalf("%d chicks are ringed after refused forms, want the 2 of before", n)
	}
	send := with(base, "ring0", "FC 26-019", "ring1", "033", "on", "0", "on", "1", "without", "1", "hatched", "2026-01-04", "hatched_about", "1")
	m.post(ring, send...).wants(http.StatusSeeOther)
	m.post(ring, send...).wants(http.StatusSeeOther) // a double tap
	var rings []string
	for _, e := range m.entries("chick_ringed")[2:] {
		b := e.Body.(*aviary.ChickRinged)
		rings = append(rings, b.Ring.String())
		if b.Species != "zebra" || b.Hatched != aviary.MustDate("2026-01-04") || b.RingSize == nil || *b.RingSize != 2.7 {
			t.Errorf("chick %s is written as %+v", b.Ring, b)
		}
	}
	if len(rings) != 2 || !strings.Contains(strings.Join(rings, " "), "FC 26-033") {
		t.Errorf("rings written: %v, want FC 26-019 and FC 26-033", rings)
	}
	if jobs := m.jobs(); strings.Contains(jobs, "A2 Ring") {
		t.Errorf("with one chick that goes without, ringing is still asked for: %s", jobs)
	}
	m.get("/round").wants(http.StatusOK, "1 of the brood without a ring")
	// One strike takes the step back.
	e, _ := last[*aviary.ChickRinged](m, "chick_ringed")
	m.post("/strike", "id", e.Batch.String(), "back", "/round").wants(http.StatusSeeOther)
	if jobs := m.jobs(); !strings.Contains(jobs, "A2 Ring 3 chicks") {
		t.Errorf("after the undo the jobs are %s", jobs)
	}
}

func TestRound_WeaningAsksWhetherTheyFeedThemselves(t *testing.T) {
	m := roundRoom(t, Config{})
	wean := "/cage/" + rA3.String() + "/wean"
	card := m.get("/round").card("See whether 3 young feed themselves")
	if !strings.Contains(card, "FC 25-201") || !strings.Contains(card, `name="unringed" type="text" value="1"`) {
		t.Errorf("the card does not list two ringed and one unringed young: %s", card)
	}
	base := with(fields(t, card, wean), "birds", chick1.String(), "birds", chick2.String(), "unringed", "1", "to", rFlight.String())
	m.post(wean, base...).wants(422, "Nobody has written down that these young feed themselves", "Why now all the same").sound()
	m.post(wean, with(fields(t, card, wean), "unringed", "0")...).wants(422, "Tick the young")
	m.post(wean, with(base, "self_feeding", "yes")...).wants(http.StatusSeeOther)
	_, b := last[*aviary.YoungWeaned](m, "young_weaned")
	if len(b.Birds) != 2 || b.Unringed != 1 || b.To != rFlight || b.Group == (aviary.ID{}) || b.Left != nil || b.Species != "zebra" {
		t.Errorf("written %+v", b)
	}
	m.get("/cage/"+rFlight.String()).wants(http.StatusOK, "1 Zebra finch young without rings", "FC 25-201").sound()
	m.get("/cage/"+rA3.String()).wants(http.StatusOK, "Clutches before", "3 weaned").sound()
}

func TestRound_SeenFeedingThemselvesInOneTap(t *testing.T) {
	m := roundRoom(t, Config{})
	check := "/cage/" + rA3.String() + "/check"
	card := m.get("/round").card("See whether 3 young feed themselves")
	send := fields(t, card, check)
	m.post("/round/skip", with(send, "reason", "not feeding themselves yet")...).wants(http.StatusSeeOther)
	if _, b := last[*aviary.JobSkipped](m, "job_skipped"); b.Until != aviary.MustDate("2026-01-15") {
		t.Errorf("“not yet” puts it off until %s, want 15 Jan", b.Until)
	}
	m.post(check, with(send, "once", newID().String(), "answer", "fed")...).wants(http.StatusSeeOther)
	_, b := last[*aviary.NestCheck](m, "nest_check")
	if !b.SelfFeeding || b.Look != "" || b.Eggs != nil {
		t.Errorf("written %+v, want that they were seen feeding themselves and nothing else", b)
	}
	m.get("/cage/"+rA3.String()).wants(http.StatusOK, "Seen feeding themselves 13 Jan.").sound()
}

func TestRound_WeanSomeAndSayWhy(t *testing.T) {
	m := roundRoom(t, Config{})
	wean := "/cage/" + rA3.String() + "/wean"
	base := with(fields(t, m.get("/round").card("See whether 3 young feed themselves"), wean), "birds", chick1.String(), "unringed", "0", "to", rFlight.String(), "why", "cock attacks it")
	m.post(wean, base...).wants(http.StatusSeeOther)
	e, b := last[*aviary.YoungWeaned](m, "young_weaned")
	if e.Why != "cock attacks it" || b.Left == nil || *b.Left != 2 {
		t.Errorf("written %+v with the reason %q, want two left and the reason kept", b, e.Why)
	}
	if jobs := m.jobs(); !strings.Contains(jobs, "A3 ") || !strings.Contains(jobs, "2 young") {
		t.Errorf("two young are left, but nobody is asked to part them: %s", jobs)
	}
}

func TestRound_PutOffMarkDoneAndUndo(t *testing.T) {
	m := roundRoom(t, Config{})
	card := m.get("/round").card("Candle 5 eggs")
	skip := fields(t, card, "/round/skip")
	m.post("/round/skip", with(skip, "until_day", "2026-01-10")...).wants(422, "until tomorrow or later")
	m.post("/round/skip", with(skip, "until", "1", "until_day", "2026-01-20", "reason", "hen restless")...).wants(http.StatusSeeOther)
	_, b := last[*aviary.JobSkipped](m, "job_skipped")
	if b.Until != aviary.MustDate("2026-01-20") || b.Reason != "hen restless" {
		t.Errorf("written %+v", b)
	}
	m.get("/round").wants(http.StatusOK, "Put off", "until 20 Jan: hen restless", "Bring back").sound()
	done := fields(t, m.get("/round").card("Ring 3 chicks"), "/round/done")
	m.post("/round/done", done...).wants(http.StatusSeeOther)
	if jobs := m.jobs(); strings.Contains(jobs, "A2 Ring") || strings.Contains(jobs, "A5 Candle") {
		t.Errorf("jobs left: %s", jobs)
	}
	e, _ := last[*aviary.JobDone](m, "job_done")
	m.get("/round").wants(http.StatusOK, "Done today", e.ID.String())
	m.post("/strike", "id", e.ID.String(), "back", "/round").wants(http.StatusSeeOther)
	if !strings.Contains(m.jobs(), "A2 Ring") {
		t.Error("the undo does not bring the job back")
	}
	m.post("/round/skip", "place", rid(4242).String(), "job", "ring").wants(http.StatusNotFound)
	m.post("/round/done", "place", rA1.String()).wants(422)
}

func TestRound_WholeRoomSeen(t *testing.T) {
	m := roundRoom(t, Config{})
	m.post("/round/seen", "part", "seen", "except", rA3.String(), "text", "A3 fluffed").wants(http.StatusSeeOther)
	m.get("/round").wants(http.StatusOK, "Whole room seen 06:48", "all well but A3: A3 fluffed").sound()
	m.post("/round/seen", "part", "seen", "except", rid(4242).String()).wants(422, "not in the books")
	if n := len(m.entries("round_seen")); n != 1 {
		t.Errorf("%d rounds are written, want 1", n)
	}
}

func TestRound_SomethingOddInTwoTaps(t *testing.T) {
	m := roundRoom(t, Config{})
	odd := "/cage/" + rA2.String() + "/odd"
	card := m.get("/round").card("Ring 3 chicks")
	for _, what := range aviary.OddThings {
		if !strings.Contains(card, `name="what" value="`+what+`"`) {
			t.Errorf("the card has no button for %q", what)
		}
	}
	m.post(odd, with(fields(t, card, odd), "what", "poorly", "text", "fluffed, left perch")...).wants(http.StatusSeeOther)
	page := m.get("/round").wants(http.StatusOK, "See to it: poorly", "avian vet").sound()
	m.post(odd, "back", "/cage/"+rA2.String(), "what", "no such thing", "part", "odd").wants(422, "is not among the choices")
	send := with(fields(t, page.card("See to it: poorly"), "/sort/settle"), "how", "gone to the vet")
	m.post("/sort/settle", send...).wants(http.StatusSeeOther)
	if strings.Contains(m.jobs(), "poorly") {
		t.Error("what is settled is still on the round")
	}
}

func TestRound_HelperWritesLooksButRingsNothing(t *testing.T) {
	m := roundRoom(t, Config{LAN: true})
	m.logIn("Tom", helperPhrase)
	a := m.get("/round").wants(http.StatusOK, "Ringing is the keeper", "Seen feeding themselves").sound()
	a.lacks(`action="/cage/` + rA2.String() + `/ring"`)
	m.post("/cage/"+rA1.String()+"/check", "back", "/round", "answer", "sitting").wants(http.StatusSeeOther)
	m.post("/cage/"+rA1.String()+"/odd", "what", "water out").wants(http.StatusSeeOther)
	m.post("/cage/"+rA1.String()+"/material", "what", "hay").wants(http.StatusSeeOther)
	m.post("/cage/"+rA1.String()+"/count", "found", "2").wants(http.StatusSeeOther)
	m.post("/round/seen").wants(http.StatusSeeOther)
	for _, path := range []string{"ring", "wean", "move", "box", "pull"} {
		m.post("/cage/"+rA2.String()+"/"+path, "on", "0", "ring0", "FC 26-019", "act", "hang").wants(http.StatusForbidden)
	}
	page := m.get("/cage/"+rA1.String()).wants(http.StatusOK, "Something odd", "Birds counted").sound()
	page.lacks("Nest box hung, taken out", "Set up a pair", "End the pair", "pulled")
}

// In a large room the cards far from the one in hand are links to themselves; one tap opens each.
func TestRound_ALargeRoomStaysLight(t *testing.T) {
	var more []*aviary.Entry
	for i := range 40 {
		place := rid(5000 + i)
		more = append(more, on("2025-09-01", &aviary.PlaceAdded{Place: place, Name: fmt.Sprintf("K%d", i), Type: aviary.Cage, Bank: "Bay 2", Row: 1, Col: i + 1}),
			on("2026-01-12", &aviary.OddSeen{Place: place, What: "water out"}))
	}
	m := roundRoom(t, Config{}, more...)
	a := m.get("/round").wants(http.StatusOK, ">K39<").sound()
	if n := strings.Count(a.Body.String(), `action="/sort/settle"`); n > formsAhead {
		t.Errorf("%d of 40 forms come along", n)
	}
	_, rest, _ := strings.Cut(a.Body.String(), `<span class="plate">K39</span><h2><a href="`)
	link, _, _ := strings.Cut(rest, `"`)
	path, _, _ := strings.Cut(link, "#")
	page := m.get(path).wants(http.StatusOK, "All of K39").sound().Body.String()
	_, rest, _ = strings.Cut(page, `id="next"`)
	if i := strings.Index(rest, `<span class="plate">`); !strings.HasPrefix(rest[i:], `<span class="plate">K39<`) {
		t.Errorf("the link opens %.60s", rest[i:])
	}
}

// The same ring never stands at two cages.
func TestRound_NoRingIsOfferedTwice(t *testing.T) {
	m := roundRoom(t, Config{}, on("2026-01-12", &aviary.NestCheck{Place: rA6, Eggs: some(0), Chicks: some(4), AgeDays: some(8), Found: true}))
	for _, path := range []string{"/round", "/round/sheet"} {
		page := m.get(path).wants(http.StatusOK, "FC 26-019", "FC 26-025").Body.String()
		for n := 19; n <= 25; n++ {
			ring := fmt.Sprintf("FC 26-0%d", n)
			if strings.Count(page, ring+`" autocomplete`) > 1 || (path != "/round" && strings.Count(page, ring) != 1) {
				t.Errorf("%s: ring %s is offered twice", path, ring)
			}
		}
	}
}

func TestRound_SheetHasALineForEveryCage(t *testing.T) {
	m := roundRoom(t, Config{})
	a := m.get("/round/sheet").wants(http.StatusOK, "eggs, was 5", "FC 26-019", "Flight 1").sound()
	for i := range rRoom {
		a.wants(http.StatusOK, fmt.Sprintf(`<span class="plate">A%d</span>`, i+1))
	}
	a.lacks(`<input`)
}
