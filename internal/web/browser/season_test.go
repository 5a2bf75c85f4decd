//go:build browser

package browser_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"broodlight/internal/aviary"
	"broodlight/internal/web"
)

// TestSeason_ShowsCountsAndLanes looks at the season of the demo room, at a desk and on a phone.
func TestSeason_ShowsCountsAndLanes(t *testing.T) {
	t.Parallel()
	s := demoRoom(t, web.Config{Demo: true})
	p := s.open(desk, "/season")
	if !strings.Contains(p.headline(), "weaned") {
		t.Errorf("the headline says %q and nothing of weaned young", p.headline())
	}
	p.says("Copy to next year", "Zebra finch", "Gouldian finch")
	lanes := js[int](p, `document.querySelectorAll(".lanes .names .big").length`)
	if lanes < 40 {
		t.Errorf("%d lanes are drawn, want one for each of about 45 pairs", lanes)
	}
	p.choose("Species", "Star finch")
	p.follow("button", "Show")
	if few := js[int](p, `document.querySelectorAll(".lanes .names .big").length`); few == 0 || few >= lanes {
		t.Errorf("for one species %d of %d lanes are drawn", few, lanes)
	}
	p.follow("link", "2024–25")
	p.says("What it came to")
	p.shot("journey-season-last", true)

	q := s.open(phone, "/season")
	q.tap("DisclosureTriangle", "The pairs as a table")
	q.says("Clutch by clutch")
	q.find("link", "A1").follow()
	if !strings.HasPrefix(q.path(), "/cage/") {
		t.Errorf("a lane leads to %s, want its cage", q.path())
	}
}

// TestSeason_PlannedDrawnAndCopied plans a season from the short form, sees it drawn, and copies it to the next year.
func TestSeason_PlannedDrawnAndCopied(t *testing.T) {
	t.Parallel()
	w := smallWall(t, web.Config{})
	p := w.open(phone, "/season/plan")
	p.says("Common practice, no source", "Lamps: Whole room", "Food: Whole room")
	start := p.value("Start: first longer day…")
	p.expect("422")
	p.fill("Moult from…", "2025-09-01")
	p.follow("button", "Preview the season")
	p.says("put the days in order")
	p.fill("Moult from…", "2026-05-01")
	p.follow("button", "Preview the season")
	p.says("Nothing is written yet", "Whole room:")
	p.shot("journey-season-preview", true)
	if n := len(w.standing("lamp_planned")); n != 0 {
		t.Fatalf("a preview wrote %d plans", n)
	}
	p.follow("button", "Write this season")
	if n, m := len(w.standing("lamp_planned")), len(w.standing("feed_planned")); n != 1 || m != 1 {
		t.Fatalf("%d lamp plans and %d feed plans are written", n, m)
	}
	p.says("Season planned", "lamps planned", "daylight outside")
	if n := js[int](p, `document.querySelectorAll(".lanes .tolight").length`); n == 0 {
		t.Error("no lamps to come are hatched")
	}
	if n := js[int](p, `document.querySelectorAll(".lanes rect[stroke='var(--dusk)'][stroke-dasharray='5 3']").length`); n < 2 {
		t.Errorf("%d phases to come are drawn", n)
	}
	p.tap("DisclosureTriangle", "Light as a table…")
	p.tap("DisclosureTriangle", "Food as a table")
	p.says("Sprouted seed and egg food", "planned")
	p.follow("link", "Copy to next year")
	p.says("Last season, a year later", "29 February becomes 1 March")
	if got := p.value("Start: first longer day…"); got != strings.Replace(start, "2025", "2026", 1) {
		t.Errorf("the start %s is copied as %q", start, got)
	}
	p.follow("button", "Preview the season")
	p.says("Nothing is written yet")
	p.follow("button", "Write this season")
	p.says("The season 2026–27 is planned: full light by")
	p.shot("journey-season-next", true)
	p.follow("link", "Sep")
	p.says("September 2026")
	p.show("/season/plan?next=yes")
	p.expect("422")
	p.follow("button", "Preview the season")
	p.says("These plans stand in the books already")
	// One undo takes the whole of it back.
	batch := w.standing("lamp_planned")[1].Batch
	p.show("/strike/" + batch.String() + "?back=/season")
	p.follow("button", "Strike out")
	if n, m := len(w.standing("lamp_planned")), len(w.standing("feed_planned")); n != 1 || m != 1 {
		t.Errorf("after one undo %d lamp plans and %d feed plans stand", n, m)
	}
}

// sheets counts the pages of a PDF and reads the size of each, in points.
func sheets(pdf []byte) (pages int, wide, high float64) {
	pages = len(regexp.MustCompile(`/Type\s*/Page[^s]`).FindAll(pdf, -1))
	if m := regexp.MustCompile(`/MediaBox\s*\[\s*0\s+0\s+([\d.]+)\s+([\d.]+)`).FindSubmatch(pdf); m != nil {
		wide, _ = strconv.ParseFloat(string(m[1]), 64)
		high, _ = strconv.ParseFloat(string(m[2]), 64)
	}
	return pages, wide, high
}

// TestSeason_PrintsOnOneSheet prints the season of the demo room, and of a room of 60 pairs, as a browser does.
func TestSeason_PrintsOnOneSheet(t *testing.T) {
	t.Parallel()
	many := &wall{}
	for i := range 60 {
		at := newID()
		many.on(300, 8, &aviary.PlaceAdded{Place: at, Name: fmt.Sprintf("%c%d", 'A'+i/10, i%10+1), Type: aviary.Cage, Bank: fmt.Sprintf("Bay %d", i/10+1), Row: 1, Col: i%10 + 1})
		many.couple(at, 120)
		for k := range 3 {
			eggs := 2 + k
			many.on(90-i%30-k*3, 9, &aviary.NestCheck{Place: at, Eggs: &eggs})
		}
	}
	for _, room := range []struct {
		name  string
		s     *site
		lanes int
	}{{"demo", demoRoom(t, web.Config{Demo: true}), 40}, {"sixty", serve(t, web.Config{}, many.entries...), 60}} {
		for _, paper := range []struct {
			name       string
			wide, high float64 // mm
		}{{"a4", 297, 210}, {"a3", 420, 297}} {
			p := room.s.open(desk, "/season/print?paper="+paper.name)
			if n := js[int](p, `document.querySelectorAll(".yearpaper path[stroke='var(--line)']").length`); n < room.lanes {
				t.Errorf("%s: %d lines for %d lanes", room.name, n, room.lanes)
			}
			ctx, cancel := context.WithTimeout(p.ctx, patience)
			res, err := chromedp.Call(ctx, page.PrintToPDF, page.PrintToPDFParams{PreferCSSPageSize: new(true), PrintBackground: new(true)})
			cancel()
			if err != nil {
				t.Fatal(err)
			}
			if folder := os.Getenv("BROODLIGHT_SHOTS"); folder != "" {
				if err := os.WriteFile(filepath.Join(folder, "season-"+room.name+"-"+paper.name+".pdf"), res.Data, 0o644); err != nil {
					t.Fatal(err)
				}
			}
			n, wide, high := sheets(res.Data)
			const point = 25.4 / 72
			if n != 1 {
				t.Errorf("%s on %s: %d pages", room.name, paper.name, n)
			}
			if wide*point < paper.wide-1 || wide*point > paper.wide+1 || high*point < paper.high-1 || high*point > paper.high+1 {
				t.Errorf("%s on %s: a page of %.0f × %.0f mm, want %v × %v", room.name, paper.name, wide*point, high*point, paper.wide, paper.high)
			}
			// On paper: no beam, black on white, and nothing hangs out of the sheet.
			p.size(screen{width: int64((paper.wide - 16) / 25.4 * 96), height: int64((paper.high - 16) / 25.4 * 96)})
			ctx, cancel = context.WithTimeout(p.ctx, patience)
			_, err = chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"})
			cancel()
			if err != nil {
				t.Fatal(err)
			}
			for what, bad := range map[string]string{
				"the beam is printed":                 `getComputedStyle(document.querySelector(".beam")).display !== "none"`,
				"buttons are printed":                 `[...document.querySelectorAll("button,a.quiet")].some(e => e.getClientRects().length)`,
				"ink is not black":                    `getComputedStyle(document.documentElement).getPropertyValue("--ink").trim() !== "#000000"`,
				"the ground is not white":             `getComputedStyle(document.body).backgroundColor !== "rgb(255, 255, 255)"`,
				"the key hangs out of the sheet":      `document.querySelector(".legend").getBoundingClientRect().bottom > document.querySelector("main").getBoundingClientRect().bottom + 1`,
				"the picture hangs over the key":      `document.querySelector(".yearpaper").getBoundingClientRect().bottom > document.querySelector(".legend").getBoundingClientRect().top + 1`,
				"the picture is wider than the sheet": `document.querySelector(".yearpaper").getBoundingClientRect().right > innerWidth + 1`,
				"the picture is small":                `document.querySelector(".yearpaper").getBoundingClientRect().height < 0.7 * innerHeight`,
			} {
				if js[bool](p, bad) {
					t.Errorf("%s on %s: %s", room.name, paper.name, what)
				}
			}
		}
	}
}

// TestSeason_MonthByMonth goes from the year to a month and on to the next.
func TestSeason_MonthByMonth(t *testing.T) {
	t.Parallel()
	s := demoRoom(t, web.Config{Demo: true})
	p := s.open(desk, "/season")
	year := js[float64](p, `document.querySelector(".lanes .scroll").scrollWidth - document.querySelector(".lanes .scroll").clientWidth`)
	if year > 80 {
		t.Errorf("the year is %v px wider than its sheet on a desk", year)
	}
	p.follow("link", "Jan")
	p.says("January 2026", "13 Jan today")
	p.shot("journey-season-month", false)
	p.follow("link", "Month after")
	p.says("February 2026")
	p.follow("link", "Whole season")
	p.says("The season 2025–26")
}
