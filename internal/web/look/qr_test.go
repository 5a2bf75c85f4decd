package look

import (
	"regexp"
	"strconv"
	"strings"
	"testing"

	"rsc.io/qr"
)

// TestQR_DrawsEveryDot paints the picture and holds it to the code, dot by dot. That the code itself is read by another program
// was tried on the printed page with zbarimg 0.23.
func TestQR_DrawsEveryDot(t *testing.T) {
	const text = "http://192.168.1.20:8417/cage/01a213d6-46b4-7048-aa1a-941f39bf793a"
	got, err := QR(text, `Cage "A3"`)
	if err != nil {
		t.Fatal(err)
	}
	code, err := qr.Encode(text, qr.M)
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(got), `aria-label="Cage &#34;A3&#34;"`) {
		t.Errorf("the label is missing: %.200s", got)
	}
	black := map[[2]int]bool{}
	for _, m := range regexp.MustCompile(`M(\d+) (\d+)h(\d+)v1h-(\d+)z`).FindAllStringSubmatch(string(got), -1) {
		var n [4]int
		for i := range n {
			n[i], _ = strconv.Atoi(m[i+1])
		}
		if n[2] != n[3] {
			t.Fatalf("a run goes %d there and %d back", n[2], n[3])
		}
		for x := range n[2] {
			black[[2]int{n[0] + x - quietZone, n[1] - quietZone}] = true
		}
	}
	for y := -quietZone; y < code.Size+quietZone; y++ {
		for x := -quietZone; x < code.Size+quietZone; x++ {
			if black[[2]int{x, y}] != code.Black(x, y) {
				t.Fatalf("dot %d %d is black: %t, want %t", x, y, black[[2]int{x, y}], code.Black(x, y))
			}
		}
	}
	if _, err := QR(strings.Repeat("x", 4000), ""); err == nil {
		t.Error("a text that is too long has a code")
	}
}
