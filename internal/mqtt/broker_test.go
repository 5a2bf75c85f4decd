package mqtt

import (
	"bytes"
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"fmt"
	"io"
	"log/slog"
	"math/big"
	"net"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	mochi "github.com/mochi-mqtt/server/v2"
	"github.com/mochi-mqtt/server/v2/hooks/auth"
	"github.com/mochi-mqtt/server/v2/listeners"
	"github.com/mochi-mqtt/server/v2/packets"
)

// broker is a real one on a port of its own on this computer, which can be killed and started again.
type broker struct {
	t       *testing.T
	address string
	secure  *tls.Config
	ledger  *auth.Ledger // nil lets everybody in

	server *mochi.Server
	mu     sync.Mutex
	heard  []string // "topic text", as published, in order
	expiry map[string]uint32
}

func newBroker(t *testing.T) *broker {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	b := &broker{t: t, address: l.Addr().String(), expiry: map[string]uint32{}}
	if err := l.Close(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(b.kill)
	return b
}

func (b *broker) start() *broker {
	b.t.Helper()
	b.server = mochi.New(&mochi.Options{Logger: quiet()})
	var err error
	if b.ledger == nil {
		err = b.server.AddHook(new(auth.AllowHook), nil)
	} else {
		err = b.server.AddHook(new(auth.Hook), &auth.Options{Ledger: b.ledger})
	}
	if err != nil {
		b.t.Fatal(err)
	}
	if err := b.server.AddHook(&recorder{b: b}, nil); err != nil {
		b.t.Fatal(err)
	}
	if err := b.server.AddListener(listeners.NewTCP(listeners.Config{ID: "tcp", Address: b.address, TLSConfig: b.secure})); err != nil {
		b.t.Fatal(err)
	}
	go func() { _ = b.server.Serve() }() // it ends with Close
	return b
}

// kill ends the broker as a power cut does: everybody is thrown out, and what it kept is gone.
func (b *broker) kill() {
	if b.server != nil {
		if err := b.server.Close(); err != nil {
			b.t.Error(err)
		}
		b.server = nil
	}
}

// recorder notes what is published, wills too.
type recorder struct {
	mochi.HookBase
	b *broker
}

func (r *recorder) ID() string { return "recorder" }

func (r *recorder) Provides(hook byte) bool {
	return bytes.Contains([]byte{mochi.OnPublish, mochi.OnWillSent}, []byte{hook})
}

// OnPublish is called before the broker acknowledges a message.
func (r *recorder) OnPublish(_ *mochi.Client, pk packets.Packet) (packets.Packet, error) {
	r.note(pk)
	return pk, nil
}

func (r *recorder) OnWillSent(_ *mochi.Client, pk packets.Packet) { r.note(pk) }

func (r *recorder) note(pk packets.Packet) {
	r.b.mu.Lock()
	defer r.b.mu.Unlock()
	r.b.heard = append(r.b.heard, pk.TopicName+" "+string(pk.Payload))
	r.b.expiry[pk.TopicName] = pk.Properties.MessageExpiryInterval
}

// take returns what was published since the last time.
func (b *broker) take() []string {
	b.mu.Lock()
	defer b.mu.Unlock()
	out := b.heard
	b.heard = nil
	return out
}

// retained is what the broker keeps, by topic, once it keeps a text under one.
func (b *broker) retained(topic, text string) map[string]string {
	b.t.Helper()
	for end := time.Now().Add(10 * time.Second); ; time.Sleep(2 * time.Millisecond) {
		kept := b.kept()
		if kept[topic] == text {
			return kept
		}
		if time.Now().After(end) {
			b.t.Fatalf("%s is not %q: %v", topic, text, kept)
		}
	}
}

func (b *broker) kept() map[string]string {
	out := map[string]string{}
	for _, pk := range b.server.Topics.Messages("#") {
		out[pk.TopicName] = string(pk.Payload)
	}
	return out
}

func quiet() *slog.Logger { return slog.New(slog.NewTextHandler(io.Discard, nil)) }

// room is a publisher under a clock of the test's.
type room struct {
	t     *testing.T
	p     *Publisher
	ticks chan time.Time
	stop  func()

	mu   sync.Mutex
	now  time.Time
	plan func(time.Time) []Level
}

func newRoom(t *testing.T, now time.Time) *room {
	t.Helper()
	r := &room{t: t, ticks: make(chan time.Time), now: now}
	r.plan = func(t time.Time) []Level { return []Level{{"", day(t), true}} }
	r.p = New(Options{
		ClientID: "broodlight-test", Log: quiet(), Ticks: r.ticks,
		Now:    func() time.Time { r.mu.Lock(); defer r.mu.Unlock(); return r.now },
		Levels: func(at time.Time) []Level { r.mu.Lock(); defer r.mu.Unlock(); return r.plan(at) },
		Retry:  func(int) time.Duration { return 5 * time.Millisecond },
	})
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan struct{})
	go func() { defer close(done); r.p.Run(ctx) }()
	r.stop = sync.OnceFunc(func() { cancel(); <-done })
	t.Cleanup(r.stop)
	return r
}

// tick sets the clock and lets the publisher look at it.
func (r *room) tick(now time.Time) {
	r.mu.Lock()
	r.now = now
	r.mu.Unlock()
	r.ticks <- now
	r.ticks <- now // taken when the first is done with
}

// until ticks every 15 s up to an instant.
func (r *room) until(to time.Time) {
	r.mu.Lock()
	now := r.now
	r.mu.Unlock()
	for now = now.Add(15 * time.Second); !now.After(to); now = now.Add(15 * time.Second) {
		r.tick(now)
	}
}

// reached waits until the publisher is, or is not, connected.
func (r *room) reached(want bool) State {
	r.t.Helper()
	return r.waits(fmt.Sprintf("reached %v", want), func(s State) bool { return s.Reached == want && (want || s.Problem != "") })
}

func (r *room) waits(what string, ok func(State) bool) State {
	r.t.Helper()
	for end := time.Now().Add(10 * time.Second); ; time.Sleep(2 * time.Millisecond) {
		s := r.p.State()
		if ok(s) {
			return s
		}
		if time.Now().After(end) {
			r.t.Fatalf("not %s: %+v", what, s)
		}
	}
}

// settled waits until what was published is noted, and returns it.
func (r *room) settled(b *broker) []string {
	r.tick(r.p.o.Now())
	return b.take()
}

// offs are the messages that would put a lamp out.
func offs(heard []string) (out []string) {
	for _, m := range heard {
		if strings.HasSuffix(m, "/state OFF") || strings.HasSuffix(m, "/level 0") {
			out = append(out, m)
		}
	}
	return out
}

func TestPublisher_SaysStateAndLevelRetained(t *testing.T) {
	b := newBroker(t).start()
	r := newRoom(t, at("12:00:00"))
	r.plan = func(time.Time) []Level {
		return []Level{{"", 1, true}, {"Left bank", 1, true}, {"no plan", 0, false}}
	}
	r.p.Set(&Settings{Address: b.address, Prefix: "house/birds"})
	s := r.reached(true)
	r.settled(b)
	want := map[string]string{
		"house/birds/status":     "online",
		"house/birds/room/state": "ON", "house/birds/room/level": "100",
		"house/birds/circuit/Left bank/state": "ON", "house/birds/circuit/Left bank/level": "100",
	}
	got := b.retained("house/birds/circuit/Left bank/state", "ON")
	for topic, text := range want {
		if got[topic] != text {
			t.Errorf("%s is %q, want %q", topic, got[topic], text)
		}
	}
	for topic := range got {
		if want[topic] == "" && !strings.HasPrefix(topic, "$SYS") {
			t.Errorf("%s is kept too", topic)
		}
	}
	b.mu.Lock()
	if b.expiry["house/birds/room/state"] != forgotten || b.expiry["house/birds/room/level"] != forgotten || b.expiry["house/birds/status"] != 0 {
		t.Errorf("forgotten after %v", b.expiry)
	}
	b.mu.Unlock()
	s = r.p.State()
	if !s.On || !s.Reached || !s.Since.Equal(at("12:00:00")) || s.Sent.IsZero() || len(s.Circuits) != 3 {
		t.Fatalf("%+v", s)
	}
	if c := s.Circuits[1]; c.Name != "Left bank" || c.Topic != "house/birds/circuit/Left bank" || c.Percent != 100 || !c.Told || c.Quiet != Speaking {
		t.Errorf("%+v", c)
	}
	if c := s.Circuits[2]; c.Told || c.Quiet != NotPlanned {
		t.Errorf("%+v", c)
	}
}

func TestPublisher_FadesADuskAndNeverSaysOffAtTheEnd(t *testing.T) {
	b := newBroker(t).start()
	r := newRoom(t, at("19:00:00"))
	r.p.Set(&Settings{Address: b.address})
	r.reached(true)
	r.until(at("19:29:00"))
	for _, m := range b.take() {
		if m != "broodlight/status online" && m != "broodlight/room/state ON" && m != "broodlight/room/level 100" {
			t.Errorf("before dusk: %s", m)
		}
	}
	r.until(at("19:59:45"))
	heard := b.take()
	if off := offs(heard); off != nil || len(heard) < 100 {
		t.Errorf("in the dusk %d messages, of them %v", len(heard), off)
	}
	r.until(at("20:00:00"))
	if heard := b.take(); !slices.Equal(heard, []string{"broodlight/room/level 0", "broodlight/room/state OFF"}) {
		t.Errorf("at its end %v", heard)
	}
	r.until(at("20:30:00"))
	if heard := b.take(); heard != nil {
		t.Errorf("in the dark %v", heard)
	}
	r.stop()
	if heard := b.take(); !slices.Equal(heard, []string{"broodlight/status offline"}) {
		t.Errorf("when the room is closed %v", heard)
	}
}

func TestPublisher_StopsAndStartsAtMiddayWithoutAnOff(t *testing.T) {
	b := newBroker(t).start()
	for range 2 {
		r := newRoom(t, at("12:00:00"))
		r.p.Set(&Settings{Address: b.address})
		r.reached(true)
		r.until(at("12:05:00"))
		r.p.Set(nil) // off by the keeper
		r.waits("off", func(s State) bool { return !s.On })
		if kept := b.retained("broodlight/status", "offline"); kept["broodlight/room/state"] != "ON" {
			t.Errorf("kept %v", kept)
		}
		r.p.Set(&Settings{Address: b.address})
		r.reached(true)
		r.settled(b)
		r.stop()
	}
	if off := offs(b.take()); off != nil {
		t.Errorf("said %v", off)
	}
}

func TestPublisher_StartInTheDarkIsSilentUntilTheLampsAreOn(t *testing.T) {
	b := newBroker(t).start()
	r := newRoom(t, at("05:30:00"))
	r.p.Set(&Settings{Address: b.address})
	r.reached(true)
	r.until(at("05:59:45"))
	if heard := b.take(); !slices.Equal(heard, []string{"broodlight/status online"}) {
		t.Errorf("in the dark %v", heard)
	}
	if c := r.p.State().Circuits[0]; c.Quiet != StartedLow || c.Told {
		t.Errorf("%+v", c)
	}
	r.until(at("06:00:00"))
	if heard := b.take(); !slices.Equal(heard, []string{"broodlight/room/level 100", "broodlight/room/state ON"}) {
		t.Errorf("when they come on %v", heard)
	}
}

func TestPublisher_ABrokerThatIsKilledAndComesBack(t *testing.T) {
	b := newBroker(t).start()
	r := newRoom(t, at("07:00:00"))
	r.p.Set(&Settings{Address: b.address})
	r.reached(true)
	r.until(at("07:40:00"))
	b.kill()
	s := r.reached(false)
	if !s.Since.Equal(at("07:40:00")) {
		t.Errorf("since %v", s.Since)
	}
	s = r.waits("refused", func(s State) bool { return s.Problem == "connection refused" })
	r.until(at("08:00:00")) // the room goes on, and nothing waits for the broker
	if s = r.p.State(); !s.Since.Equal(at("07:40:00")) {
		t.Errorf("since %v after more tries", s.Since)
	}
	b.take()
	b.start()
	s = r.reached(true)
	if s.Problem != "" || !s.Since.Equal(at("08:00:00")) {
		t.Errorf("%+v", s)
	}
	if heard := r.settled(b); !slices.Equal(heard, []string{"broodlight/status online", "broodlight/room/level 100", "broodlight/room/state ON"}) {
		t.Errorf("after it came back %v", heard)
	}
}

func TestPublisher_LossDuringDusk(t *testing.T) {
	for _, c := range []struct {
		name, lost, back string
		first            string // what is said of the level then; "" for nothing
		off              bool   // is said in the end
	}{
		{"back within the dusk", "19:35:00", "19:50:00", "broodlight/room/level 63", true}, // from 83, a fifth of full light less
		{"back in the dark", "19:35:00", "21:00:00", "", false},
		{"lost and back in the dark", "21:00:00", "22:00:00", "", false}, // off was said at eight
	} {
		t.Run(c.name, func(t *testing.T) {
			b := newBroker(t).start()
			r := newRoom(t, at("19:20:00"))
			r.p.Set(&Settings{Address: b.address})
			r.reached(true)
			r.until(at(c.lost))
			b.kill()
			r.reached(false)
			r.until(at(c.back))
			b.take()
			b.start()
			r.reached(true)
			heard := r.settled(b)
			switch {
			case c.first != "" && (len(heard) != 3 || heard[1] != c.first || heard[2] != "broodlight/room/state ON"):
				t.Errorf("at once %v", heard)
			case c.first == "" && !slices.Equal(heard, []string{"broodlight/status online"}):
				t.Errorf("at once %v", heard)
			}
			r.until(at("23:00:00"))
			if off := offs(b.take()); (off != nil) != c.off {
				t.Errorf("then %v", off)
			}
		})
	}
}

func TestPublisher_APlanStruckOutPutsNothingOut(t *testing.T) {
	b := newBroker(t).start()
	r := newRoom(t, at("12:00:00"))
	r.p.Set(&Settings{Address: b.address})
	r.reached(true)
	r.until(at("12:05:00"))
	r.mu.Lock()
	r.plan = func(time.Time) []Level { return nil }
	r.mu.Unlock()
	r.until(at("12:30:00"))
	r.mu.Lock()
	r.plan = func(t time.Time) []Level { return []Level{{"", 0, true}} } // another, under which it is dark at midday
	r.mu.Unlock()
	r.until(at("13:00:00"))
	r.stop()
	if off := offs(b.take()); off != nil {
		t.Errorf("said %v", off)
	}
}

func TestPublisher_WrongPassword(t *testing.T) {
	b := newBroker(t)
	b.ledger = &auth.Ledger{Auth: auth.AuthRules{{Username: "birds", Password: "seed and water", Allow: true}}}
	b.start()
	r := newRoom(t, at("12:00:00"))
	r.p.Set(&Settings{Address: b.address, User: "birds", Password: "wrong"})
	if s := r.reached(false); s.Problem != "wrong user or password" {
		t.Errorf("%+v", s)
	}
	if err := Test(context.Background(), Settings{Address: b.address, User: "birds", Password: "wrong"}, "test"); err == nil || err.Error() != "the broker was not reached: wrong user or password" {
		t.Errorf("test: %v", err)
	}
	good := Settings{Address: b.address, User: "birds", Password: "seed and water"}
	if err := Test(context.Background(), good, "test"); err != nil {
		t.Errorf("test: %v", err)
	}
	if heard := b.take(); heard != nil {
		t.Errorf("a test said %v", heard)
	}
	r.p.Set(&good)
	r.reached(true)
}

func TestPublisher_TheBrokerSaysOfflineWhenTheProgramDies(t *testing.T) {
	b := newBroker(t).start()
	l, err := dial(context.Background(), Settings{Address: b.address}, "dies", true)
	if err != nil {
		t.Fatal(err)
	}
	if err := l.send(context.Background(), l.status, online, false); err != nil {
		t.Fatal(err)
	}
	client, ok := b.server.Clients.Get("dies")
	if !ok {
		t.Fatal("the broker does not know the client")
	}
	_ = client.Net.Conn.Close() // the line is cut
	<-l.lost
	b.retained("broodlight/status", "offline")
	if off := offs(b.take()); off != nil {
		t.Errorf("said %v", off)
	}
}

func TestPublisher_EncryptedLine(t *testing.T) {
	cert, ca := certificate(t)
	b := newBroker(t)
	b.secure = &tls.Config{Certificates: []tls.Certificate{cert}, MinVersion: tls.VersionTLS12}
	b.start()
	ctx := context.Background()
	if err := Test(ctx, Settings{Address: "mqtts://" + b.address, CA: ca}, "test"); err != nil {
		t.Errorf("with its authority: %v", err)
	}
	for _, c := range []struct {
		name string
		s    Settings
		says string
	}{
		{"an authority that nobody knows", Settings{Address: "mqtts://" + b.address}, "nobody whom this computer trusts"},
		{"another name", Settings{Address: "mqtts://localhost:" + b.address[strings.LastIndex(b.address, ":")+1:], CA: ca}, "for another name"},
		{"plain to an encrypted port", Settings{Address: b.address}, "may want mqtts://"},
	} {
		if err := Test(ctx, c.s, "test"); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v", c.name, err)
		}
	}
	plain := newBroker(t).start()
	if err := Test(ctx, Settings{Address: "mqtts://" + plain.address}, "test"); err == nil {
		t.Error("encrypted to a plain port: no error")
	}
}

// certificate makes one for 127.0.0.1 alone, signed by itself.
func certificate(t *testing.T) (tls.Certificate, string) {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	template := &x509.Certificate{
		SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "test broker"}, IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)},
		NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour), IsCA: true, BasicConstraintsValid: true,
		KeyUsage: x509.KeyUsageDigitalSignature | x509.KeyUsageCertSign,
	}
	der, err := x509.CreateCertificate(rand.Reader, template, template, &key.PublicKey, key)
	if err != nil {
		t.Fatal(err)
	}
	return tls.Certificate{Certificate: [][]byte{der}, PrivateKey: key}, string(pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der}))
}

func TestPublisher_ABrokerThatAnswersNothingDoesNotHoldUpTheEnd(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	r := newRoom(t, at("12:00:00"))
	r.p.Set(&Settings{Address: l.Addr().String()})
	r.until(at("12:10:00")) // looks go on
	begun := time.Now()
	r.stop()
	if took := time.Since(begun); took > 2*time.Second {
		t.Errorf("the end took %v", took)
	}
}

func TestWords(t *testing.T) {
	for _, c := range []struct {
		err  error
		says string
	}{
		{&net.DNSError{Name: "lamps.invalid"}, "there is no computer called lamps.invalid"},
		{context.DeadlineExceeded, "no answer"},
		{io.EOF, "it hung up"},
		{&refusal{0x87}, "may not come in"},
		{&refusal{0x84}, "does not speak MQTT 5"},
		{&refusal{0x99}, "reason 0x99"},
		{fmt.Errorf("x: %w", io.ErrClosedPipe), "x: "},
		{nil, ""},
	} {
		if got := Words(c.err); !strings.Contains(got, c.says) || (c.err == nil && got != "") {
			t.Errorf("%v: %q", c.err, got)
		}
	}
}
