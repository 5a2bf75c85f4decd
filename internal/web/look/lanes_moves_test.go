package look

import (
	"encoding/xml"
	"io"
	"strings"
	"testing"
)

func TestLanesWithMoves_AddsTheArrowsAndNothingElse(t *testing.T) {
	v := LanesView{From: 0, To: 100, Today: 50, Light: []Point{{Day: 0, Value: 12}}, Lanes: []Lane{{Plate: "A1"}, {Plate: "A2"}}}
	plain := string(Lanes(v))
	if got := string(LanesWithMoves(v, nil)); got != plain {
		t.Error("without moves the picture differs from Lanes")
	}
	got := string(LanesWithMoves(v, []LaneMove{
		{Lane: 0, Day: 20, Words: "3 to A2"},
		{Lane: 1, Day: 20, In: true, Words: "3 from <A1>"},
		{Lane: 1, Day: 400, Words: "outside"},
		{Lane: 7, Day: 20, Words: "no such lane"},
	}))
	if !strings.HasPrefix(got, strings.TrimSuffix(plain, lanesEnd)) || !strings.HasSuffix(got, lanesEnd) {
		t.Error("the picture under the arrows differs from Lanes")
	}
	for _, want := range []string{"3 to A2", "3 from &lt;A1&gt;"} {
		if !strings.Contains(got, want) {
			t.Errorf("the picture does not say %q", want)
		}
	}
	for _, not := range []string{"outside", "no such lane", "style="} {
		if strings.Contains(got, not) {
			t.Errorf("the picture says %q", not)
		}
	}
	for dec := xml.NewDecoder(strings.NewReader(got)); ; {
		if _, err := dec.Token(); err == io.EOF {
			break
		} else if err != nil {
			t.Fatal(err)
		}
	}
	if got := LanesWithMoves(LanesView{From: 5, To: 1}, []LaneMove{{Words: "x"}}); got != "" {
		t.Errorf("a picture of no days: %q", got)
	}
}
