package look

import (
	"math"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// tokens reads the colours of a block of tokens.css, given its opening.
func tokens(t *testing.T, css, opening string) map[string]string {
	t.Helper()
	_, rest, ok := strings.Cut(css, opening+"{")
	if !ok {
		t.Fatalf("tokens.css has no block %s", opening)
	}
	block, _, _ := strings.Cut(rest, "}")
	out := map[string]string{}
	for _, m := range regexp.MustCompile(`--([a-z0-9-]+):\s*(#[0-9A-Fa-f]{6})`).FindAllStringSubmatch(block, -1) {
		out[m[1]] = m[2]
	}
	return out
}

func readTokens(t *testing.T) string {
	t.Helper()
	b, err := os.ReadFile("../static/tokens.css")
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// luminance is the relative luminance of WCAG 2.2.
func luminance(hex string) float64 {
	channel := func(s string) float64 {
		n, err := strconv.ParseUint(s, 16, 8)
		if err != nil {
			return math.NaN()
		}
		c := float64(n) / 255
		if c <= 0.04045 {
			return c / 12.92
		}
		return math.Pow((c+0.055)/1.055, 2.4)
	}
	return 0.2126*channel(hex[1:3]) + 0.7152*channel(hex[3:5]) + 0.0722*channel(hex[5:7])
}

func contrast(a, b string) float64 {
	x, y := luminance(a), luminance(b)
	return (math.Max(x, y) + 0.05) / (math.Min(x, y) + 0.05)
}

// TestContrast_KnownPairs holds the measure to values that follow from the definition in WCAG 2.2
// (black on white is 21) and to #767676 on white, the palest grey that passes 4.5, as commonly quoted
// (4.54, from memory).
func TestContrast_KnownPairs(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want float64
	}{{"#000000", "#FFFFFF", 21}, {"#777777", "#777777", 1}, {"#767676", "#FFFFFF", 4.54}} {
		if got := contrast(c.a, c.b); math.Abs(got-c.want) > 0.005 {
			t.Errorf("%s on %s: got %.3f, want %.2f", c.a, c.b, got, c.want)
		}
	}
}

// Text needs 4.5:1, edges and marks 3:1 (WCAG 2.2, 1.4.3 and 1.4.11).
const (
	text = 4.5
	edge = 3.0
)

// pairs are the colours that meet on the pages.
var pairs = []struct {
	on, ground string
	least      float64
}{
	{"ink", "ground", text},
	{"ink", "surface", text},
	{"ink", "sunk", text},
	{"ink", "box", text},
	{"ink", "beak-soft", text},
	{"ink", "dusk-soft", text},
	{"ink", "leaf-soft", text},
	{"ink", "lamp-soft", text},
	{"ink-2", "ground", text},
	{"ink-2", "surface", text},
	{"ink-2", "sunk", text},
	{"ink-3", "ground", text},
	{"ink-3", "surface", text},
	{"on-ink", "ink", text},
	{"beak", "ground", text},
	{"beak", "surface", text},
	{"beak", "beak-soft", text},
	{"beak", "box", edge},
	{"beak", "sunk", edge},
	{"on-beak", "beak", text},
	{"dusk", "ground", text},
	{"dusk", "surface", text},
	{"dusk", "dusk-soft", text},
	{"dusk", "sunk", edge},
	{"surface", "dusk", text},
	{"leaf", "ground", text},
	{"leaf", "surface", text},
	{"leaf", "leaf-soft", text},
	{"lamp-text", "ground", text},
	{"lamp-text", "surface", text},
	{"lamp-text", "lamp-soft", text},
	{"line-2", "surface", edge},
	{"line-2", "ground", edge},
	{"on-go", "go", text},
	{"go-edge", "ground", edge},
	{"on-plate", "plate", text},
	{"done", "ground", edge},
	{"focus", "ground", edge},
	{"focus", "surface", edge},
	{"on-k", "k0", text},
	{"on-k", "k1", text},
	{"on-k", "k2", text},
	{"on-k-deep", "k3", text},
	{"on-k-deep", "k4", text},
}

func TestTokens_EveryPairCanBeRead(t *testing.T) {
	css := readTokens(t)
	for name, opening := range map[string]string{"light": "\n:root", "lamps-off": `:root[data-theme="off"]`, "paper": ":root,:root[data-theme],:root:not([data-theme])"} {
		theme := tokens(t, css, opening)
		for _, p := range pairs {
			a, b := theme[p.on], theme[p.ground]
			if a == "" || b == "" {
				t.Errorf("%s: %s or %s is not a colour", name, p.on, p.ground)
				continue
			}
			if name == "paper" && a == b {
				continue // on paper soft grounds and some marks become one with it: shape and word carry the meaning
			}
			if got := contrast(a, b); got < p.least {
				t.Errorf("%s: %s on %s is %.2f, needs %.1f", name, p.on, p.ground, got, p.least)
			}
		}
	}
}

// TestTokens_TheSystemsDarkIsLampsOff holds the two copies of the lamps-off theme to one another.
func TestTokens_TheSystemsDarkIsLampsOff(t *testing.T) {
	css := readTokens(t)
	a, b := tokens(t, css, `:root[data-theme="off"]`), tokens(t, css, "  :root:not([data-theme])")
	if len(a) < 30 {
		t.Fatalf("only %d colours", len(a))
	}
	for k, v := range a {
		if b[k] != v {
			t.Errorf("%s is %s when chosen and %s when the system asks", k, v, b[k])
		}
	}
	if len(a) != len(b) {
		t.Errorf("%d colours against %d", len(a), len(b))
	}
}

// TestTokens_AreKnownWhereverTheyAreUsed finds a misspelt token in the drawings or the style sheet.
func TestTokens_AreKnownWhereverTheyAreUsed(t *testing.T) {
	css := readTokens(t)
	known := map[string]bool{"cell": true} // set and read inside look.css
	for _, m := range regexp.MustCompile(`--([a-z0-9-]+):`).FindAllStringSubmatch(css, -1) {
		known[m[1]] = true
	}
	sheet, err := os.ReadFile("../static/look.css")
	if err != nil {
		t.Fatal(err)
	}
	use := regexp.MustCompile(`var\(--([a-z0-9-]+)`)
	check := func(where, s string) {
		for _, m := range use.FindAllStringSubmatch(s, -1) {
			if !known[m[1]] {
				t.Errorf("%s uses --%s, which is no token", where, m[1])
			}
		}
	}
	check("look.css", string(sheet))
	for name, html := range drawings() {
		check(name, string(html))
	}
}

// TestSheet_HasNoTextUnder12 holds the floor of sizes in the style sheet.
func TestSheet_HasNoTextUnder12(t *testing.T) {
	sheet, err := os.ReadFile("../static/look.css")
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range regexp.MustCompile(`font-size:([\d.]+)(px|rem)`).FindAllStringSubmatch(string(sheet), -1) {
		n, err := strconv.ParseFloat(m[1], 64)
		if err != nil {
			t.Fatal(err)
		}
		if m[2] == "rem" {
			n *= 16
		}
		if n < 12 {
			t.Errorf("%s is under 12 px", m[0])
		}
	}
}
