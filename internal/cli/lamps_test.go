package cli

import (
	"math"
	"strings"
	"testing"
	"time"
)

// The trade's example (common practice, no source), with the options that may be left out left out.
var season = strings.Fields("lamps --rest-hours 9.5 --full-hours 14 --ramp-from 2026-08-01 --full-by 2026-10-01 " +
	"--taper-from 2027-02-01 --rest-by 2027-04-01 --on 06:00 --tz America/New_York")

func TestLamps_OneRowADayAndNoStepTooLarge(t *testing.T) {
	rows := answer(t, "", season...)
	day := time.Date(2026, 8, 1, 0, 0, 0, 0, time.UTC)
	before := 9.5
	for _, r := range rows[1:] {
		if r[0] != day.Format(time.DateOnly) {
			t.Fatalf("the row of %s is that of %s", day.Format(time.DateOnly), r[0])
		}
		day = day.AddDate(0, 0, 1)
		hours, change := number(t, r[3]), number(t, r[6])
		if math.Abs(hours-before-change) > 1e-9 || math.Abs(change) > 0.5 {
			t.Errorf("%s: %v hours after %v, change %v", r[0], hours, before, change)
		}
		before = hours
	}
	if last := rows[len(rows)-1]; last[0] != "2027-04-01" || last[3] != "9.5" {
		t.Errorf("the last row is %v", last)
	}
	if first := rows[1]; first[3] != "10" || first[6] != "0.5" {
		t.Errorf("the first row is %v", first)
	}
	// On the two days when clocks change a timer that follows the wall warns, and birds' time does not.
	for _, day := range []string{"2026-11-01", "2027-03-14"} {
		for clock, warns := range map[string]bool{"wall": true, "standard": false} {
			for _, r := range answer(t, "", append(season, "--clock", clock)...) {
				if r[0] == day && (r[7] != "") != warns {
					t.Errorf("%s, clock %s: warning %q", day, clock, r[7])
				}
			}
		}
	}
}

func TestLamps_WrittenOutDefaultsChangeNothing(t *testing.T) {
	_, short, _ := run("", season...)
	_, long, errs := run("", append(season, strings.Fields("--step 0.5h --every 7 --moves evening --clock wall --windows none --dusk 0s")...)...)
	if short != long || short == "" {
		t.Errorf("the answers differ; %s", errs)
	}
}
