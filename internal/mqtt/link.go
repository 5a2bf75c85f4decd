package mqtt

import (
	"context"
	"crypto/tls"
	"fmt"
	"net"
	"strconv"
	"time"

	"github.com/eclipse/paho.golang/packets"
	"github.com/eclipse/paho.golang/paho"
)

// Times of a connection. All are judgement.
const (
	connectTime = 10 * time.Second // to reach the broker and be let in
	ackTime     = 5 * time.Second  // for the broker to take one message
	keepAlive   = 30               // seconds after which a silent connection is tested
	forgotten   = 600              // seconds after which the broker forgets a state or level that is not said again
)

// What is said of the program itself.
const (
	online  = "online"
	offline = "offline"
)

// link is one connection to the broker. Each has a client of its own, so that nothing that an earlier connection left
// half sent is sent on this one.
type link struct {
	client *paho.Client
	status string        // topic
	lost   chan struct{} // closed when the connection is gone
}

// dial connects. With a will the broker says "offline" when the connection is lost.
func dial(ctx context.Context, s Settings, clientID string, will bool) (*link, error) {
	address, secure, err := s.host()
	if err != nil {
		return nil, err
	}
	ctx, cancel := context.WithTimeout(ctx, connectTime)
	defer cancel()
	var conn net.Conn
	if secure {
		host, _, err := net.SplitHostPort(address)
		if err != nil {
			return nil, err
		}
		c, err := s.tls(host)
		if err != nil {
			return nil, err
		}
		d := tls.Dialer{Config: c}
		if conn, err = d.DialContext(ctx, "tcp", address); err != nil {
			return nil, err
		}
	} else {
		var d net.Dialer
		if conn, err = d.DialContext(ctx, "tcp", address); err != nil {
			return nil, err
		}
	}
	conn = &timed{conn}
	l := &link{status: s.statusTopic(), lost: make(chan struct{})}
	gone := make(chan struct{}, 1)
	fell := func() {
		select {
		case gone <- struct{}{}:
		default: // noted already
		}
	}
	l.client = paho.NewClient(paho.ClientConfig{
		Conn:               packets.NewThreadSafeConn(conn),
		PacketTimeout:      ackTime,
		OnClientError:      func(error) { fell() },
		OnServerDisconnect: func(*paho.Disconnect) { fell() },
	})
	few := uint16(16) // messages that the broker may send us unasked; nothing is subscribed to
	connect := &paho.Connect{
		ClientID: clientID, KeepAlive: keepAlive, CleanStart: true,
		Properties: &paho.ConnectProperties{ReceiveMaximum: &few},
	}
	if s.User != "" {
		connect.Username, connect.UsernameFlag = s.User, true
	}
	if s.Password != "" {
		connect.Password, connect.PasswordFlag = []byte(s.Password), true
	}
	if will {
		connect.WillMessage = &paho.WillMessage{Topic: l.status, Payload: []byte(offline), QoS: 1, Retain: true}
		connect.WillProperties = &paho.WillProperties{}
	}
	answer, err := l.client.Connect(ctx, connect)
	if err != nil {
		_ = conn.Close() // closed already, unless paho forgot
		if answer != nil {
			return nil, &refusal{answer.ReasonCode}
		}
		return nil, err
	}
	go func() {
		select {
		case <-gone:
		case <-l.client.Done():
		}
		close(l.lost)
	}()
	return l, nil
}

// refusal is a broker that answered and did not let us in.
type refusal struct{ code byte }

func (r *refusal) Error() string { return "refused with reason " + strconv.Itoa(int(r.code)) }

// send publishes a retained message and waits until the broker has taken it.
func (l *link) send(ctx context.Context, topic, text string, expires bool) error {
	m := &paho.Publish{Topic: topic, Payload: []byte(text), QoS: 1, Retain: true}
	if expires {
		after := uint32(forgotten)
		m.Properties = &paho.PublishProperties{MessageExpiry: &after}
	}
	if _, err := l.client.Publish(ctx, m); err != nil {
		return fmt.Errorf("%s was not taken: %w", topic, err)
	}
	return nil
}

// tell publishes a level and the state that goes with it.
func (l *link) tell(ctx context.Context, topic string, level float64) error {
	state := "ON"
	if percent(level) == 0 {
		state = "OFF"
	}
	if err := l.send(ctx, topic+"/level", strconv.Itoa(percent(level)), true); err != nil {
		return err
	}
	return l.send(ctx, topic+"/state", state, true)
}

// leave says "offline" and nothing else, and ends the connection. A broker that does not take it says it itself, by the
// will.
func (l *link) leave(ctx context.Context) {
	if l.send(ctx, l.status, offline, false) != nil {
		l.drop()
		return
	}
	_ = l.client.Disconnect(&paho.Disconnect{}) // heard or not, the line is closed
}

// drop ends a connection that does not answer, or was only tried.
func (l *link) drop() {
	_ = l.client.Disconnect(&paho.Disconnect{ReasonCode: leaveWithWill}) // heard or not, the line is closed
}

// leaveWithWill asks the broker to say the will too: MQTT 5.0, 3.14.2.1, reason 0x04.
const leaveWithWill = 0x04

// timed is a connection on which no write waits for ever.
type timed struct{ net.Conn }

func (c *timed) Write(b []byte) (int, error) {
	if err := c.SetWriteDeadline(time.Now().Add(ackTime)); err != nil {
		return 0, err
	}
	return c.Conn.Write(b)
}
