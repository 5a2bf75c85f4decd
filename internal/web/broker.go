package web

import (
	"context"
	"encoding/json"
	"time"

	"broodlight/internal/journal"
)

// BrokerSettings say which MQTT broker is told how the lamps are planned to burn. They are private: kept apart from the
// books and never exported. The password is never shown.
type BrokerSettings struct {
	On       bool   `json:"on,omitempty"`
	Address  string `json:"address,omitempty"`
	User     string `json:"user,omitempty"`
	Password string `json:"password,omitempty"`
	Prefix   string `json:"prefix,omitempty"`
	CA       string `json:"ca,omitempty"` // certificate of the authority, as PEM
}

// Broker tells a broker, in the background.
type Broker interface {
	Check(s BrokerSettings) error                     // an *aviary.Error names the field
	Set(s BrokerSettings)                             // works with these from now on; does not wait
	Test(ctx context.Context, s BrokerSettings) error // reaches it and leaves again, saying nothing to anybody
	State() BrokerState
}

// BrokerState is how it stands with the broker.
type BrokerState struct {
	On, Reached bool
	Since       time.Time // of Reached or of its lack
	Problem     string    // why not; "" before the first try
	Sent        time.Time // zero when nothing was sent yet
	Circuits    []BrokerCircuit
}

// BrokerCircuit is what is said of one circuit.
type BrokerCircuit struct {
	Name    string // "" is the whole room
	Topic   string // without /state and /level
	Planned int    // percent
	Told    bool
	Percent int    // as last told
	Quiet   string // a sentence: why nothing is said; "" when something is
}

// brokerSetting is the private setting that holds them, in one, so that they change together.
const brokerSetting = "broker"

// BrokerOf reads the settings that are kept. The zero settings are off; what cannot be read is as good as none, so that it
// never keeps a room shut, and the keeper writes it again.
func BrokerOf(ctx context.Context, b *journal.Book) (s BrokerSettings, err error) {
	text, err := b.Setting(ctx, brokerSetting)
	if err != nil || json.Unmarshal([]byte(text), &s) != nil {
		return BrokerSettings{}, err
	}
	return s, nil
}

func keepBroker(ctx context.Context, b *journal.Book, s BrokerSettings) error {
	text, err := json.Marshal(s)
	if err != nil {
		return err
	}
	return b.SetSetting(ctx, brokerSetting, string(text))
}

// brokerRoutes are the pages about the broker. All of them are the keeper's.
func (s *server) brokerRoutes(r *routes) {
	if s.Broker == nil {
		return
	}
	r.keeperGet("/settings/broker", s.brokerShow)
	r.keeperPost("/settings/broker", s.brokerSet)
	r.keeperPost("/settings/broker/switch", s.brokerSwitch)
	r.keeperPost("/settings/broker/test", s.brokerTest)
}
