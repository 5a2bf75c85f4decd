package exchange

import (
	"flag"
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"broodlight/internal/aviary"
)

var update = flag.Bool("update", false, "write the tables of docs/files.md afresh")

const filesPage = "../../docs/files.md"

// between puts text between a mark and the end behind it.
func between(tb testing.TB, page, from, to, text string) string {
	tb.Helper()
	head, rest, ok := strings.Cut(page, from)
	if !ok {
		tb.Fatalf("%s has no %q", filesPage, from)
	}
	_, tail, ok := strings.Cut(rest, to)
	if !ok {
		tb.Fatalf("%s has no %q behind %q", filesPage, to, from)
	}
	return head + from + text + to + tail
}

func markdownRow(b *strings.Builder, cells ...string) {
	for _, c := range cells {
		b.WriteString("| " + strings.ReplaceAll(c, "|", `\|`) + " ")
	}
	b.WriteString("|\n")
}

// TestDocs_FilesPageSaysWhatIsWritten holds the tables of docs/files.md against the doc tags. After a column
// was added or changed: go test ./internal/exchange -run Docs -update
func TestDocs_FilesPageSaysWhatIsWritten(t *testing.T) {
	page, err := os.ReadFile(filesPage)
	if err != nil {
		t.Fatal(err)
	}
	var birds, columns strings.Builder
	birds.WriteString("\n\n")
	markdownRow(&birds, "column", "what it holds", "other header words that are read")
	markdownRow(&birds, "---", "---", "---")
	for i, c := range BirdsColumns() {
		var others []string
		for _, w := range birdColumns[i].words {
			if w != headerWord(c.Name) {
				others = append(others, w)
			}
		}
		markdownRow(&birds, "`"+c.Name+"`", c.Meaning, strings.Join(others, ", "))
	}
	columns.WriteString("\n### Every file begins with\n\n")
	head := func() {
		markdownRow(&columns, "column", "what it means")
		markdownRow(&columns, "---", "---")
	}
	head()
	for _, c := range envelope {
		markdownRow(&columns, "`"+c.Name+"`", c.Meaning)
	}
	for _, info := range aviary.Kinds() {
		fmt.Fprintf(&columns, "\n### `%s`: %s\n\n", FileName(info.Kind), info.Label)
		head()
		for _, c := range Columns(info.Kind)[len(envelope):] {
			markdownRow(&columns, "`"+c.Name+"`", c.Meaning)
		}
	}
	want := between(t, string(page), "```csv\n", "```", BirdsExample)
	want = between(t, want, "<!-- birds -->", "<!-- end -->", birds.String())
	want = between(t, want, "<!-- columns -->", "<!-- end -->", columns.String())
	if *update {
		if err := os.WriteFile(filesPage, []byte(want), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	if diff := cmp.Diff(string(page), want); diff != "" {
		t.Errorf("docs/files.md does not say what is written (run with -update):\n%s", diff)
	}
}

// TestDocs_ExampleComesIn brings in the example that the page and the set-up show.
func TestDocs_ExampleComesIn(t *testing.T) {
	room := aviary.NewRoom()
	brought(t, room, options(), BirdsExample)
	if got := len(room.Birds()); got != 4 {
		t.Errorf("%d birds, want three and the mother without a row", got)
	}
	if l := room.Parents(wearer(t, room, "FC 25-019").ID); l.Sire != wearer(t, room, "FC 23-001").ID || l.Dam != wearer(t, room, "FC 23-014").ID {
		t.Errorf("parents = %+v", l)
	}
}

// TestBirdsColumns_HeaderWords holds that each header word leads to one column, in capitals and with signs too.
func TestBirdsColumns_HeaderWords(t *testing.T) {
	seen := map[string]string{}
	for i, c := range BirdsColumns() {
		if columnOfWord[headerWord(c.Name)] != i || c.Meaning == "" {
			t.Errorf("%q is not read as its own column, or says nothing", c.Name)
		}
		for _, w := range birdColumns[i].words {
			if was, twice := seen[w]; twice {
				t.Errorf("%q leads to %s and to %s", w, was, c.Name)
			}
			seen[w] = c.Name
			if w != headerWord(w) {
				t.Errorf("%q is not in the form in which header words are compared", w)
			}
		}
	}
	for _, h := range []string{"Ring No.", "RING_NUMBER", "Sire's ring", "Date of hatch", "Hatch-date", "Sire ID"} {
		if _, ok := columnOfWord[headerWord(h)]; !ok {
			t.Errorf("%q is not read", h)
		}
	}
}
