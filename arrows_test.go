package broodlight_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

const module = "broodlight"

// arrows is policy: each line names one package and all of ours that it may import. It is changed with a decision
// record, never to make a build pass.
//
// Words import nothing of ours. Numbers import other numbers only. Advice is where they meet. Journal and exchange
// see the words alone; web sees advice, the words and the journal. Edges never import each other: cli wires them, and
// nothing imports cli but the program.
var arrows = map[string][]string{
	// The words.
	"internal/aviary":  {},
	"internal/species": {},
	// The numbers.
	"internal/nest":           {},
	"internal/nest/plain":     {"internal/nest"},
	"internal/light":          {},
	"internal/pedigree":       {},
	"internal/pedigree/plain": {"internal/pedigree"},
	"internal/heredity":       {},
	"internal/heredity/plain": {"internal/heredity"},
	"internal/pairing":        {},
	"internal/pairing/plain":  {"internal/pairing"},
	"internal/outcome":        {},
	"internal/outcome/plain":  {},
	"internal/feed":           {},
	"internal/feed/plain":     {"internal/feed"},
	// Where they meet.
	"internal/advice": {"internal/aviary", "internal/species", "internal/nest", "internal/light", "internal/pedigree", "internal/heredity", "internal/pairing", "internal/outcome", "internal/feed"},
	// The edges.
	"internal/journal":             {"internal/aviary"},
	"internal/journal/journaltest": {"internal/aviary", "internal/species", "internal/journal"},
	"internal/exchange":            {"internal/aviary"},
	"internal/web":                 {"internal/aviary", "internal/species", "internal/advice", "internal/journal", "internal/web/look", "internal/nest", "internal/feed"}, // nest, feed: to read what advice hands on, see below
	"internal/web/look":            {},
	"internal/mqtt":                {"internal/aviary"},
	"internal/demo":                {"internal/aviary", "internal/species"},
	"internal/cli": {
		"internal/aviary", "internal/species", "internal/advice", "internal/journal", "internal/exchange", "internal/web", "internal/mqtt", "internal/demo",
		"internal/light", "internal/pedigree", "internal/heredity", "internal/pairing", "internal/outcome", "internal/feed",
	},
	"cmd/broodlight": {"internal/cli"},
}

// testOnly packages are imported by tests alone: slow twins, and rooms for tests.
var testOnly = []string{"internal/nest/plain", "internal/pedigree/plain", "internal/heredity/plain", "internal/pairing/plain", "internal/outcome/plain", "internal/feed/plain", "internal/journal/journaltest"}

// pure packages, the words and the numbers, reach neither the outside world, nor a clock, nor a hidden seed.
// math/rand/v2 may be named for its types: a generator is handed in.
func pure(pkg string) bool {
	for _, p := range []string{"aviary", "species", "nest", "light", "pedigree", "heredity", "pairing", "outcome", "feed"} {
		if pkg == "internal/"+p || strings.HasPrefix(pkg, "internal/"+p+"/") {
			return true
		}
	}
	return false
}

var outside = []string{"os", "os/exec", "log", "log/slog", "net", "net/http", "database/sql", "math/rand", "crypto/rand"}

// read are engines whose answers an edge may read, as advice hands them on, and the calls by which it would work them
// out itself.
var read = map[string]map[string][]string{
	"internal/web": {
		module + "/internal/nest": {"Timeline", "Clutches", "HatchSpread"},
		module + "/internal/feed": {"Analyse", "CheckMix", "EggEnergy", "FindGuard", "Intake", "JudgeWeight", "Mix", "Morning", "NewLarder", "ReadFoods", "ReadNeeds", "ReadRations", "ShellCalcium", "SproutingAt"},
	},
}

// clocks are the calls that read a clock, and the top-level functions of math/rand/v2, which draw from a seed that
// nobody chose.
var clocks = map[string][]string{
	"time":         {"Now", "Since", "Until", "Sleep", "After", "Tick", "NewTimer", "NewTicker", "AfterFunc"},
	"math/rand/v2": {"Int", "IntN", "Int32", "Int32N", "Int64", "Int64N", "Uint32", "Uint32N", "Uint64", "Uint64N", "UintN", "Uint", "Float32", "Float64", "NormFloat64", "ExpFloat64", "Perm", "Shuffle", "N"},
}

func TestArrows(t *testing.T) {
	documented := map[string]bool{} // package directory -> it has a package comment
	err := filepath.WalkDir(".", func(file string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() {
			if name := d.Name(); name == "testdata" || (len(name) > 1 && name[0] == '.') {
				return filepath.SkipDir
			}
			return nil
		}
		if !strings.HasSuffix(file, ".go") || strings.HasSuffix(file, "_test.go") {
			return nil
		}
		f, err := parser.ParseFile(token.NewFileSet(), file, nil, parser.ParseComments)
		if err != nil {
			return err
		}
		pkg := filepath.ToSlash(filepath.Dir(file))
		documented[pkg] = documented[pkg] || f.Doc != nil
		allowed, listed := arrows[pkg]
		if !listed {
			t.Errorf("%s: package %q has no line in arrows", file, pkg)
		}
		for _, spec := range f.Imports {
			imp, err := strconv.Unquote(spec.Path.Value)
			if err != nil {
				return err
			}
			if own, ours := strings.CutPrefix(imp, module+"/"); ours {
				if !slices.Contains(allowed, own) {
					t.Errorf("%s: %q must not import %q", file, pkg, own)
				}
				if slices.Contains(testOnly, own) {
					t.Errorf("%s: %q is for tests alone", file, own)
				}
			}
			if pure(pkg) && slices.Contains(outside, imp) {
				t.Errorf("%s: %q is pure and must not import %q", file, pkg, imp)
			}
		}
		if pure(pkg) {
			for _, call := range uses(f, clocks) {
				t.Errorf("%s: %q is pure and must not use %s", file, pkg, call)
			}
		}
		for _, call := range uses(f, read[pkg]) {
			t.Errorf("%s: %q must ask advice instead of %s", file, pkg, call)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	for pkg, said := range documented {
		if !said {
			t.Errorf("package %q has no package comment", pkg)
		}
	}
	for pkg := range arrows {
		if _, there := documented[pkg]; !there {
			t.Errorf("arrows lists %q, which is gone", pkg)
		}
	}
}

// uses lists the names of other packages that a file uses, out of those that are listed by import path.
func uses(f *ast.File, listed map[string][]string) []string {
	names := map[string]string{} // as a package is called in the file -> its import path
	for _, spec := range f.Imports {
		imp, _ := strconv.Unquote(spec.Path.Value) // the parser has read it
		if listed[imp] == nil {
			continue
		}
		name := path.Base(strings.TrimSuffix(imp, "/v2"))
		if spec.Name != nil {
			name = spec.Name.Name
		}
		names[name] = imp
	}
	var out []string
	ast.Inspect(f, func(n ast.Node) bool {
		sel, ok := n.(*ast.SelectorExpr)
		if !ok {
			return true
		}
		if x, ok := sel.X.(*ast.Ident); ok && slices.Contains(listed[names[x.Name]], sel.Sel.Name) {
			out = append(out, x.Name+"."+sel.Sel.Name)
		}
		return true
	})
	return out
}
