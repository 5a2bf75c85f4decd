package advice

import (
	"testing"

	"broodlight/internal/aviary"
)

func TestAway_SheetAndWhatHappened(t *testing.T) {
	b := zebras(t)
	if b.desk("2026-01-18").Away() != nil {
		t.Fatal("a sheet without being away")
	}
	b.add("2026-01-20", &aviary.NestCheck{Place: a1, Eggs: ptr(4), Chicks: ptr(0)})
	b.add("2026-01-21", &aviary.AwaySet{From: aviary.MustDate("2026-01-22"), To: aviary.MustDate("2026-02-05"), Text: "key under the pot"})
	s := b.desk("2026-01-21").Away()
	if s == nil || s.Running || s.Over || len(s.Days) != 15 || len(s.Places) != 2 {
		t.Fatalf("before leaving: %+v", s)
	}
	due := 0
	for _, day := range s.Days {
		for _, j := range day.Jobs {
			if day.Day < s.Span.From || day.Day > s.Span.To || j.Place.ID != a1 {
				t.Errorf("%s at %s on %s", j.Title, j.Place.Name, day.Day)
			}
			due++
		}
	}
	if due == 0 {
		t.Error("nothing falls due in a fortnight with four eggs sat on")
	}
	look := b.add("2026-01-25", &aviary.OddSeen{Place: a1, What: "water out"})
	s = b.desk("2026-02-06").Away()
	if s == nil || !s.Over || len(s.Happened) != 1 || s.Happened[0].Entry != look || s.Happened[0].Place.ID != a1 {
		t.Errorf("on return: %+v", s)
	}
	if b.desk("2026-03-01").Away() != nil {
		t.Error("the sheet is still there weeks later")
	}
}
