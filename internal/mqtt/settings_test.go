package mqtt

import (
	"errors"
	"strings"
	"testing"

	"broodlight/internal/aviary"
)

func TestSettings_Check(t *testing.T) {
	for _, c := range []struct {
		name  string
		s     Settings
		field string // "" when it is good
		host  string
	}{
		{"host alone", Settings{Address: "lamps.local"}, "", "lamps.local:1883"},
		{"host and port", Settings{Address: "192.168.1.5:1884"}, "", "192.168.1.5:1884"},
		{"encrypted", Settings{Address: "mqtts://lamps.local/"}, "", "lamps.local:8883"},
		{"IPv6", Settings{Address: "mqtt://[fe80::1]:1883", Prefix: "house/birds"}, "", "[fe80::1]:1883"},
		{"a name without a password", Settings{Address: "x", User: "birds"}, "", "x:1883"},
		{"nothing", Settings{}, "address", ""},
		{"another scheme", Settings{Address: "http://x"}, "address", ""},
		{"a port too high", Settings{Address: "x:70000"}, "address", ""},
		{"a path", Settings{Address: "mqtt://x/y"}, "address", ""},
		{"spaces", Settings{Address: "my broker"}, "address", ""},
		{"no host", Settings{Address: "mqtt://:1883"}, "address", ""},
		{"the password in the address", Settings{Address: "mqtt://a:b@x"}, "address", ""},
		{"a password of nobody", Settings{Address: "x", Password: "y"}, "user", ""},
		{"a user that cannot be sent", Settings{Address: "x", User: "a\x00b"}, "user", ""},
		{"a wildcard", Settings{Address: "x", Prefix: "birds/#"}, "prefix", ""},
		{"a slash in front", Settings{Address: "x", Prefix: "/birds"}, "prefix", ""},
		{"the broker's own", Settings{Address: "x", Prefix: "$SYS"}, "prefix", ""},
		{"too long", Settings{Address: "x", Prefix: strings.Repeat("x", 101)}, "prefix", ""},
		{"no certificate", Settings{Address: "x", CA: "hello"}, "ca", ""},
	} {
		err := c.s.Check()
		var refused *aviary.Error
		switch {
		case c.field == "" && err != nil:
			t.Errorf("%s: %v", c.name, err)
		case c.field != "" && (!errors.As(err, &refused) || refused.Field != c.field):
			t.Errorf("%s: %v, want one about %s", c.name, err, c.field)
		}
		if c.field != "" {
			continue
		}
		if host, _, err := c.s.host(); err != nil || host != c.host {
			t.Errorf("%s: %q, %v", c.name, host, err)
		}
	}
}

func TestTopic_DifferentNamesStayDifferent(t *testing.T) {
	s := Settings{}
	want := map[string]string{
		"":          "broodlight/room",
		"room":      "broodlight/circuit/room",
		"Left bank": "broodlight/circuit/Left bank",
		"a/b":       "broodlight/circuit/a%2Fb",
		"a%2Fb":     "broodlight/circuit/a%252Fb",
		"1+2 #3":    "broodlight/circuit/1%2B2 %233",
		"a\x00b":    "broodlight/circuit/a%00b",
		"Käfige":    "broodlight/circuit/Käfige",
	}
	seen := map[string]string{}
	for name, topic := range want {
		got := s.Topic(name)
		if got != topic {
			t.Errorf("%q: %q, want %q", name, got, topic)
		}
		if was, twice := seen[got]; twice {
			t.Errorf("%q and %q are both %q", name, was, got)
		}
		seen[got] = name
	}
}
