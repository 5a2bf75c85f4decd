package cli

import (
	"flag"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"broodlight/internal/feed"
)

var update = flag.Bool("update", false, "write the answers of docs/feeding.md afresh")

// TestDocs_FeedingExamplesRun runs every command of docs/feeding.md on the very files that the page shows, and holds the
// page to the answers.
func TestDocs_FeedingExamplesRun(t *testing.T) {
	path, err := filepath.Abs("../../docs/feeding.md")
	if err != nil {
		t.Fatal(err)
	}
	page, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(t.TempDir())
	block := regexp.MustCompile("(?ms)^```(csv|console)([^\n]*)\n(.*?)^```$")
	ran := 0
	out := block.ReplaceAllStringFunc(string(page), func(whole string) string {
		m := block.FindStringSubmatch(whole)
		kind, info, text := m[1], strings.TrimSpace(m[2]), m[3]
		if kind == "csv" {
			if err := os.WriteFile(filepath.Base(info), []byte(text), 0o600); err != nil {
				t.Error(err)
			}
			return whole
		}
		command, said, _ := strings.Cut(text, "\n")
		args := strings.Fields(strings.TrimPrefix(command, "$ broodlight "))
		code, stdout, stderr := run("", args...)
		ran++
		if want := map[string]int{"": exitFine, "exit 2": exitBad}[info]; code != want {
			t.Errorf("%s: exit code %d, want %d; %s", command, code, want, stderr)
		}
		if got := stdout + stderr; !sameAnswer(got, said) && !*update {
			t.Errorf("%s says\n%s\nthe page has\n%s", command, got, said)
		}
		return "```" + kind + m[2] + "\n" + command + "\n" + stdout + stderr + "```"
	})
	if ran < 3 {
		t.Errorf("%d commands were run; the page is read wrongly", ran)
	}
	if *update {
		if err := os.WriteFile(path, []byte(out), 0o600); err != nil {
			t.Fatal(err)
		}
	}
}

// sameAnswer compares two answers cell by cell, numbers to nine digits: other computers round the last ones otherwise.
func sameAnswer(got, want string) bool {
	cells := func(s string) []string {
		return strings.FieldsFunc(s, func(r rune) bool { return r == ',' || r == '\n' })
	}
	a, b := cells(got), cells(want)
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		x, errX := strconv.ParseFloat(a[i], 64)
		y, errY := strconv.ParseFloat(b[i], 64)
		if errX != nil || errY != nil {
			if a[i] != b[i] {
				return false
			}
		} else if math.Abs(x-y) > 1e-9*max(1, math.Abs(y)) {
			return false
		}
	}
	return true
}

// TestDocs_FeedingNamesEveryColumnAndFood holds the page to the columns that the files may have and the foods that they may name.
func TestDocs_FeedingNamesEveryColumnAndFood(t *testing.T) {
	page := pages(t)["docs/feeding.md"]
	for _, f := range feed.Foods() {
		if !strings.Contains(page, "`"+f.ID+"`") {
			t.Errorf("docs/feeding.md does not name the food %s", f.ID)
		}
	}
	// A file with a column that is not known is refused with those that are.
	for what, err := range map[string]error{
		"ration.csv": second(feed.ReadRations([]byte("x\n1\n"), nil)),
		"needs.csv":  second(feed.ReadNeeds([]byte("x\n1\n"))),
	} {
		_, known, ok := strings.Cut(err.Error(), "Known are ")
		if !ok {
			t.Fatalf("%s: %v", what, err)
		}
		for _, column := range strings.Split(strings.TrimSuffix(known, "."), ", ") {
			if !strings.Contains(page, "`"+column+"`") {
				t.Errorf("docs/feeding.md does not name the column %s of %s", column, what)
			}
		}
	}
}

func second[T any](_ T, err error) error { return err }
