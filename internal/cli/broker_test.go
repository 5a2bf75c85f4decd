package cli

import (
	"bytes"
	"context"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	mochi "github.com/mochi-mqtt/server/v2"
	"github.com/mochi-mqtt/server/v2/hooks/auth"
	"github.com/mochi-mqtt/server/v2/listeners"
	"github.com/mochi-mqtt/server/v2/packets"

	"broodlight/internal/aviary"
	"broodlight/internal/journal"
	"broodlight/internal/web"
)

// testBroker is a real broker on this computer that notes what is published.
type testBroker struct {
	mochi.HookBase
	t       *testing.T
	address string
	server  *mochi.Server

	mu    sync.Mutex
	heard []string
}

func newTestBroker(t *testing.T) *testBroker {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	b := &testBroker{t: t, address: l.Addr().String()}
	if err := l.Close(); err != nil {
		t.Fatal(err)
	}
	return b
}

func (b *testBroker) start() {
	b.t.Helper()
	b.server = mochi.New(&mochi.Options{Logger: slog.New(slog.NewTextHandler(io.Discard, nil))})
	if err := b.server.AddHook(new(auth.Hook), &auth.Options{Ledger: &auth.Ledger{Auth: auth.AuthRules{{Username: "birds", Password: "s3cret words", Allow: true}}}}); err != nil {
		b.t.Fatal(err)
	}
	if err := b.server.AddHook(b, nil); err != nil {
		b.t.Fatal(err)
	}
	if err := b.server.AddListener(listeners.NewTCP(listeners.Config{ID: "tcp", Address: b.address})); err != nil {
		b.t.Fatal(err)
	}
	go func() { _ = b.server.Serve() }() // it ends with Close
	b.t.Cleanup(func() { _ = b.server.Close() })
}

func (b *testBroker) ID() string { return "notes" }

func (b *testBroker) Provides(hook byte) bool {
	return bytes.Contains([]byte{mochi.OnPublish, mochi.OnWillSent}, []byte{hook})
}

func (b *testBroker) OnPublish(_ *mochi.Client, pk packets.Packet) (packets.Packet, error) {
	b.note(pk)
	return pk, nil
}

func (b *testBroker) OnWillSent(_ *mochi.Client, pk packets.Packet) { b.note(pk) }

func (b *testBroker) note(pk packets.Packet) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.heard = append(b.heard, pk.TopicName+" "+string(pk.Payload))
}

func (b *testBroker) said() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return strings.Join(b.heard, "\n")
}

func eventually(t *testing.T, what string, ok func() bool) {
	t.Helper()
	for end := time.Now().Add(20 * time.Second); !ok(); time.Sleep(10 * time.Millisecond) {
		if time.Now().After(end) {
			t.Fatalf("not within 20 s: %s", what)
		}
	}
}

// plannedRoom is a room whose lamps burn from midnight on, all day but for its last hour, with an hour of dusk.
func plannedRoom(t *testing.T, dir string, now func() time.Time) *journal.Book {
	t.Helper()
	book, err := journal.OpenBook(t.Context(), dir, journal.Options{Create: true, Now: now})
	if err != nil {
		t.Fatal(err)
	}
	zone, dusk, today := "UTC", 60, aviary.DayIn(now(), time.UTC)
	for _, body := range []aviary.Body{
		&aviary.RoomSet{Zone: &zone},
		&aviary.LampPlanned{Rest: 22, Full: 23, RampFrom: today - 60, FullBy: today - 30, TaperFrom: today + 60, RestBy: today + 90, On: aviary.ClockOf(0, 0), Step: 30, Every: 7, Dusk: &dusk},
	} {
		if err := book.Write(t.Context(), journal.Writer{By: "Nell", Role: aviary.Keeper}, &aviary.Entry{Body: body, Day: today - 90}); err != nil {
			t.Fatal(err)
		}
	}
	return book
}

func TestBroker_IsToldThePlannedLevels(t *testing.T) {
	at := time.Date(2026, 1, 13, 12, 0, 0, 0, time.UTC)
	book := plannedRoom(t, t.TempDir(), func() time.Time { return at })
	defer book.Close()
	levels := levels(book)
	for _, c := range []struct {
		clock string
		want  float64
	}{{"2026-01-13T00:00:00Z", 1}, {"2026-01-13T21:59:00Z", 1}, {"2026-01-13T22:30:00Z", 0.5}, {"2026-01-13T23:00:00Z", 0}, {"2026-01-14T00:00:00Z", 1}} {
		when, err := time.Parse(time.RFC3339, c.clock)
		if err != nil {
			t.Fatal(err)
		}
		got := levels(when)
		if len(got) != 1 || !got[0].Known || got[0].Level != c.want || got[0].Circuit != "" {
			t.Errorf("at %s: %+v, want %v", c.clock, got, c.want)
		}
	}
	// A circuit without a plan is not known.
	if err := book.Write(t.Context(), journal.Writer{By: "Nell", Role: aviary.Keeper}, &aviary.Entry{Body: &aviary.LampSet{Circuit: "Bay 2", On: aviary.ClockOf(6, 0), Off: aviary.ClockOf(20, 0)}}); err != nil {
		t.Fatal(err)
	}
	if got := levels(at); len(got) != 2 || got[1].Circuit != "Bay 2" || got[1].Known {
		t.Errorf("%+v", got)
	}
}

// TestServe_TellsABroker runs the program itself: the broker is away when the room opens, comes, and hears no more than
// "offline" when the room is closed. Nothing of it is exported.
func TestServe_TellsABroker(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Fatal("this test sends SIGTERM, which Windows does not know; run it elsewhere")
	}
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	link := filepath.Join(t.TempDir(), "broodlight") // the binary acts as the program under the program's name
	if err := os.Symlink(self, link); err != nil {
		t.Fatal(err)
	}
	dir := filepath.Join(t.TempDir(), "room")
	if err := plannedRoom(t, dir, time.Now).Close(); err != nil {
		t.Fatal(err)
	}
	b := newTestBroker(t)
	p, err := start(link, dir, os.Environ(), "serve", "--data", dir, "--addr", "127.0.0.1:0", "--no-open")
	if err != nil {
		t.Fatal(err)
	}
	defer p.kill()
	page := func() string {
		resp, err := http.Get(p.url + "settings/broker")
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(resp.Body)
		if err != nil {
			t.Fatal(err)
		}
		return string(text)
	}
	post := func(path string, values url.Values) {
		t.Helper()
		resp, err := http.PostForm(p.url+path, values)
		if err != nil {
			t.Fatal(err)
		}
		_ = resp.Body.Close()
		if resp.StatusCode != http.StatusOK { // after the redirect
			t.Fatalf("%s is answered with %s", path, resp.Status)
		}
	}
	if text := page(); !strings.Contains(text, "No broker is told about the lamps") {
		t.Errorf("at first: %s", text)
	}
	post("settings/broker", url.Values{"address": {"mqtt://" + b.address}, "user": {"birds"}, "password": {"s3cret words"}})
	post("settings/broker/switch", url.Values{"to": {"on"}})
	eventually(t, "the page says that the broker is away", func() bool { return strings.Contains(page(), "connection refused. It is tried again") })
	b.start()
	eventually(t, "the broker hears that the room is there", func() bool { return strings.Contains(b.said(), "broodlight/status online") })
	eventually(t, "the page says that it is reached", func() bool { return strings.Contains(page(), "Reached since ") })
	if text := page(); strings.Contains(text, "s3cret") {
		t.Error("the page shows the password")
	}
	if err := p.stop(); err != nil {
		t.Errorf("the stop: %v", err)
	}
	eventually(t, "the broker hears that the room is closed", func() bool { return strings.HasSuffix(b.said(), "broodlight/status offline") })
	if said := b.said(); strings.Contains(said, "OFF") || strings.HasSuffix(said, "level 0") {
		t.Errorf("the broker heard\n%s", said)
	}

	// It is on again when the room is opened again.
	p2, err := start(link, dir, os.Environ(), "serve", "--data", dir, "--addr", "127.0.0.1:0", "--no-open")
	if err != nil {
		t.Fatal(err)
	}
	eventually(t, "the broker hears that the room is there again", func() bool {
		return strings.HasSuffix(b.said(), "broodlight/status online") || strings.Contains(b.said()[strings.LastIndex(b.said(), "offline"):], "online")
	})
	if err := p2.stop(); err != nil {
		t.Errorf("the stop: %v", err)
	}

	out := filepath.Join(t.TempDir(), "csv")
	if code := Main([]string{"room", "export", "--data", dir, "--out", out}, strings.NewReader(""), io.Discard, io.Discard); code != 0 {
		t.Fatalf("the export ends with %d", code)
	}
	files, err := os.ReadDir(out)
	if err != nil || len(files) == 0 {
		t.Fatalf("%d files, %v", len(files), err)
	}
	for _, f := range files {
		data, err := os.ReadFile(filepath.Join(out, f.Name()))
		if err != nil {
			t.Fatal(err)
		}
		if bytes.Contains(data, []byte("s3cret")) || bytes.Contains(data, []byte(b.address)) {
			t.Errorf("%s holds the broker's settings", f.Name())
		}
	}
}

func TestBroker_SettingsThatCannotBeReadAreNone(t *testing.T) {
	book, err := journal.OpenBook(t.Context(), t.TempDir(), journal.Options{Create: true})
	if err != nil {
		t.Fatal(err)
	}
	defer book.Close()
	if err := book.SetSetting(t.Context(), "broker", "{"); err != nil {
		t.Fatal(err)
	}
	if s, err := web.BrokerOf(context.Background(), book); err != nil || s != (web.BrokerSettings{}) {
		t.Errorf("%+v, %v", s, err)
	}
}
