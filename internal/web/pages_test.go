package web

import (
	"io/fs"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"broodlight/internal/aviary"
)

var (
	quoted       = regexp.MustCompile(`"[^"]*"`)
	inlineStyle  = regexp.MustCompile(`<[a-z][^>]*\sstyle\s*=|<style`)
	inlineScript = regexp.MustCompile(`(?i)<script(?:\s[^>]*)?>[^<]|<[a-z][^>]*\son[a-z]+\s*=`)
	h1           = regexp.MustCompile(`<h1[^>]*>([^<]*)</h1>`)
	idAttr       = regexp.MustCompile(`\sid="([^"]*)"`)
	errorLink    = regexp.MustCompile(`<li><a href="#([^"]*)">`)
	labelFor     = regexp.MustCompile(`<label[^>]*\sfor="([^"]*)"`)
)

// sound checks what holds for every page: one headline, nothing inline, no id twice, each label with its control.
func (a answer) sound() answer {
	a.t.Helper()
	body := a.Body.String()
	if m := h1.FindAllStringSubmatch(body, -1); len(m) != 1 || strings.TrimSpace(m[0][1]) == "" {
		a.t.Errorf("the page has %d headlines: %v", len(m), m)
	}
	bare := quoted.ReplaceAllString(body, `""`) // what a person typed stands in quotes or in text, where it does nothing
	for _, re := range []*regexp.Regexp{inlineStyle, inlineScript} {
		if s := re.FindString(bare); s != "" {
			a.t.Errorf("the page has %q inline", s)
		}
	}
	ids := map[string]bool{}
	for _, m := range idAttr.FindAllStringSubmatch(body, -1) {
		if ids[m[1]] {
			a.t.Errorf("two things on the page have the id %q", m[1])
		}
		ids[m[1]] = true
	}
	for _, m := range labelFor.FindAllStringSubmatch(body, -1) {
		if !ids[m[1]] {
			a.t.Errorf("a label is for %q, which is not there", m[1])
		}
	}
	for _, m := range errorLink.FindAllStringSubmatch(body, -1) {
		if !ids[m[1]] {
			a.t.Errorf("an error leads to %q, which is not there", m[1])
		}
	}
	if strings.Contains(body, "ZgotmplZ") || strings.Contains(body, "%!") {
		a.t.Error("a value on the page could not be written")
	}
	return a
}

// smallRoom is a room with something of everything in it.
func smallRoom() []*aviary.Entry {
	place, cock, hen, pair, box := newID(), newID(), newID(), newID(), newID()
	eggs, dusk := 4, 30
	text := func(s string) *string { return &s }
	low := 2.0
	list := []aviary.Body{
		&aviary.RoomSet{Name: text("Back room"), Zone: text("Europe/Dublin"), SeasonStart: text("08-01")},
		&aviary.LampSet{On: aviary.ClockOf(6, 0), Off: aviary.ClockOf(20, 0), Dusk: &dusk},
		&aviary.RingsListed{Issuer: "FC", Year: 2026, From: 1, To: 60, Digits: 3, Size: 2.7, Species: []string{"zebra"}},
		&aviary.SpeciesSet{Species: "zebra", Parameter: "max_clutches_per_season", High: &low},
		&aviary.PlaceAdded{Place: place, Name: "A1", Type: aviary.Cage, Bank: "Left", Row: 1, Col: 1},
		&aviary.PlaceAdded{Place: newID(), Name: "Flight 1", Type: aviary.Flight},
		&aviary.BirdAcquired{Bird: cock, Species: "zebra", Sex: aviary.Cock, Ring: aviary.Ring{Issuer: "FC", Year: 2024, Number: "031"}, Place: place},
		&aviary.BirdAcquired{Bird: hen, Species: "zebra", Sex: aviary.Hen, Ring: aviary.Ring{Issuer: "FC", Year: 2024, Number: "076"}, Place: place},
		&aviary.PairSet{Pair: pair, Place: place, Cocks: []aviary.ID{cock}, Hens: []aviary.ID{hen}},
		&aviary.BoxHung{Box: box, Place: place},
		&aviary.NestCheck{Place: place, Look: "changed", Eggs: &eggs},
		&aviary.OddSeen{Place: place, What: "water out"},
	}
	var out []*aviary.Entry
	for _, b := range list {
		out = append(out, &aviary.Entry{ID: newID(), Body: b})
	}
	return out
}

// TestPages_AreSound walks every page that has a fixed address, in an empty room and in one that is not.
func TestPages_AreSound(t *testing.T) {
	for name, entries := range map[string][]*aviary.Entry{"empty": nil, "small": smallRoom()} {
		t.Run(name, func(t *testing.T) {
			m := newRoom(t, entries...)
			for _, r := range m.s.routed.list {
				if r.Method != http.MethodGet || strings.Contains(r.Path, "{") || r.Path == "/" {
					continue
				}
				t.Run(r.Path, func(t *testing.T) {
					a := m.get(r.Path)
					a.t = t
					if a.Code == http.StatusSeeOther {
						return
					}
					if a.Code != http.StatusOK && a.Code != http.StatusNotFound { // some ask to be told of what: /move?id=…
						t.Fatalf("status %d: %s", a.Code, a.text())
					}
					a.sound().lacks("no such page")
				})
			}
		})
	}
}

// TestTemplates_AreAllUsed holds the templates and the handlers to each other: each page is rendered somewhere, each rendered
// page is there, and each part is asked for by a page or another part.
func TestTemplates_AreAllUsed(t *testing.T) {
	m := newRoom(t)
	var code, marks strings.Builder
	sources, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range sources {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		b, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		code.Write(b)
	}
	err = fs.WalkDir(files, "templates", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		b, err := fs.ReadFile(files, path)
		marks.Write(b)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	for name := range m.s.pages {
		if !strings.Contains(code.String(), `"`+name+`"`) {
			t.Errorf("templates/%s.html is rendered nowhere", name)
		}
	}
	for _, x := range regexp.MustCompile(`\.render\("([^"]+)"`).FindAllStringSubmatch(code.String(), -1) {
		if m.s.pages[x[1]] == nil {
			t.Errorf("templates/%s.html is rendered and is not there", x[1])
		}
	}
	for _, x := range regexp.MustCompile(`{{-? ?define "([^"]+)"`).FindAllStringSubmatch(marks.String(), -1) {
		name := x[1]
		asked := strings.Contains(marks.String(), `template "`+name+`"`) || strings.Contains(marks.String(), `block "`+name+`"`) || strings.Contains(code.String(), `"`+name+`"`)
		if !asked {
			t.Errorf("the part %q is asked for nowhere", name)
		}
	}
}
