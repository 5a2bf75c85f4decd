package web

import (
	"strconv"
	"strings"
	"time"
)

// brokerPage is how it stands with the broker, and its settings.
type brokerPage struct {
	layout
	Kept     bool // there are settings
	On       bool
	Reached  bool
	Line     string // "Reached since today 07:40; last sent today 07:52."
	Circuits []brokerRow
	Password bool // one is kept
	Tested   string
	Problem  string // what a test said
	Secret   field
}

type brokerRow struct{ Name, Topic, Planned, Told, Quiet string }

// brokerShow shows it.
func (s *server) brokerShow(v *visit) error {
	b, err := BrokerOf(v.ctx(), s.Book)
	if err != nil {
		return err
	}
	return brokerForm(v, blankBroker(b))
}

// blankBroker is the form as it is kept. The password is not in it.
func blankBroker(b BrokerSettings) *form {
	return blank("address", b.Address, "user", b.User, "prefix", b.Prefix, "ca", b.CA)
}

func brokerForm(v *visit, f *form) error { return v.renderBroker(f, "", nil) }

// renderBroker shows the page, with the outcome of a test if there was one.
func (v *visit) renderBroker(f *form, tested string, problem error) error {
	kept, err := BrokerOf(v.ctx(), v.s.Book)
	if err != nil {
		return err
	}
	now := v.s.Broker.State()
	p := &brokerPage{
		layout: underSettings("No broker is told about the lamps", "An MQTT broker passes on how the lamps are planned to burn, to smart plugs and dimmers that listen. It is off until you turn it on."),
		Kept:   kept.Address != "", On: now.On, Reached: now.Reached, Password: kept.Password != "", Tested: tested,
	}
	p.Form = f
	if problem != nil {
		p.Problem = sentence(problem.Error())
	}
	switch {
	case !now.On:
	case now.Reached:
		p.Headline = "The broker is told how the lamps burn"
		p.Line = "Reached since " + v.since(now.Since) + "."
		if !now.Sent.IsZero() {
			p.Line += " Last sent " + v.since(now.Sent) + "."
		}
	case now.Problem == "":
		p.Headline = "The broker is being tried"
		p.Line = "Tried since " + v.since(now.Since) + "."
	default:
		p.Headline = "The broker is not reached: " + now.Problem
		p.Line = "Not reached since " + v.since(now.Since) + ": " + now.Problem + ". It is tried again by itself, and the room goes on without it."
	}
	for _, c := range now.Circuits {
		row := brokerRow{Name: c.Name, Topic: c.Topic, Planned: percentText(c.Planned), Told: "nothing yet", Quiet: c.Quiet}
		if row.Name == "" {
			row.Name = "Whole room"
		}
		if c.Told {
			row.Told = percentText(c.Percent)
		}
		p.Circuits = append(p.Circuits, row)
	}
	p.Secret = f.Secret("password", "Password").Complete("new-password").Mid()
	if p.Password {
		p.Secret = p.Secret.Hint("One is kept and is not shown. Leave this empty to keep it.")
	}
	return v.render("broker_show", p)
}

// percentText writes a level with the thin space of the house.
func percentText(n int) string { return strconv.Itoa(n) + "\u2009%" }

// since is an instant after "since": the time alone when it is today's.
func (v *visit) since(t time.Time) string { return strings.TrimPrefix(v.moment(t), "today ") }
