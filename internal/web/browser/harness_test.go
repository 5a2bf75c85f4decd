//go:build browser

package browser_test

import (
	"bytes"
	"context"
	"flag"
	"fmt"
	"io"
	"log/slog"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"

	"broodlight/internal/aviary"
	"broodlight/internal/cli"
	"broodlight/internal/journal"
	"broodlight/internal/web"
)

var update = flag.Bool("update", false, "draw docs/pictures anew")

// morning is when every test's room stands, unless a test moves its clock: 06:48 on Tuesday 13 Jan 2026, in Dublin.
var morning = time.Date(2026, 1, 13, 6, 48, 0, 0, time.UTC)

// patience is how long a page may take to show what was asked of it, with other tests running beside it.
const patience = 20 * time.Second

// browser is the one that all tests share; its first tab stays empty.
var browser context.Context

func TestMain(m *testing.M) {
	flag.Parse()
	ctx, cancel := chromedp.NewContext(context.Background(), chromedp.WithAllocatorOptions(
		chromedp.Flag("host-resolver-rules", "MAP room.test 127.0.0.1"), chromedp.Flag("force-color-profile", "srgb"), chromedp.Flag("font-render-hinting", "none"),
	))
	if err := chromedp.Do(ctx); err != nil {
		fmt.Fprintln(os.Stderr, "the browser does not start; install chromium:", err)
		os.Exit(1)
	}
	browser = ctx
	code := m.Run()
	cancel()
	chromedp.FromContext(ctx).Allocator.Wait()
	for _, dir := range scratch {
		_ = os.RemoveAll(dir)
	}
	os.Exit(code)
}

// clock is the room's time; a test moves it.
type clock struct {
	mu sync.Mutex
	at time.Time
}

func (c *clock) Now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.at
}

// move lets time pass in the room.
func (c *clock) move(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.at = c.at.Add(d)
}

// site is a room that is served.
type site struct {
	*testing.T
	*clock
	book *journal.Book
	url  string
	http *httptest.Server
}

// serve serves a room with the given entries in it, at the morning.
func serve(t *testing.T, cfg web.Config, entries ...*aviary.Entry) *site {
	t.Helper()
	dir := t.TempDir()
	s := open(t, dir, morning)
	s.write(entries...)
	s.start(cfg)
	return s
}

// write writes entries as the keeper.
func (s *site) write(entries ...*aviary.Entry) {
	s.Helper()
	if len(entries) == 0 {
		return
	}
	if err := s.book.Write(s.Context(), journal.Writer{By: web.DefaultKeeper, Role: aviary.Keeper}, entries...); err != nil {
		s.Fatal(err)
	}
}

// open opens the room in a folder.
func open(t *testing.T, dir string, at time.Time) *site {
	t.Helper()
	s := &site{T: t, clock: &clock{at: at}}
	var err error
	s.book, err = journal.OpenBook(t.Context(), dir, journal.Options{Create: true, AnyMark: true, Now: s.Now})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.book.Close(); err != nil {
			t.Error(err)
		}
	})
	return s
}

// start listens on a free port of this computer.
func (s *site) start(cfg web.Config) {
	s.Helper()
	out := &locked{}
	cfg.Book, cfg.Now, cfg.ReadTable, cfg.WriteCalendar = s.book, s.Now, cli.ReadTable, cli.WriteCalendar
	if cfg.Broker == nil {
		cfg.Broker = &plug{}
	}
	cfg.Log = slog.New(slog.NewTextHandler(out, nil))
	h, err := web.New(cfg)
	if err != nil {
		s.Fatal(err)
	}
	srv := httptest.NewServer(h)
	s.url, s.http = srv.URL, srv
	s.Cleanup(func() {
		s.http.Close()
		if said := out.String(); said != "" {
			s.Errorf("the site complains: %s", said)
		}
	})
}

// locked is a buffer that many may write to.
type locked struct {
	mu  sync.Mutex
	buf bytes.Buffer
}

func (l *locked) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.buf.Write(p)
}
func (l *locked) String() string { l.mu.Lock(); defer l.mu.Unlock(); return l.buf.String() }

var _ io.Writer = (*locked)(nil)

// standing returns the entries of a kind that stand.
func (s *site) standing(kind aviary.Kind) []*aviary.Entry {
	var out []*aviary.Entry
	s.book.View(func(r *aviary.Room) {
		for _, e := range r.Entries() {
			if e.Kind == kind && !r.Struck(e.ID) {
				out = append(out, e)
			}
		}
	})
	return out
}

// last returns the body of the entry of a kind that was written last, and holds the number of those that stand to want.
func last[B aviary.Body](s *site, want int) B {
	s.Helper()
	var zero B
	list := s.standing(zero.Kind())
	if len(list) != want {
		s.Fatalf("%d entries of kind %s stand, want %d", len(list), zero.Kind(), want)
	}
	late := list[0]
	for _, e := range list {
		if e.Written.After(late.Written) || e.Written.Equal(late.Written) && bytes.Compare(e.ID[:], late.ID[:]) > 0 {
			late = e
		}
	}
	return late.Body.(B)
}

// screen is what a page is looked at on.
type screen struct {
	name          string
	width, height int64 // px
	touch         bool
}

// The screens that every page is held to.
var (
	phone  = screen{"phone", 390, 844, true}
	narrow = screen{"narrow", 360, 740, true}
	desk   = screen{"desk", 1440, 900, false}
)

// choice is something that a tab is opened with.
type choice func(*tab)

// noScript opens a tab in which scripts do not run.
func noScript(p *tab) { p.scripts = false }

// dark opens a tab on which lamps-off was chosen by hand.
func dark(p *tab) { p.theme = "off" }

// light opens a tab on which the day view was chosen by hand.
func light(p *tab) { p.theme = "light" }

// tab is one person's page in the browser.
type tab struct {
	*testing.T
	site    *site
	ctx     context.Context
	screen  screen
	theme   string // chosen by hand; "" leaves it to the lamps
	scripts bool

	ears *ears
}

// ears keep what the browser complains of.
type ears struct {
	mu         sync.Mutex
	complaints []string
	expected   []string // parts of complaints that the test has asked for
}

// drain returns what was heard since the last time.
func (e *ears) drain() []string {
	e.mu.Lock()
	defer e.mu.Unlock()
	out := e.complaints
	e.complaints = nil
	return out
}

// open shows a path of the site on a screen, in a tab that shares nothing with any other.
func (s *site) open(sc screen, path string, choices ...choice) *tab {
	s.Helper()
	p := s.tab(sc, choices...)
	p.show(path)
	return p
}

func (s *site) tab(sc screen, choices ...choice) *tab {
	s.Helper()
	p := &tab{T: s.T, site: s, screen: sc, scripts: true, ears: &ears{}}
	for _, c := range choices {
		c(p)
	}
	ctx, cancel := chromedp.NewContext(browser, chromedp.WithNewBrowserContext(), chromedp.WithListener(p.hear))
	p.ctx = ctx
	s.Cleanup(func() {
		last, stop := context.WithTimeout(ctx, patience/4)
		_, _ = chromedp.Run(last, chromedp.Evaluate[int]("1")) // what the browser has to say up to here is said
		stop()
		cancel()
		for _, c := range p.ears.drain() {
			s.Errorf("the browser complains: %s", c)
		}
	})
	p.size(sc)
	p.do(chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		if !p.scripts {
			if _, err := cdp.Call(ctx, t, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true}); err != nil {
				return err
			}
		}
		if p.theme == "" {
			return nil
		}
		_, err := cdp.Call(ctx, t, network.SetCookie, network.SetCookieParams{Name: "theme", Value: p.theme, URL: s.url})
		return err
	}))
	return p
}

// size gives the window another size.
func (p *tab) size(sc screen) {
	p.Helper()
	p.screen = sc
	opts := []chromedp.EmulateViewportOption{chromedp.EmulatePortrait}
	if sc.touch {
		opts = append(opts, chromedp.EmulateMobile, chromedp.EmulateTouch, chromedp.EmulateScale(2))
	}
	p.do(chromedp.EmulateViewport(sc.width, sc.height, opts...))
}

// hear keeps what the browser complains of.
func (p *tab) hear(event any) {
	var said string
	switch e := event.(type) {
	case *runtime.EventExceptionThrown:
		said = e.ExceptionDetails.Text
		if x := e.ExceptionDetails.Exception; x != nil {
			said += " " + x.Description
		}
	case *log.EventEntryAdded:
		if e.Entry.Level != log.EntryLevelError && e.Entry.Level != log.EntryLevelWarning {
			return
		}
		said = e.Entry.Text + " " + e.Entry.URL
	case *runtime.EventConsoleAPICalled:
		if e.Type != runtime.ConsoleAPICalledTypeError && e.Type != runtime.ConsoleAPICalledTypeWarning {
			return
		}
		said = fmt.Sprintf("console.%s", e.Type)
		for _, a := range e.Args {
			said += fmt.Sprintf(" %s%s", a.Value, a.Description)
		}
	case *page.EventJavascriptDialogOpening:
		said = fmt.Sprintf("a dialog of kind %s: %s", e.Type, e.Message)
	case *network.EventRequestWillBeSent:
		if u := e.Request.URL; strings.HasPrefix(u, p.site.url+"/") || strings.HasPrefix(u, "data:") || u == "about:blank" || strings.HasPrefix(u, "blob:"+p.site.url) {
			return
		}
		said = "a request to " + e.Request.URL
	default:
		return
	}
	e := p.ears
	e.mu.Lock()
	defer e.mu.Unlock()
	for _, x := range e.expected {
		if strings.Contains(said, x) {
			return
		}
	}
	e.complaints = append(e.complaints, said)
}

// expect says that the browser may complain of something from here on: a refusal that the test asks for.
func (p *tab) expect(part string) {
	p.ears.mu.Lock()
	defer p.ears.mu.Unlock()
	p.ears.expected = append(p.ears.expected, part)
}

// do runs steps in the tab, within patience.
func (p *tab) do(steps ...chromedp.Action[chromedp.Void]) {
	p.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, patience)
	defer cancel()
	// the first run opens the tab, which lives as long as the context that it is given
	if chromedp.FromContext(p.ctx).Target == nil {
		ctx = p.ctx
	}
	if err := chromedp.Do(ctx, steps...); err != nil {
		p.Fatal(err)
	}
}

// show opens a path of the site, and demands that it is answered with a page.
func (p *tab) show(path string) {
	p.Helper()
	if status := p.load(chromedp.Navigate(p.site.url + path)); status != 200 {
		p.Fatalf("%s is answered with status %d: %s", path, status, p.text())
	}
}

// load runs steps that load a page, waits for it, and returns the status that it came with.
func (p *tab) load(steps ...chromedp.Action[chromedp.Void]) int {
	p.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, patience)
	defer cancel()
	resp, err := chromedp.RunResponse(ctx, steps...)
	if err != nil {
		p.Fatalf("the page does not load: %v; it still reads: %s", err, p.text())
	}
	return int(resp.Status)
}

// js returns the value of an expression in the page.
func js[T any](p *tab, expr string) T {
	p.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, patience)
	defer cancel()
	out, err := chromedp.Run(ctx, chromedp.Evaluate[T](expr, chromedp.EvalAwaitPromise))
	if err != nil {
		p.Fatalf("%v in %.200s", err, expr)
	}
	return out
}

// path returns the path and query that the tab is on.
func (p *tab) path() string {
	p.Helper()
	return js[string](p, "location.pathname + location.search")
}

// text is the page as it reads.
func (p *tab) text() string {
	p.Helper()
	s := js[string](p, `document.body ? document.body.innerText : ""`)
	if r := []rune(strings.Join(strings.Fields(s), " ")); len(r) > 1500 {
		return string(r[:1500]) + "…"
	} else {
		return string(r)
	}
}

// shot keeps a picture of what the window shows, when pictures are asked for; with whole, of the whole page.
func (p *tab) shot(name string, whole bool) {
	p.Helper()
	folder := os.Getenv("BROODLIGHT_SHOTS")
	if folder == "" {
		return
	}
	p.picture(filepath.Join(folder, name+".png"), whole)
}

// tallest is how much of a long page a picture of the whole page shows, in px.
const tallest = 2600

func (p *tab) picture(file string, whole bool) {
	p.Helper()
	shoot := page.CaptureScreenshotParams{Format: page.CaptureScreenshotFormatPng}
	if whole {
		high := min(js[float64](p, "document.documentElement.scrollHeight"), tallest)
		shoot.CaptureBeyondViewport = new(true)
		shoot.Clip = &page.Viewport{Width: float64(p.screen.width), Height: max(high, float64(p.screen.height)), Scale: 1}
	}
	ctx, cancel := context.WithTimeout(p.ctx, patience)
	defer cancel()
	res, err := chromedp.Call(ctx, page.CaptureScreenshot, shoot)
	if err == nil {
		err = os.MkdirAll(filepath.Dir(file), 0o755)
	}
	if err == nil {
		err = os.WriteFile(file, res.Data, 0o644)
	}
	if err != nil {
		p.Fatal(err)
	}
}
