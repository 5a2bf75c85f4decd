package web

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"broodlight/internal/aviary"
)

// testBroker stands in for the publisher, which is tested against a real broker where it is made.
type testBroker struct {
	set    []BrokerSettings
	tested []BrokerSettings
	state  BrokerState
	fault  error
}

func (b *testBroker) Check(s BrokerSettings) error {
	if !strings.HasPrefix(s.Address, "mqtt://") {
		return &aviary.Error{Code: aviary.Invalid, Field: "address", Message: "that is not a broker's address"}
	}
	return nil
}

func (b *testBroker) Set(s BrokerSettings) {
	b.set = append(b.set, s)
	b.state.On = s.On
}

func (b *testBroker) Test(_ context.Context, s BrokerSettings) error {
	b.tested = append(b.tested, s)
	return b.fault
}

func (b *testBroker) State() BrokerState { return b.state }

func TestBroker_IsSavedTestedTurnedOnAndOff(t *testing.T) {
	b := &testBroker{}
	m := roomWith(t, Config{Broker: b}, smallRoom()...)
	kept := func() BrokerSettings {
		t.Helper()
		s, err := BrokerOf(context.Background(), m.book)
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	m.get("/settings/broker").wants(200, "No broker is told about the lamps", "The plug keeps its own timer", "licensed electrician", "night light").lacks("Turn on").sound()
	m.post("/settings/broker/test").wants(400, "Save a broker")
	m.post("/settings/broker/switch", "to", "on").wants(422, "not a broker&#39;s address")

	m.post("/settings/broker", "address", "mqtt://10.0.0.5", "user", "birds", "password", "s3cret words", "prefix", "house").wants(303)
	if s := kept(); s != (BrokerSettings{Address: "mqtt://10.0.0.5", User: "birds", Password: "s3cret words", Prefix: "house"}) {
		t.Errorf("kept %+v", s)
	}
	if len(b.set) > 0 {
		t.Errorf("saving turned it on: %+v", b.set)
	}
	m.get("/settings/broker").wants(200, "Turn on", `value="birds"`, "One is kept and is not shown").lacks("s3cret").sound()

	m.post("/settings/broker/test").wants(200, "The broker was reached").lacks("s3cret")
	b.fault = errors.New("the broker was not reached: wrong user or password")
	m.post("/settings/broker/test").wants(422, "The broker was not reached: wrong user or password.").lacks("s3cret").sound()
	if len(b.tested) != 2 || b.tested[0].Password != "s3cret words" || len(b.set) > 0 {
		t.Errorf("tested %+v, set %+v", b.tested, b.set)
	}

	m.post("/settings/broker/switch", "to", "sideways").wants(422, "sideways")
	m.post("/settings/broker/switch", "to", "on").wants(303)
	if !kept().On || len(b.set) != 1 || b.set[0] != kept() {
		t.Errorf("kept %+v, set %+v", kept(), b.set)
	}
	// While it is on, what is saved holds at once. An empty password keeps the one that is kept.
	m.post("/settings/broker", "address", "mqtt://10.0.0.5", "user", "birds", "prefix", "barn").wants(303)
	if s := kept(); s.Password != "s3cret words" || s.Prefix != "barn" || !s.On || len(b.set) != 2 || b.set[1] != s {
		t.Errorf("kept %+v, set %+v", s, b.set)
	}
	m.post("/settings/broker/switch", "to", "off").wants(303)
	if kept().On || b.set[2].On {
		t.Errorf("kept %+v, set %+v", kept(), b.set)
	}
	m.post("/settings/broker", "address", "mqtt://10.0.0.5", "user", "birds", "forget", "yes").wants(303)
	if kept().Password != "" {
		t.Error("the password is not forgotten")
	}
	m.post("/settings/broker").wants(303)
	if value, err := m.book.Setting(context.Background(), brokerSetting); value != "" || err != nil {
		t.Errorf("an emptied form leaves %q, %v", value, err)
	}
}

func TestBroker_Refusals(t *testing.T) {
	b := &testBroker{}
	m := roomWith(t, Config{Broker: b}, smallRoom()...)
	m.post("/settings/broker", "address", "mqtt://10.0.0.5", "user", "birds", "password", "s3cret words").wants(303)
	before, err := m.book.Setting(context.Background(), brokerSetting)
	if err != nil {
		t.Fatal(err)
	}
	for name, tt := range map[string]struct {
		pairs []string
		says  string
	}{
		"an address that is none":       {[]string{"address", "ftp://x"}, "not a broker&#39;s address"},
		"the password at another place": {[]string{"address", "mqtt://10.0.0.6", "user", "birds"}, "Type the password again"},
		"the password for another user": {[]string{"address", "mqtt://10.0.0.5", "user", "tom"}, "Type the password again"},
		"a certificate too long":        {[]string{"address", "mqtt://10.0.0.5", "user", "birds", "ca", strings.Repeat("x", 4000)}, "at most 4000 fit"},
	} {
		t.Run(name, func(t *testing.T) {
			a := m.post("/settings/broker", tt.pairs...)
			a.t = t
			a.wants(422, tt.says).lacks("s3cret").sound()
			if after, err := m.book.Setting(context.Background(), brokerSetting); err != nil || after != before {
				t.Errorf("kept %q, %v", after, err)
			}
		})
	}
}

func TestBroker_SaysHowItStands(t *testing.T) {
	b := &testBroker{}
	m := roomWith(t, Config{Broker: b}, smallRoom()...)
	m.post("/settings/broker", "address", "mqtt://10.0.0.5").wants(303)
	at := testNow.Add(-28 * time.Minute)
	b.state = BrokerState{On: true, Since: at}
	m.get("/settings/broker").wants(200, "The broker is being tried")
	b.state.Problem = "connection refused"
	m.get("/settings/broker").wants(200, "The broker is not reached: connection refused", "Not reached since 06:20: connection refused. It is tried again by itself").sound()
	b.state = BrokerState{On: true, Reached: true, Since: at, Sent: testNow, Circuits: []BrokerCircuit{
		{Topic: "broodlight/room", Planned: 100, Told: true, Percent: 100},
		{Name: "Left bank", Topic: "broodlight/circuit/Left bank", Quiet: "No plan says how the lamps are to burn."},
	}}
	m.get("/settings/broker").wants(200, "Reached since 06:20. Last sent 06:48.", "Whole room", "broodlight/room", "Left bank", "No plan says how", "Turn off").sound()
}

func TestBroker_IsTheKeepersAlone(t *testing.T) {
	b := &testBroker{}
	m := roomWith(t, Config{LAN: true, Broker: b}, smallRoom()...)
	m.logIn("Tom", helperPhrase)
	m.get("/settings/broker").wants(403)
	for _, path := range []string{"/settings/broker", "/settings/broker/switch", "/settings/broker/test"} {
		m.post(path, "address", "mqtt://10.0.0.5", "to", "on").wants(403)
	}
	if len(b.set)+len(b.tested) > 0 {
		t.Errorf("set %v, tested %v", b.set, b.tested)
	}
}
