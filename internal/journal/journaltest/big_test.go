package journaltest

import (
	"testing"

	"broodlight/internal/aviary"
)

func TestBig_EveryEntryMayBeWrittenAndStands(t *testing.T) {
	entries := Big(6, 3, 90, 1)
	r := aviary.NewRoom()
	today := entries[len(entries)-1].Day
	if err := r.Admit(entries, today, func() error { return nil }); err != nil {
		t.Fatal(err)
	}
	for _, a := range r.Aside() {
		t.Fatalf("set aside: %s of %s: %s", a.Entry.Kind, a.Entry.Day, a.Clash.Message)
	}
	if got, want := len(r.Birds()), 3*90+12; got != want {
		t.Errorf("%d birds, want %d", got, want)
	}
	if a, b := aviary.Replay(Big(6, 3, 90, 1)).Digest(), r.Digest(); a != b {
		t.Error("the same seed made another room")
	}
}

func TestBig_HasTheMixOfALargeRoom(t *testing.T) {
	entries := Big(100, 10, 2000, 1)
	n := map[aviary.Kind]int{}
	for _, e := range entries {
		n[e.Kind]++
	}
	t.Logf("%d entries: %v", len(entries), n)
	if len(entries) < 250_000 {
		t.Errorf("%d entries; the promise is about 250,000", len(entries))
	}
	if birds := n["chick_ringed"] + n["bird_acquired"]; birds < 20_000 {
		t.Errorf("%d birds; the promise is about 20,000", birds)
	}
}
