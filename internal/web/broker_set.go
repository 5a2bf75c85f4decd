package web

import (
	"net/http"

	"broodlight/internal/aviary"
)

// brokerSet keeps the settings. When it is on, they hold at once.
func (s *server) brokerSet(v *visit) error {
	f := v.form()
	kept, err := BrokerOf(v.ctx(), s.Book)
	if err != nil {
		return err
	}
	b := BrokerSettings{On: kept.On, Address: f.text("address"), User: f.text("user"), Password: f.Values.Get("password"), Prefix: f.text("prefix"), CA: f.text("ca")}
	if b.Address == "" && b.User == "" && b.Password == "" && b.CA == "" && !b.On {
		if err := s.Book.SetSetting(v.ctx(), brokerSetting, ""); err != nil { // all of it is forgotten
			return err
		}
		return v.see("/settings/broker")
	}
	if b.Password == "" && b.User != "" && !f.tick("forget") {
		// A kept password goes to the broker and the user that it was given for, and to no other.
		if b.Address == kept.Address && b.User == kept.User {
			b.Password = kept.Password
		} else if kept.Password != "" {
			f.wrong("password", "type the password again: it was for another address or user")
		}
	}
	if err := f.err(); err != nil {
		return v.retry(f, err, brokerForm)
	}
	if err := s.Broker.Check(b); err != nil {
		return v.retry(f, err, brokerForm)
	}
	if err := keepBroker(v.ctx(), s.Book, b); err != nil {
		return v.retry(f, moved(err, brokerSetting, "ca"), brokerForm)
	}
	if b.On {
		s.Broker.Set(b)
	}
	return v.see("/settings/broker")
}

// brokerSwitch turns it on or off.
func (s *server) brokerSwitch(v *visit) error {
	b, err := BrokerOf(v.ctx(), s.Book)
	if err != nil {
		return err
	}
	f := v.form()
	to := f.one("to", "on", "off")
	if err := f.err(); err != nil {
		return v.retry(f, err, brokerForm)
	}
	b.On = to == "on"
	if b.On {
		if err := s.Broker.Check(b); err != nil {
			return v.retry(f, err, brokerForm)
		}
	}
	if err := keepBroker(v.ctx(), s.Book, b); err != nil {
		return err
	}
	s.Broker.Set(b)
	return v.see("/settings/broker")
}

// brokerTest reaches the broker with the settings that are kept, and says nothing to anybody.
func (s *server) brokerTest(v *visit) error {
	b, err := BrokerOf(v.ctx(), s.Book)
	if err != nil {
		return err
	}
	if b.Address == "" {
		return &aviary.Error{Code: aviary.Invalid, Message: "save a broker's address first, then test it"}
	}
	if err := s.Broker.Test(v.ctx(), b); err != nil {
		v.status = http.StatusUnprocessableEntity
		return v.renderBroker(blankBroker(b), "", err)
	}
	return v.renderBroker(blankBroker(b), "The broker was reached, and let this room in.", nil)
}
