package mqtt

import (
	"context"
	"errors"
	"log/slog"
	"slices"
	"sync"
	"time"

	"broodlight/internal/aviary"
)

// Level is how bright a circuit is planned to burn at one instant.
type Level struct {
	Circuit string  // "" is the whole room
	Level   float64 // from 0 (off) to 1
	Known   bool    // false when no plan says
}

// Options say what a publisher works with.
type Options struct {
	ClientID string                        // by which the broker knows this room; no two programs share one
	Levels   func(at time.Time) []Level    // the planned levels; it answers within a second or so
	Now      func() time.Time              // time.Now when nil
	Ticks    <-chan time.Time              // when to ask for the levels; every 15 s when nil
	Retry    func(tries int) time.Duration // how long to wait before another try; doubling from 1 s to 1 min when nil
	Log      *slog.Logger                  // slog's default when nil
}

// lookEvery is how often the levels are asked for.
const lookEvery = 15 * time.Second

// leaveTime is how long a stop waits for the broker to hear of it.
const leaveTime = 2 * time.Second

// Publisher tells a broker the levels. It is safe for use by many at once.
type Publisher struct {
	o   Options
	set chan *Settings // the newest wish; nil is off

	mu    sync.Mutex
	state State
}

// State is how it stands with the broker.
type State struct {
	On       bool
	Reached  bool
	Since    time.Time // of Reached or of its lack; zero when off
	Problem  string    // why it is not reached, without full stop; "" before the first try
	Sent     time.Time // the last time that a level was taken; zero when none was
	Circuits []Circuit // as the levels come
}

// Circuit is what is said of one circuit.
type Circuit struct {
	Name    string
	Topic   string // without /state and /level
	Planned int    // percent, by the plan
	Quiet   Quiet
	Told    bool
	Percent int // as last told
}

// New returns a publisher that is off until Set is called.
func New(o Options) *Publisher {
	if o.Levels == nil {
		panic("mqtt: New needs Levels")
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Retry == nil {
		o.Retry = backoff
	}
	if o.Log == nil {
		o.Log = slog.Default()
	}
	return &Publisher{o: o, set: make(chan *Settings, 1)}
}

// backoff doubles from a second to a minute.
func backoff(tries int) time.Duration {
	return min(time.Second<<min(tries, 6), time.Minute)
}

// Set turns the publisher on with settings, or off with nil. It does not wait for the broker.
func (p *Publisher) Set(s *Settings) {
	if s != nil {
		own := *s
		s = &own
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	select {
	case <-p.set: // a wish that was not looked at is overtaken
	default:
	}
	p.set <- s
}

// State returns how it stands.
func (p *Publisher) State() State {
	p.mu.Lock()
	defer p.mu.Unlock()
	s := p.state
	s.Circuits = slices.Clone(s.Circuits)
	return s
}

// Run works until the context is done. It then says offline, and leaves the lamps as they are.
func (p *Publisher) Run(ctx context.Context) {
	ticks := p.o.Ticks
	if ticks == nil {
		t := time.NewTicker(lookEvery)
		defer t.Stop()
		ticks = t.C
	}
	w := &work{p: p, dimmers: map[string]*dimmer{}}
	defer w.off()
	for {
		var lost <-chan struct{}
		if w.link != nil {
			lost = w.link.lost
		}
		select {
		case <-ctx.Done():
			return
		case s := <-p.set:
			w.off()
			w.on(ctx, s)
		case <-ticks:
			w.look()
			w.say(ctx)
		case l := <-w.up:
			w.reached(ctx, l)
		case err := <-w.failed:
			p.notReached(err)
		case <-lost:
			w.lose(ctx, errors.New("the connection broke"))
		}
	}
}

// work is what Run has in hand.
type work struct {
	p       *Publisher
	s       *Settings // nil when off
	dimmers map[string]*dimmer
	order   []string
	link    *link     // nil while there is no connection
	since   time.Time // of the link
	tries   int       // to connect, since a connection last held for a while

	stop   context.CancelFunc // of the tries to connect
	up     chan *link
	failed chan error
	tried  chan struct{} // closed when the tries have ended
}

// on begins to work with settings.
func (w *work) on(ctx context.Context, s *Settings) {
	w.s = s
	w.p.change(func(x *State) {
		*x = State{On: s != nil}
		if s != nil {
			x.Since = w.p.o.Now()
		}
	})
	if s == nil {
		return
	}
	w.look()
	w.tries = 0
	w.connect(ctx)
}

// off leaves the broker and forgets what was told to it.
func (w *work) off() {
	if w.stop != nil {
		w.stop()
		<-w.tried
		select {
		case l := <-w.up: // it came up at the same moment
			w.link = l
		default:
		}
		w.stop, w.up, w.failed = nil, nil, nil
	}
	if w.link != nil {
		ctx, cancel := context.WithTimeout(context.Background(), leaveTime)
		w.link.leave(ctx)
		cancel()
		w.link = nil
	}
	w.s, w.dimmers, w.order = nil, map[string]*dimmer{}, nil
}

// connect tries in the background until the broker is reached. After a try that failed it waits first.
func (w *work) connect(ctx context.Context) {
	ctx, w.stop = context.WithCancel(ctx)
	up, failed, tried := make(chan *link, 1), make(chan error, 1), make(chan struct{})
	w.up, w.failed, w.tried = up, failed, tried
	s, p, tries := *w.s, w.p, w.tries
	go func() {
		defer close(tried)
		for ; ; tries++ {
			if tries > 0 {
				select {
				case <-ctx.Done():
					return
				case <-time.After(p.o.Retry(tries - 1)):
				}
			}
			l, err := dial(ctx, s, p.o.ClientID, true)
			if err == nil {
				up <- l
				return
			}
			if ctx.Err() != nil {
				return
			}
			select {
			case <-failed: // the newer one says more
			default:
			}
			failed <- err
		}
	}()
}

// reached begins to speak on a fresh connection.
func (w *work) reached(ctx context.Context, l *link) {
	w.stop()
	<-w.tried
	w.stop, w.up, w.failed = nil, nil, nil
	w.link, w.since = l, w.p.o.Now()
	w.look()
	for _, d := range w.dimmers {
		d.connected()
	}
	if err := l.send(ctx, l.status, online, false); err != nil {
		w.lose(ctx, err)
		return
	}
	w.p.change(func(x *State) { x.Reached, x.Since, x.Problem = true, w.p.o.Now(), "" })
	w.p.o.Log.Info("broker reached", "address", w.s.Address)
	w.say(ctx)
}

// lose gives up a connection and tries for another: at once when it had held for a while.
func (w *work) lose(ctx context.Context, err error) {
	w.link.drop()
	w.link = nil
	if w.tries++; w.p.o.Now().Sub(w.since) >= time.Minute {
		w.tries = 0
	}
	if ctx.Err() != nil {
		return
	}
	w.p.notReached(err)
	w.connect(ctx)
}

func (p *Publisher) change(fn func(*State)) {
	p.mu.Lock()
	defer p.mu.Unlock()
	fn(&p.state)
}

// notReached notes why; the time is that of the first failure after the last success.
func (p *Publisher) notReached(err error) {
	p.change(func(x *State) {
		if x.Reached {
			x.Since = p.o.Now()
			p.o.Log.Warn("broker lost", "err", err)
		} else if x.Problem == "" {
			p.o.Log.Warn("broker not reached", "err", err)
		}
		x.Reached, x.Problem = false, Words(err)
	})
}

// look asks for the planned levels, connected or not.
func (w *work) look() {
	if w.s == nil {
		return
	}
	now := w.p.o.Now()
	levels := w.p.o.Levels(now)
	w.order = w.order[:0]
	for _, l := range levels {
		d := w.dimmers[l.Circuit]
		if d == nil {
			d = &dimmer{}
			w.dimmers[l.Circuit] = d
		}
		if slices.Contains(w.order, l.Circuit) {
			continue
		}
		d.look(now, l.Level, l.Known)
		w.order = append(w.order, l.Circuit)
	}
	for name, d := range w.dimmers {
		if !slices.Contains(w.order, name) { // its plan was struck out
			d.look(now, 0, false)
		}
	}
	w.show()
}

// say sends what may be sent.
func (w *work) say(ctx context.Context) {
	if w.link == nil {
		return
	}
	for _, name := range w.order {
		d := w.dimmers[name]
		level, ok := d.say()
		if !ok {
			continue
		}
		if err := w.link.tell(ctx, w.s.Topic(name), level); err != nil {
			w.lose(ctx, err)
			return
		}
		d.delivered(level)
		w.p.change(func(x *State) { x.Sent = w.p.o.Now() })
	}
	w.show()
}

// show brings the state's circuits up to date.
func (w *work) show() {
	out := make([]Circuit, 0, len(w.order))
	for _, name := range w.order {
		d := w.dimmers[name]
		out = append(out, Circuit{Name: name, Topic: w.s.Topic(name), Planned: percent(d.plan), Quiet: d.quiet, Told: d.told, Percent: percent(d.sent)})
	}
	w.p.change(func(x *State) { x.Circuits = out })
}

// Test reaches a broker with settings and leaves again, without saying anything to anybody. A fault is told as a
// sentence.
func Test(ctx context.Context, s Settings, clientID string) error {
	if err := s.Check(); err != nil {
		return err
	}
	l, err := dial(ctx, s, clientID, false)
	if err != nil {
		return &aviary.Error{Code: aviary.Conflict, Message: "the broker was not reached: " + Words(err)}
	}
	l.drop()
	return nil
}
