//go:build browser

package browser_test

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"broodlight/internal/aviary"
	"broodlight/internal/web"
)

// view is one page of the site as it is looked at.
type view struct {
	name  string                               // of its picture
	route string                               // as the site's own table has it
	path  func(r *aviary.Room, s found) string // where it is seen; "" is the route itself
}

// found is what the pages are shown for, picked from the room.
type found struct {
	sitting, chicks, resting *aviary.Place // a cage with eggs, one with young in the nest, one without a pair
	check                    aviary.ID     // a look at the cage with eggs
	flight                   *aviary.Place
	bird, young              *aviary.Bird // one that has bred, one that was ringed here
	helper                   aviary.ID    // somebody who may log in
	group                    aviary.ID    // unringed young
}

// at is a fixed address.
func at(path string) func(*aviary.Room, found) string {
	return func(*aviary.Room, found) string { return path }
}

// views lists every page; TestViews_NameEveryPage holds it to the site's routes.
var views = []view{
	{"round", "/round", nil},
	{"round-sheet", "/round/sheet", nil},
	{"wall", "/wall", nil},
	{"wall-late", "/wall", at("/wall?only=late")},
	{"wall-carry", "/wall", at("/wall?move=yes")},
	{"cage", "/cage/{id}", func(_ *aviary.Room, s found) string { return "/cage/" + s.sitting.ID.String() }},
	{"cage-chicks", "/cage/{id}", func(_ *aviary.Room, s found) string { return "/cage/" + s.chicks.ID.String() }},
	{"cage-resting", "/cage/{id}", func(_ *aviary.Room, s found) string { return "/cage/" + s.resting.ID.String() }},
	{"cage-flight", "/cage/{id}", func(_ *aviary.Room, s found) string { return "/cage/" + s.flight.ID.String() }},
	{"cage-correct", "/cage/{id}/correct/{entry}", func(_ *aviary.Room, s found) string {
		return "/cage/" + s.sitting.ID.String() + "/correct/" + s.check.String()
	}},
	{"season", "/season", nil},
	{"season-month", "/season", at("/season?month=2026-01")},
	{"season-print", "/season/print", at("/season/print?paper=a3")},
	{"season-plan", "/season/plan", nil},
	{"season-next", "/season/plan", at("/season/plan?next=yes")},
	{"morning", "/morning", nil},
	{"condition", "/condition", nil},
	{"condition-by-egg", "/condition", at("/condition?sort=egg&desc=yes")},
	{"cage-waiting", "/cage/{id}", func(r *aviary.Room, _ found) string { return "/cage/" + waiting(r).String() }},
	{"food", "/food", nil},
	{"food-plan", "/food/plan", nil},
	{"food-stores", "/food/stores", nil},
	{"lamps", "/lamps", nil},
	{"lamps-plan", "/lamps/plan", nil},
	{"lamps-replan", "/lamps/replan", nil},
	{"lamps-late", "/lamps/late", nil},
	{"lamps-days", "/lamps/days", nil},
	{"food-sprouting", "/food/sprouting", nil},
	{"food-ration", "/food/ration", nil},
	{"food-ration-own", "/food/ration", at("/food/ration?phase=laying&adults=2&chicks=0&portion=own&amount-white-millet=20&amount-egg-food=2&free=cuttlebone")},
	{"food-mix", "/food/mix", at("/food/mix?make=yes&use=white-millet&price-white-millet=2&use=egg-food&price-egg-food=8&use=niger&price-niger=3&max-niger=10&protein_min=14&kilos=5")},
	{"food-mix-clash", "/food/mix", at("/food/mix?make=yes&use=white-millet&price-white-millet=2&use=niger&price-niger=3&max-niger=10&protein_min=18&kilos=5")},
	{"birds", "/birds", nil},
	{"pairs", "/pairs", at("/pairs?species=zebra&who=all")},
	{"pairs-free", "/pairs", at("/pairs?species=gouldian")},
	{"lines", "/lines", nil},
	{"colours", "/colours", at("/colours?species=gouldian")},
	{"bird-colours", "/bird/{id}/colours", func(_ *aviary.Room, s found) string { return "/bird/" + s.young.ID.String() + "/colours" }},
	{"birds-search", "/birds", at("/birds?q=zzz")},
	{"bird", "/bird/{id}", func(_ *aviary.Room, s found) string { return "/bird/" + s.bird.ID.String() }},
	{"bird-young", "/bird/{id}", func(_ *aviary.Room, s found) string { return "/bird/" + s.young.ID.String() }},
	{"bird-new", "/birds/new", nil},
	{"birds-table", "/birds/table", nil},
	{"pair-new", "/pair/new", func(_ *aviary.Room, s found) string { return "/pair/new?place=" + s.resting.ID.String() }},
	{"pair-end", "/pair/{id}/end", func(r *aviary.Room, s found) string { return "/pair/" + r.PairNow(s.sitting.ID).ID.String() + "/end" }},
	{"move", "/move", func(_ *aviary.Room, s found) string { return "/move?what=bird&id=" + s.bird.ID.String() }},
	{"bulk", "/bulk", func(_ *aviary.Room, s found) string {
		return "/bulk?place=" + s.sitting.ID.String() + "&place=" + s.chicks.ID.String()
	}},
	{"group-new", "/groups/new", func(_ *aviary.Room, s found) string { return "/groups/new?place=" + s.flight.ID.String() }},
	{"group", "/group/{id}", func(_ *aviary.Room, s found) string { return "/group/" + s.group.String() }},
	{"died-one", "/died/one", func(_ *aviary.Room, s found) string { return "/died/one?place=" + s.flight.ID.String() }},
	{"sort", "/sort", nil},
	{"away", "/away", nil},
	{"more", "/more", nil},
	{"kept-none", "/kept/none", nil},
	{"phone", "/phone", nil},
	{"labels", "/labels", nil},
	{"strike", "/strike/{id}", func(_ *aviary.Room, s found) string { return "/strike/" + s.check.String() }},
	{"missing", "/", at("/no/such/page")},
	{"setup", "/setup", nil},
	{"setup-place", "/setup/place/{id}", func(_ *aviary.Room, s found) string { return "/setup/place/" + s.sitting.ID.String() }},
	{"walk", "/setup/walk", nil},
	{"walk-cage", "/setup/walk/{id}", func(_ *aviary.Room, s found) string { return "/setup/walk/" + s.resting.ID.String() }},
	{"settings", "/settings", nil},
	{"settings-room", "/settings/room", nil},
	{"settings-lamps", "/settings/lamps", nil},
	{"settings-species", "/settings/species", nil},
	{"settings-species-one", "/settings/species/{slug}", at("/settings/species/zebra")},
	{"settings-rings", "/settings/rings", nil},
	{"settings-units", "/settings/units", nil},
	{"settings-people", "/settings/people", nil},
	{"settings-people-remove", "/settings/people/{id}/remove", func(_ *aviary.Room, s found) string {
		return "/settings/people/" + s.helper.String() + "/remove"
	}},
	{"settings-phones", "/settings/phones", nil},
	{"settings-backup", "/settings/backup", nil},
	{"settings-about", "/settings/about", nil},
	{"settings-calendar", "/settings/calendar", nil},
	{"settings-broker", "/settings/broker", nil},
}

// notPages are addresses that answer a browser with something else than a page.
var notPages = []string{
	"/{$}",                           // leads on to the round
	"/login",                         // on this computer there is none; TestPeople_LogIn looks at it
	"/healthz",                       // one word, for scripts
	"/settings/backup/{name}",        // a file
	"/settings/calendar/file/{name}", // a file
	"/lamps/days.csv",                // a file
	"/lamps/timer.csv",               // a file
	"/calendar/{token}",              // a file, for calendar programs; TestCalendar looks at it
}

func (v view) at(r *aviary.Room, s found) string {
	if v.path == nil {
		return v.route
	}
	return v.path(r, s)
}

// TestViews_NameEveryPage holds the list of views to the routes in the site's source: each page is looked at, and each view
// is of a page that is there.
func TestViews_NameEveryPage(t *testing.T) {
	files, err := filepath.Glob("../*.go")
	if err != nil {
		t.Fatal(err)
	}
	added := regexp.MustCompile(`\br\.(?:get|keeperGet)\("([^"]+)"|\br\.add\(http\.MethodGet, "([^"]+)"`)
	routes := map[string]bool{}
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		b, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range added.FindAllStringSubmatch(string(b), -1) {
			routes[m[1]+m[2]] = true
		}
	}
	for route := range routes {
		if !slices.ContainsFunc(views, func(v view) bool { return v.route == route }) && !slices.Contains(notPages, route) {
			t.Errorf("no view looks at %s", route)
		}
	}
	for _, v := range views {
		if !routes[v.route] {
			t.Errorf("the view %q looks at %s, which is no page", v.name, v.route)
		}
	}
}

// waiting is a cage whose pair has a box and no clutch.
func waiting(r *aviary.Room) aviary.ID {
	for _, p := range r.Places() {
		if p.Type == aviary.Cage && r.PairNow(p.ID) != nil && len(p.OpenClutches()) == 0 && len(p.BoxesHung()) > 0 {
			return p.ID
		}
	}
	return aviary.ID{}
}

// pick finds in the demo room what the pages are shown for.
func pick(s *site) found {
	s.Helper()
	var out found
	s.book.View(func(r *aviary.Room) {
		for _, p := range r.Places() {
			pair := r.PairNow(p.ID)
			switch {
			case p.Type == aviary.Flight && out.flight == nil:
				out.flight = p
			case p.Type != aviary.Cage:
			case pair == nil && out.resting == nil:
				out.resting = p
			}
			if p.Type != aviary.Cage || pair == nil || len(p.Clutches) == 0 {
				continue
			}
			c := p.Clutches[len(p.Clutches)-1]
			eggs, chicks := 0, 0
			for _, e := range r.History(aviary.APlace, p.ID) {
				b, ok := e.Body.(*aviary.NestCheck)
				if !ok || e.Day < c.First {
					continue
				}
				if b.Eggs != nil {
					eggs = *b.Eggs
				}
				if b.Chicks != nil {
					chicks = *b.Chicks
				}
				if eggs > 2 && out.sitting == nil {
					out.check = e.ID
				}
			}
			switch {
			case chicks > 1 && out.chicks == nil:
				out.chicks = p
			case chicks == 0 && eggs > 2 && out.sitting == nil:
				out.sitting = p
			}
			if out.bird == nil && len(r.Pair(pair.ID).Cocks) > 0 {
				b := r.Bird(pair.Cocks[0])
				if len(r.Young(b.ID)) > 3 && r.Parents(b.ID).Sire != (aviary.ID{}) {
					out.bird = b
				}
			}
		}
		for _, b := range r.Birds() {
			if b.RingedAt != nil && b.Died == 0 && b.Left == 0 {
				out.young = b
			}
		}
	})
	if out.sitting == nil || out.chicks == nil || out.resting == nil || out.flight == nil || out.bird == nil || out.young == nil {
		s.Fatalf("the invented room lacks something that pages are shown for: %+v", out)
	}
	return out
}

// TestPages_AreSound looks at every page on each screen and in both themes.
func TestPages_AreSound(t *testing.T) {
	t.Parallel()
	s := demoRoom(t, web.Config{Demo: true, Version: "test", Broker: &plug{state: web.BrokerState{
		On: true, Since: morning.Add(-time.Hour), Problem: "connection refused", Circuits: []web.BrokerCircuit{
			{Topic: "broodlight/room", Planned: 100, Told: true, Percent: 100},
			{Name: "Left bank", Topic: "broodlight/circuit/Left bank", Planned: 40, Quiet: "Nothing is sent until the lamps are full on again: the broker was away while they went down."},
		},
	}}})
	plugged(s)
	tom, err := s.book.AddPerson(t.Context(), "Tom", aviary.Helper)
	if err != nil {
		t.Fatal(err)
	}
	shown := pick(s)
	shown.helper, shown.group = tom.ID, newID()
	s.write(&aviary.Entry{ID: newID(), Body: &aviary.GroupFound{Group: shown.group, Species: "zebra", Count: 4, Place: shown.flight.ID}})
	axe := axeSource(t)
	// each screen has a tab of its own, so that two pages are measured at a time
	for _, sc := range []screen{phone, narrow, desk} {
		t.Run(sc.name, func(t *testing.T) {
			t.Parallel()
			at := *s
			at.T = t
			p := at.tab(sc, light)
			for _, v := range views {
				var path string
				s.book.View(func(r *aviary.Room) { path = v.at(r, shown) })
				t.Run(v.name, func(t *testing.T) {
					q := p.under(t)
					q.measure(v, path, axe)
				})
			}
		})
	}
}

// under is the tab, reporting to another test; what the browser complains of meanwhile is that test's.
func (p *tab) under(t *testing.T) *tab {
	q := &tab{T: t, site: p.site, ctx: p.ctx, screen: p.screen, theme: p.theme, scripts: p.scripts, ears: p.ears}
	t.Cleanup(func() {
		for _, c := range p.ears.drain() {
			t.Errorf("the browser complains: %s", c)
		}
	})
	return q
}

func (p *tab) measure(v view, path, axe string) {
	p.Helper()
	want := 200
	if v.name == "missing" {
		want = 404
		p.expectStatus(want)
	}
	if got := p.load(navigate(p.site.url + path)); got != want {
		p.Fatalf("%s is answered with status %d, want %d: %s", path, got, want, p.text())
	}
	if here := p.path(); !strings.HasPrefix(here, strings.SplitN(path, "?", 2)[0]) {
		p.Logf("%s leads to %s", path, here)
	}
	if title := js[string](p, "document.title"); !strings.HasSuffix(title, " – Broodlight") || strings.HasPrefix(title, " ") {
		p.Errorf("the title is %q", title)
	}
	if n := js[int](p, `document.querySelectorAll("h1").length`); n != 1 || p.headline() == "" {
		p.Errorf("%d headlines, %q", n, p.headline())
	}
	for _, theme := range []string{"light", "off"} {
		js[string](p, fmt.Sprintf(`document.documentElement.dataset.theme = %q`, theme))
		p.shot(fmt.Sprintf("%s-%s-%s", v.name, p.screen.name, theme), true)
		if p.screen == narrow {
			continue // the phone is as good a witness
		}
		for _, said := range p.axe(axe, theme == "light") {
			p.Errorf("%s, axe: %s", theme, said)
		}
	}
	for _, said := range p.sideways() {
		p.Errorf("too wide: %s", said)
	}
	for _, said := range js[[]string](p, fontScript) {
		p.Errorf("under 12 px: %s", said)
	}
	least := 44
	if p.screen.touch {
		least = 48
	}
	for _, said := range js[[]string](p, fmt.Sprintf(`(%s)(%d)`, targetScript, least)) {
		p.Errorf("too small for a %s: %s", map[bool]string{true: "thumb", false: "mouse"}[p.screen.touch], said)
	}
	if p.screen != narrow {
		for _, said := range p.tabThrough() {
			p.Errorf("keyboard: %s", said)
		}
	}
}

// TestPages_AreEmptyGracefully looks at the pages of a room in which nothing is yet.
func TestPages_AreEmptyGracefully(t *testing.T) {
	t.Parallel()
	s := serve(t, web.Config{Version: "test"})
	axe := axeSource(t)
	p := s.tab(phone, light)
	for _, v := range views {
		if strings.Contains(v.route, "{") || v.path != nil {
			continue
		}
		t.Run(v.name, func(t *testing.T) {
			q := p.under(t)
			status := q.load(navigate(s.url + v.route))
			if status != 200 {
				q.expectStatus(status)
				t.Fatalf("%s is answered with status %d: %s", v.route, status, q.text())
			}
			for _, said := range q.axe(axe, true) {
				t.Errorf("axe: %s", said)
			}
			for _, said := range q.sideways() {
				t.Errorf("too wide: %s", said)
			}
			q.shot("empty-"+v.name, true)
		})
	}
}

// expectStatus says that a page came with a status on purpose.
func (p *tab) expectStatus(status int) {
	p.expect(fmt.Sprintf("status of %d", status))
}
