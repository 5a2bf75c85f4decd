package journal

import (
	"context"
	"testing"

	"broodlight/internal/aviary"
)

func TestEndSessions_LogsOutEverywhereAndNobodyElse(t *testing.T) {
	ctx := context.Background()
	j, err := Open(t.TempDir(), Options{Create: true})
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := j.Close(); err != nil {
			t.Error(err)
		}
	}()
	var ids []aviary.ID
	for _, name := range []string{"Nora", "Tom"} {
		p, err := j.AddPerson(ctx, name, aviary.Keeper)
		if err != nil {
			t.Fatal(err)
		}
		for range 2 {
			if _, err := j.NewSession(ctx, p.ID); err != nil {
				t.Fatal(err)
			}
		}
		ids = append(ids, p.ID)
	}
	if err := j.EndSessions(ctx, ids[0]); err != nil {
		t.Fatal(err)
	}
	open, err := j.Sessions(ctx)
	if err != nil || open[ids[0]] != 0 || open[ids[1]] != 2 {
		t.Errorf("open log-ins %v, error %v", open, err)
	}
}
