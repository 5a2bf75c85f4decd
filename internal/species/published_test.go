package species

import (
	"encoding/csv"
	"fmt"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// reading is one line of testdata/published.csv: a figure as it stands in print.
type reading struct {
	slug   string
	param  Parameter
	source string
	// kind is study, database, handbook or encyclopaedia; page is a web page of a
	// zoo, a society or a keeper and does not count as published.
	kind             string
	low, value, high *float64
	// used is yes; no for an entry known to be faulty (the note says why); same-root
	// for one that may be a copy of another and so is no second source.
	used, where, note string
}

func readings(t *testing.T) []reading {
	t.Helper()
	f, err := os.Open("testdata/published.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if got, want := strings.Join(rows[0], ","), "species,parameter,source,kind,low,value,high,used,where_read,note"; got != want {
		t.Fatalf("columns %s, want %s", got, want)
	}
	var rs []reading
	for i, row := range rows[1:] {
		figure := func(s string) *float64 {
			if s == "" {
				return nil
			}
			x, err := strconv.ParseFloat(s, 64)
			if err != nil {
				t.Fatalf("line %d: %v", i+2, err)
			}
			return &x
		}
		r := reading{
			slug: row[0], param: Parameter(row[1]), source: row[2], kind: row[3],
			low: figure(row[4]), value: figure(row[5]), high: figure(row[6]),
			used: row[7], where: row[8], note: row[9],
		}
		switch {
		case BySlug(r.slug) == nil:
			t.Fatalf("line %d: no species %q", i+2, r.slug)
		case !slices.Contains([]string{"study", "database", "handbook", "encyclopaedia", "page"}, r.kind):
			t.Fatalf("line %d: unknown kind %q", i+2, r.kind)
		case !slices.Contains([]string{"yes", "no", "same-root"}, r.used):
			t.Fatalf("line %d: used is %q", i+2, r.used)
		case r.used != "yes" && r.note == "":
			t.Fatalf("line %d: why is it not used?", i+2)
		case r.source == "" || r.where == "":
			t.Fatalf("line %d: no source, or not where it was read", i+2)
		case r.low == nil && r.value == nil && r.high == nil:
			t.Fatalf("line %d: no figure", i+2)
		}
		if _, ok := Describe(r.param); !ok {
			t.Fatalf("line %d: no parameter %q", i+2, r.param)
		}
		rs = append(rs, r)
	}
	return rs
}

// figure is the mean in print, the middle of a printed range, or a lone bound.
func (r reading) figure() float64 {
	_, typical, _, _ := Value{Low: r.low, Typical: r.value, High: r.high}.Span()
	return typical
}

// Outside check: the range of each profile holds what was published on the species,
// wherever two published sources exist. Figures, sources and where each was read are
// in testdata/published.csv; what has fewer than two sources is listed in
// testdata/not_asserted.golden with the basis that the page shows, and is not asserted.
func TestProfiles_HoldPublishedFigures(t *testing.T) {
	all := readings(t)
	var missing strings.Builder
	missing.WriteString("# Species and parameters with fewer than two published sources: not asserted.\n" +
		"# species | parameter | profile's value | its basis | published sources found\n")
	asserted, checked := 0, 0
	for _, p := range All() {
		for _, param := range []Parameter{ClutchSize, IncubationPeriod, FledgingAge, AdultMass} {
			v, ok := p.Value(param)
			if !ok {
				t.Errorf("%s: no %s", p.Slug, param)
				continue
			}
			var counted []string
			var held []reading
			for _, r := range all {
				if r.slug != p.Slug || r.param != param || r.used == "no" || r.kind == "page" {
					continue
				}
				held = append(held, r)
				if r.used == "yes" && !slices.Contains(counted, r.source) {
					counted = append(counted, r.source)
				}
			}
			if len(counted) < 2 {
				names := "none"
				if len(counted) == 1 {
					names = counted[0]
				}
				fmt.Fprintf(&missing, "%s | %s | %s | %s | %s\n", p.Slug, param, v, v.Basis.Label(), names)
				continue
			}
			asserted++
			low, _, high, _ := v.Span()
			for _, r := range held {
				checked++
				if x := r.figure(); x < low || x > high {
					t.Errorf("%s: %s is %v, which does not hold %v of %s", p.Slug, param, v, x, r.source)
				}
			}
		}
	}
	if asserted == 0 {
		t.Error("nothing was asserted")
	}
	fmt.Fprintf(&missing, "# asserted: %d of %d, with %d figures\n", asserted, 4*len(All()), checked)
	golden(t, "not_asserted.golden", missing.String())
}

// Entries that are known to be faulty stand in the list so that nobody takes them up
// again; no profile may rest on them.
func TestProfiles_LeaveFaultyEntriesOut(t *testing.T) {
	faulty := 0
	for _, r := range readings(t) {
		if r.used != "no" {
			continue
		}
		faulty++
		if v := BySlug(r.slug).Values[r.param]; v.Typical != nil && *v.Typical == r.figure() {
			t.Errorf("%s: %s is %v, the faulty figure of %s", r.slug, r.param, v, r.source)
		}
	}
	if faulty != 3 {
		t.Errorf("got %d faulty entries, want 3", faulty)
	}
	if v := BySlug("firetail").Values[ClutchSize]; *v.High > 12 {
		t.Errorf("diamond firetail: clutch %v", v)
	}
}
