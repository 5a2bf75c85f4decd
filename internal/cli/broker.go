package cli

import (
	"context"
	"encoding/hex"
	"log/slog"
	"time"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
	"broodlight/internal/journal"
	"broodlight/internal/mqtt"
	"broodlight/internal/web"
)

// broker lets the pages steer the publisher of the lamps' levels.
type broker struct {
	publisher *mqtt.Publisher
	name      string // by which a broker knows this room
}

// newBroker returns the publisher of a room, which is off, and its handle for the pages. Its Run is the caller's.
func newBroker(book *journal.Book, log *slog.Logger) *broker {
	id := book.ID()
	b := &broker{name: hex.EncodeToString(id[10:])} // the random end
	b.publisher = mqtt.New(mqtt.Options{ClientID: "broodlight-" + b.name, Levels: levels(book), Now: book.Now, Log: log})
	return b
}

// levels says how bright each circuit is planned to burn. What was worked out holds until the room changes or the day
// ends.
func levels(book *journal.Book) func(time.Time) []mqtt.Level {
	var desk *advice.Desk
	var version uint64
	return func(at time.Time) (out []mqtt.Level) {
		book.View(func(r *aviary.Room) {
			today := aviary.DayIn(at, r.Zone(aviary.DayIn(at, time.UTC)))
			if desk == nil || desk.Room != r || version != r.Version() || desk.Today != today {
				desk, version = advice.At(r, today, 0), r.Version()
			}
			for _, l := range desk.LampLevels(at) {
				out = append(out, mqtt.Level{Circuit: l.Circuit.Name, Level: l.Level, Known: l.Known})
			}
		})
		return out
	}
}

// run publishes until the context is done. It begins with the settings that are kept.
func (b *broker) run(ctx context.Context, kept web.BrokerSettings) {
	b.Set(kept)
	b.publisher.Run(ctx)
}

func settingsOf(s web.BrokerSettings) mqtt.Settings {
	return mqtt.Settings{Address: s.Address, User: s.User, Password: s.Password, Prefix: s.Prefix, CA: s.CA}
}

// Check says what is wrong with settings.
func (b *broker) Check(s web.BrokerSettings) error { return settingsOf(s).Check() }

// Set works with settings from now on.
func (b *broker) Set(s web.BrokerSettings) {
	if !s.On {
		b.publisher.Set(nil)
		return
	}
	own := settingsOf(s)
	b.publisher.Set(&own)
}

// Test reaches a broker and leaves again.
func (b *broker) Test(ctx context.Context, s web.BrokerSettings) error {
	return mqtt.Test(ctx, settingsOf(s), "broodtest-"+b.name)
}

// State says how it stands.
func (b *broker) State() web.BrokerState {
	s := b.publisher.State()
	out := web.BrokerState{On: s.On, Reached: s.Reached, Since: s.Since, Problem: s.Problem, Sent: s.Sent}
	for _, c := range s.Circuits {
		out.Circuits = append(out.Circuits, web.BrokerCircuit{Name: c.Name, Topic: c.Topic, Planned: c.Planned, Told: c.Told, Percent: c.Percent, Quiet: c.Quiet.Text()})
	}
	return out
}
