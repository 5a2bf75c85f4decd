package aviary

import (
	"testing"
	"time"
)

// FuzzEntry reads any bytes as the body of any kind: what is read writes back the same, and neither Check
// nor Apply panics, whatever it says.
func FuzzEntry(f *testing.F) {
	kinds := Kinds()
	b := twoCages()
	for _, e := range b.list {
		data, err := EncodeBody(e.Body)
		if err != nil {
			f.Fatal(err)
		}
		for i, k := range kinds {
			if k.Kind == e.Kind {
				f.Add(i, int32(e.Day), int16(0), data)
			}
		}
	}
	f.Add(0, int32(-5), int16(-3), []byte(`{}`))
	f.Fuzz(func(t *testing.T, kind int, day int32, clock int16, data []byte) {
		if kind < 0 || kind >= len(kinds) {
			return
		}
		k := kinds[kind]
		body, err := DecodeBody(k.Kind, 1, data)
		if err != nil {
			return
		}
		again, err := EncodeBody(body)
		if err != nil {
			t.Fatalf("what was read cannot be written: %v", err)
		}
		back, err := DecodeBody(k.Kind, 1, again)
		if err != nil {
			t.Fatalf("%s cannot be read again: %v", again, err)
		}
		if twice, _ := EncodeBody(back); string(twice) != string(again) {
			t.Fatalf("%s came back as %s", again, twice)
		}
		r := Replay(b.list)
		e := &Entry{ID: id(77), Kind: k.Kind, Version: 1, Day: Date(day), Time: Clock(clock), Written: time.Unix(0, 0).UTC(), Body: body}
		err = r.Check(e, MustDate(today))
		r.Apply(e)
		if aside := len(r.Aside()); err == nil && aside > 0 {
			t.Fatalf("%s passes the door and is set aside: %s", k.Kind, r.Aside()[0].Clash.Message)
		}
		_ = r.Digest()
	})
}
