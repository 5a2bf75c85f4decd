//go:build browser

package browser_test

import (
	"context"
	"fmt"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	cdpbrowser "github.com/chromedp/cdproto/browser"
	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/target"
	"github.com/chromedp/chromedp"

	"broodlight/internal/aviary"
	"broodlight/internal/web"
)

// cut takes the network away from a tab, or gives it back.
func (p *tab) cut(off bool) {
	p.Helper()
	p.expect("ERR_INTERNET_DISCONNECTED")
	p.do(chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, network.EmulateNetworkConditionsByRule, network.EmulateNetworkConditionsByRuleParams{
			EmulateOfflineServiceWorker: new(off), MatchedNetworkConditions: []*network.Conditions{{Offline: off, DownloadThroughput: -1, UploadThroughput: -1}},
		})
		if err == nil {
			_, err = cdp.Call(ctx, t, network.OverrideNetworkState, network.OverrideNetworkStateParams{Offline: off, DownloadThroughput: -1, UploadThroughput: -1})
		}
		return err
	}))
}

// fresh closes the tab and opens another of the same browser, with nothing in it yet.
func (p *tab) fresh() *tab {
	p.Helper()
	q := &tab{T: p.T, site: p.site, screen: p.screen, theme: p.theme, scripts: true, ears: &ears{}}
	q.ears.expected = p.ears.expected
	ctx, cancel := chromedp.NewContext(p.ctx, chromedp.WithListener(q.hear))
	q.ctx = ctx
	p.Cleanup(func() {
		cancel()
		for _, c := range q.ears.drain() {
			p.Errorf("the browser complains: %s", c)
		}
	})
	q.size(p.screen)
	old := chromedp.FromContext(p.ctx) // closed without asking the page, as when a phone's battery is empty
	if _, err := cdp.Call(q.ctx, old.Browser, target.CloseTarget, target.CloseTargetParams{TargetID: old.Target.TargetID}); err != nil {
		p.Fatal(err)
	}
	return q
}

// halt stops the room's computer; resume starts it again at the same address.
func (s *site) halt() { s.Helper(); s.http.CloseClientConnections(); s.http.Close() }

func (s *site) resume() {
	s.Helper()
	l, err := net.Listen("tcp", s.http.Listener.Addr().String())
	if err != nil {
		s.Fatal(err)
	}
	srv := &httptest.Server{Listener: l, Config: &http.Server{Handler: s.http.Config.Handler}}
	srv.Start()
	s.http = srv
}

// at turns the site's address to another name of this computer.
func (s *site) under(name string) {
	_, port, err := net.SplitHostPort(s.http.Listener.Addr().String())
	if err != nil {
		s.Fatal(err)
	}
	s.url = "http://" + net.JoinHostPort(name, port)
}

// inTheHouse opens a path as a phone in the house does: under a name that does not count as secure.
func (s *site) inTheHouse(path string, choices ...choice) *tab {
	s.Helper()
	s.under("room.test")
	p := s.tab(phone, choices...)
	p.expect("Cross-Origin-Opener-Policy header has been ignored")
	p.show(path)
	if js[bool](p, "window.isSecureContext") {
		s.Fatal("the address counts as secure, so this says nothing of a phone in the house")
	}
	return p
}

// waitKept waits until the band says something.
func (p *tab) waitKept(want string) {
	p.Helper()
	p.wait(fmt.Sprintf("the band says %q (it says %q)", want, p.band()), func() bool { return strings.Contains(p.band(), want) })
}

func (p *tab) band() string {
	p.Helper()
	return js[string](p, `(() => { const b = document.getElementById("kept"); return !b || b.hidden ? "" : b.querySelector(".queue").innerText.trim(); })()`)
}

// TestOffline_RoundGoesOn cuts the network in the middle of a round, on plain http under another name than localhost, where no
// service worker is to be had: the page that is open goes on, keeps what is tapped, and sends it when the room is back.
func TestOffline_RoundGoesOn(t *testing.T) {
	t.Parallel()
	w := smallWall(t, web.Config{Hosts: []string{"room.test"}})
	w.move(lidsMayBeLifted)
	before := len(w.standing("nest_check"))
	p := w.inTheHouse("/round")
	p.wantJob("A1 Look for chicks")
	p.cut(true)
	p.waitKept("No signal in here. What you tap is kept on this phone. Keep this page open")
	card := p.in(inHand)
	card.tap("button", "One more chick")
	card.tap("button", "Save …")
	p.wantJob("B1 Ring 3 chicks")
	p.waitKept("1 mark kept on this phone")
	p.says("1 of 3 done, 2 left", "4 eggs, 1 chick")
	p.shot("offline-round-1", false)
	card = p.in(inHand)
	for _, on := range card.all("checkbox", "On") {
		on.tap()
	}
	card.tap("button", "Save 3 rings…")
	p.wantJob("A2 Candle 5 eggs")
	p.waitKept("2 marks kept on this phone")

	// something odd leaves the card in hand
	card = p.in(inHand)
	card.tap("DisclosureTriangle", "Something odd")
	card.tap("button", "Water out")
	p.waitKept("3 marks kept on this phone")
	p.wantJob("A2 Candle 5 eggs")
	if got := len(w.standing("nest_check")) + len(w.standing("chick_ringed")) + len(w.standing("odd_seen")); got != before {
		t.Fatalf("something was written without a network")
	}
	// taken back while it waits
	p.in(inHand).tap("button", "Take back: A2 Water out")
	p.waitKept("2 marks kept on this phone")
	p.tap("DisclosureTriangle", "What is kept")
	p.shot("offline-round-2", false)
	axe := axeSource(t)
	for _, sc := range []screen{narrow, phone} {
		p.size(sc)
		for _, theme := range []string{"off", "light"} {
			js[string](p, fmt.Sprintf(`document.documentElement.dataset.theme = %q`, theme))
			for _, said := range p.axe(axe, theme == "light") {
				t.Errorf("%s, %s, axe: %s", sc.name, theme, said)
			}
			for _, said := range p.sideways() {
				t.Errorf("%s is too wide: %s", sc.name, said)
			}
			for _, said := range js[[]string](p, fmt.Sprintf(`(%s)(48)`, targetScript)) {
				t.Errorf("%s, too small for a thumb: %s", sc.name, said)
			}
			p.shot("offline-kept-"+sc.name+"-"+theme, false)
		}
	}

	// a link does not lead away from the page that works
	p.in(inHand).tap("link", "All of A2")
	p.says("This one goes on working: keep it open")
	if got := p.path(); got != "/round" {
		t.Fatalf("without a network the link led to %s", got)
	}

	p.cut(false)
	p.waitKept("All sent 09:00")
	if got := len(w.standing("nest_check")); got != before+1 {
		t.Errorf("%d looks stand, want one more than %d", got, before)
	}
	look := last[*aviary.NestCheck](w.site, before+1)
	if *look.Eggs != 4 || *look.Chicks != 1 {
		t.Errorf("written is %+v", look)
	}
	if got := len(w.standing("chick_ringed")); got != 3 {
		t.Errorf("%d chicks are ringed, want 3", got)
	}
	if got := len(w.standing("odd_seen")); got != 0 {
		t.Errorf("what was taken back is written")
	}
	// and the round goes on with the network
	card = p.in(inHand)
	for n, taps := range []int{1, 1, 2, 1, 0} {
		for range taps {
			card.tap("button", fmt.Sprintf("Egg %d…", n+1))
		}
	}
	card.find("button", "Save 3 full, 1 clear…").follow()
	p.says("all 3 done")
}

// TestOffline_SurvivesClosing closes the page while marks wait, and opens it again when the room's computer is back.
func TestOffline_SurvivesClosing(t *testing.T) {
	t.Parallel()
	w := smallWall(t, web.Config{Hosts: []string{"room.test"}})
	w.move(lidsMayBeLifted)
	before := len(w.standing("nest_check"))
	p := w.inTheHouse("/round")
	p.wantJob("A1 Look for chicks")
	p.expect("ERR_CONNECTION_REFUSED")
	p.expect("ERR_CONNECTION_RESET")
	p.expect("ERR_EMPTY_RESPONSE")
	p.expect("ERR_CONNECTION_CLOSED")
	w.halt()
	p.in(inHand).tap("button", "Looked, same…")
	p.waitKept("1 mark kept on this phone")
	p.wantJob("B1 Ring 3 chicks")
	q := p.fresh()
	w.resume()
	q.show("/round")
	q.wait("the mark is sent", func() bool { return len(w.standing("nest_check")) == before+1 })
	q.waitKept("All sent")
	e := w.standing("nest_check")[before]
	if e.Day != demoDay || !strings.HasPrefix(e.Time.String(), "09:0") {
		t.Errorf("it is written at %s %s, want the time of the tap", e.Day, e.Time)
	}
	q.show("/round")
	q.wantJob("B1 Ring 3 chicks")
	if q.band() != "" {
		t.Errorf("the band says %q when all is sent", q.band())
	}
}

// gone says what a browser complains of while the room's computer does not answer.
func (p *tab) gone() {
	for _, part := range []string{"ERR_CONNECTION_REFUSED", "ERR_CONNECTION_RESET", "ERR_EMPTY_RESPONSE", "ERR_CONNECTION_CLOSED", "ERR_INTERNET_DISCONNECTED", "ERR_FAILED"} {
		p.expect(part)
	}
}

// keptPages lists what the service worker keeps.
func (p *tab) keptPages() string {
	p.Helper()
	return js[string](p, `(async () => {
		const out = [];
		for (const name of await caches.keys()) if (name.startsWith("pages-")) for (const r of await (await caches.open(name)).keys()) out.push(new URL(r.url).pathname);
		return out.sort().join(" ");
	})()`)
}

// TestOffline_OpensWithoutANetwork opens the round, a cage and a page that is not kept while the room's computer is off, at an
// address where a service worker is to be had.
func TestOffline_OpensWithoutANetwork(t *testing.T) {
	t.Parallel()
	w := smallWall(t, web.Config{})
	w.move(lidsMayBeLifted)
	before := len(w.standing("nest_check"))
	p := w.open(phone, "/round", light)
	p.wait("the round and its cages are kept", func() bool {
		k := p.keptPages()
		return strings.Contains(k, "/round") && strings.Contains(k, "/cage/"+w.a1.String()) && strings.Contains(k, "/cage/"+w.a2.String()) && strings.Contains(k, "/kept/none")
	})
	p.gone()
	w.halt()
	q := p.fresh()
	q.show("/round")
	q.wantJob("A1 Look for chicks")
	q.waitKept("No signal in here. What you tap is kept on this phone")
	if strings.Contains(q.band(), "Keep this page open") {
		t.Error("it asks to keep a page open that opens without a network")
	}
	q.in(inHand).tap("button", "Looked, same…")
	q.wantJob("B1 Ring 3 chicks")

	// the round opened once more knows what waits
	q = q.fresh()
	q.show("/round?from=" + w.a1.String() + "#next")
	q.wantJob("B1 Ring 3 chicks")
	q.waitKept("1 mark kept on this phone")
	q.says("Looked, same kept on this phone 09:00")

	// a cage of the round, with a form that is not a card's
	q.show("/cage/" + w.a2.String())
	q.tap("DisclosureTriangle", "A note")
	q.in(".act[open]").fill("Note", "hen uses the far perch")
	q.in(".act[open]").tap("button", "Write it down")
	q.waitKept("2 marks kept on this phone")
	q.says("Write it down: hen uses the far perch kept on this phone")
	q.shot("offline-cage", true)
	for _, said := range q.axe(axeSource(t), true) {
		t.Errorf("axe: %s", said)
	}
	// what is not kept says so, and leads back
	q.show("/season")
	q.says("That page needs the room's computer")
	q.waitKept("2 marks kept on this phone")
	q.shot("offline-none", false)
	q.follow("link", "To the round")
	q.wantJob("B1 Ring 3 chicks")

	w.resume()
	q.wait("both are sent", func() bool { return len(w.standing("nest_check")) == before+1 && len(w.standing("note")) == 1 })
	q.waitKept("All sent")
	q.show("/round")
	q.wantJob("B1 Ring 3 chicks")
	q.says("1 of 3 done")
}

// TestOffline_TwoPhones walks the round with two phones that write the same nest, each without a network, one person a phone; both
// looks are kept, and sorted out.
func TestOffline_TwoPhones(t *testing.T) {
	t.Parallel()
	w := lanWall(t)
	before := len(w.standing("nest_check"))
	nora, tom := w.logIn("Nora", keeperPhrase), w.logIn("Tom", helperPhrase)
	for _, p := range []*tab{nora, tom} {
		p.show("/round")
		p.wantJob("A1 Look for chicks")
		p.cut(true)
		p.waitKept("No signal in here")
	}
	nora.in(inHand).tap("button", "One more chick")
	nora.in(inHand).tap("button", "Save …")
	nora.wantJob("B1 Ring 3 chicks")
	card := tom.in(inHand)
	card.tap("button", "One more chick")
	card.tap("button", "One more chick")
	card.tap("button", "Save …")
	tom.wantJob("B1 Ring 3 chicks")
	w.clock.move(10 * time.Minute)
	tom.cut(false)
	tom.waitKept("All sent")
	nora.cut(false)
	nora.waitKept("1 mark clashes, look")
	nora.shot("offline-clash", false)
	if got := len(w.standing("nest_check")); got != before+2 {
		t.Fatalf("%d looks stand, want both beside %d", got, before)
	}
	nora.follow("link", "1 mark clashes, look")
	nora.says("Two people counted differently", "Nora, 09:0", "Tom, 09:0")
	nora.shot("offline-sort", false)
	nora.in(".matters").fill("How it was settled", "counted again")
	nora.in(".matters").all("button", "Settled")[0].follow()
	nora.lacks("Two people counted differently")
}

// TestOffline_LogInRunsOut keeps what waits when the log-in has run out, asks for it, and sends then; it gives one person's pages
// to nobody else.
func TestOffline_LogInRunsOut(t *testing.T) {
	t.Parallel()
	w := lanWall(t)
	before := len(w.standing("nest_check"))
	p := w.logIn("Tom", helperPhrase)
	p.expectStatus(401)
	p.expectStatus(403)
	p.show("/round")
	p.wait("the round is kept", func() bool { return strings.Contains(p.keptPages(), "/round") })
	p.cut(true)
	p.waitKept("No signal in here")
	p.in(inHand).tap("button", "Looked, same…")
	p.waitKept("1 mark kept on this phone")
	people, err := w.book.People(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range people {
		if x.Name == "Tom" {
			if err := w.book.EndSessions(t.Context(), x.ID); err != nil {
				t.Fatal(err)
			}
		}
	}
	p.cut(false)
	p.waitKept("Log in, and it is sent")
	if got := len(w.standing("nest_check")); got != before {
		t.Fatal("it was written without a log-in")
	}
	// a day on, what waits is warned of
	w.clock.move(30 * time.Hour)
	p.tap("DisclosureTriangle", "What is kept")
	p.tap("button", "Try again")
	p.waitKept("The oldest is of 13 Jan: bring this phone into the room's network, or save the marks to a file")
	p.follow("link", "Log in, and it is sent")

	// Nora logs in on Tom's phone: she is told, and sees nothing of his
	p.fill("Name…", "Nora")
	p.fill("Passphrase…", keeperPhrase)
	p.follow("button", "Log in")
	p.waitKept("1 mark of Tom waits on this phone")
	if p.has("button", "Take back…") || len(w.standing("nest_check")) != before {
		t.Error("Tom's mark is in Nora's hands")
	}
	p.show("/more")
	p.follow("button", "Log out")
	p.wait("no page is kept", func() bool { return p.keptPages() == "" })
	p.fill("Name…", "Tom")
	p.fill("Passphrase…", helperPhrase)
	p.follow("button", "Log in")
	p.wait("Tom's mark is sent", func() bool { return len(w.standing("nest_check")) == before+1 })
	e := w.standing("nest_check")[before]
	if e.By != "Tom" || e.Day != demoDay {
		t.Errorf("it is written by %s on %s, want Tom on the day of the tap", e.By, e.Day)
	}
}

// TestOffline_Mends keeps what cannot be taken, with its sentence, until it is mended.
func TestOffline_Mends(t *testing.T) {
	t.Parallel()
	w := smallWall(t, web.Config{Hosts: []string{"room.test"}})
	w.move(lidsMayBeLifted)
	before := len(w.standing("chick_ringed"))
	p := w.inTheHouse("/round", light)
	p.expectStatus(422)
	p.cut(true)
	p.waitKept("No signal in here")
	p.in(inHand).tap("button", "Looked, same…")
	p.wantJob("B1 Ring 3 chicks")
	p.in(inHand).tap("button", "Save rings…") // and none is ticked
	p.wantJob("A2 Candle 5 eggs")
	p.waitKept("2 marks kept on this phone")
	p.cut(false)
	p.waitKept("1 mark wants mending before it can be taken")
	p.tap("DisclosureTriangle", "What is kept")
	p.says("Tap On beside each ring")
	p.shot("offline-mend", false)
	p = p.fresh()
	p.expect("Cross-Origin-Opener-Policy header has been ignored")
	p.show("/round")
	p.waitKept("1 mark wants mending")
	p.tap("DisclosureTriangle", "What is kept")
	p.follow("button", "Mend: B1 rings")
	p.says("Nothing is saved yet")
	card := p.in("details[open] form:has(.ringlist)")
	card.all("checkbox", "On")[0].tap()
	card.find("button", "Save 1 ring…").follow()
	if got := len(w.standing("chick_ringed")); got != before+1 {
		t.Errorf("%d chicks are ringed, want one more than %d", got, before)
	}
	if p.band() != "" {
		t.Errorf("mended, the band still says %q", p.band())
	}
}

// TestOffline_SavesToAFile saves what waits to a file and reads it in at the computer; the phone that sends it after all writes nothing
// twice.
func TestOffline_SavesToAFile(t *testing.T) {
	t.Parallel()
	w := smallWall(t, web.Config{Hosts: []string{"room.test"}})
	w.move(lidsMayBeLifted)
	looks := len(w.standing("nest_check"))
	p := w.inTheHouse("/round", light)
	p.cut(true)
	p.waitKept("No signal in here")
	p.in(inHand).tap("button", "Looked, same…")
	p.wantJob("B1 Ring 3 chicks")
	card := p.in(inHand)
	card.all("checkbox", "On")[0].tap()
	card.tap("button", "Save 1 ring…")
	p.waitKept("2 marks kept on this phone")
	dir := t.TempDir()
	own := chromedp.FromContext(p.ctx)
	if _, err := cdp.Call(p.ctx, own.Browser, cdpbrowser.SetDownloadBehavior, cdpbrowser.SetDownloadBehaviorParams{Behavior: cdpbrowser.SetDownloadBehaviorBehaviorAllow, BrowserContextID: own.BrowserContextID, DownloadPath: dir}); err != nil {
		t.Fatal(err)
	}
	p.tap("DisclosureTriangle", "What is kept")
	p.tap("button", "Save to a file")
	var text []byte
	p.wait("the file is saved", func() bool {
		files, err := filepath.Glob(filepath.Join(dir, "round-2026-01-13*.json"))
		if err != nil || len(files) != 1 {
			return false
		}
		text, err = os.ReadFile(files[0])
		return err == nil && len(text) > 0
	})
	p.expect("a request to http://room.test") // the phone stays where it is
	w.under("127.0.0.1")
	q := w.open(desk, "/phone", light)
	file := filepath.Join(dir, "brought.json")
	if err := os.WriteFile(file, text, 0o600); err != nil {
		t.Fatal(err)
	}
	q.do(chromedp.SetUploadFiles(`input[type="file"]`, []string{file}))
	q.follow("button", "Look at the file")
	q.says("2 marks in the file: 2 new ones.", "FC 26-019")
	q.shot("offline-file", true)
	for _, said := range q.axe(axeSource(t), true) {
		t.Errorf("axe: %s", said)
	}
	q.follow("button", "Read in 2 marks")
	q.says("2 marks were read in.")
	if got := len(w.standing("nest_check")); got != looks+1 {
		t.Errorf("%d looks stand, want one more than %d", got, looks)
	}
	p.cut(false)
	p.waitKept("All sent")
	if len(w.standing("nest_check")) != looks+1 || len(w.standing("chick_ringed")) != 1 {
		t.Error("the phone wrote it once more")
	}
}
