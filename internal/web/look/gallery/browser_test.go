//go:build browser

package gallery_test

import (
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"

	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// browse opens a browser on the pages of the gallery, under the policy that the tool sends. What the
// browser complains of fails the test at its end.
func browse(t *testing.T) (context.Context, string) {
	t.Helper()
	files := http.FileServer(http.Dir("../.."))
	srv := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Security-Policy", "default-src 'self'")
		files.ServeHTTP(w, r)
	}))
	t.Cleanup(srv.Close)
	ctx, cancel := chromedp.NewContext(context.Background())
	t.Cleanup(cancel)
	open(t, ctx, 800, "about:blank")
	var mu sync.Mutex
	var complaints []string
	say := func(s string) {
		mu.Lock()
		defer mu.Unlock()
		complaints = append(complaints, s)
	}
	go func() {
		for e, err := range chromedp.Events(ctx, runtime.ExceptionThrown) {
			if err != nil {
				return
			}
			say(e.ExceptionDetails.Text)
		}
	}()
	go func() {
		for e, err := range chromedp.Events(ctx, log.EntryAdded) {
			if err != nil {
				return
			}
			// the gallery has no icon for its tab
			if !strings.Contains(e.Entry.URL, "favicon") {
				say(e.Entry.Text)
			}
		}
	}()
	t.Cleanup(func() {
		mu.Lock()
		defer mu.Unlock()
		for _, c := range complaints {
			t.Errorf("the browser complains: %s", c)
		}
	})
	return ctx, srv.URL + "/look/gallery/testdata/"
}

func run(t *testing.T, ctx context.Context, steps ...chromedp.Action[chromedp.Void]) {
	t.Helper()
	if err := chromedp.Do(ctx, steps...); err != nil {
		t.Fatal(err)
	}
}

// open shows a page in a window of a width; under 700 it is a phone.
func open(t *testing.T, ctx context.Context, width int64, address string) {
	t.Helper()
	var opts []chromedp.EmulateViewportOption
	if width < 700 {
		opts = append(opts, chromedp.EmulateMobile)
	}
	run(t, ctx, chromedp.EmulateViewport(width, 900, opts...), chromedp.Navigate(address))
}

// js returns the value of an expression in the page.
func js[T any](t *testing.T, ctx context.Context, expr string) T {
	t.Helper()
	out, err := chromedp.Run(ctx, chromedp.Evaluate[T](expr))
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// TestPages_NeverScrollSideways opens each page at the narrowest phone, a phone, and at desks. A desk of
// 1024 px at twice the size lays out as one of 512.
func TestPages_NeverScrollSideways(t *testing.T) {
	ctx, base := browse(t)
	for name := range pages() {
		for _, width := range []int64{360, 390, 512, 761, 1024, 1440} {
			open(t, ctx, width, base+name+".html")
			if got := js[int64](t, ctx, `document.documentElement.scrollWidth`); got > width {
				wide := js[string](t, ctx, fmt.Sprintf(`[...document.querySelectorAll("body *")].filter(e => e.getBoundingClientRect().right > %d && !e.closest(".scroll,.bay,.list,.chips,svg")).slice(0, 4).map(e => e.tagName + "." + (e.getAttribute("class") || "")).join(", ")`, width+1))
				t.Errorf("%s at %d is %d wide: %s", name, width, got, wide)
			}
		}
	}
}

// TestPages_TargetsAreLargeOnAPhone measures what a thumb has to hit. A link inside a sentence, and the
// field of a count whose cell is the target, are not held to it.
func TestPages_TargetsAreLargeOnAPhone(t *testing.T) {
	ctx, base := browse(t)
	for name := range pages() {
		open(t, ctx, 390, base+name+".html")
		small := js[[]string](t, ctx, `[...document.querySelectorAll("button,select,a.chip,a.go,a.quiet,a.plain,.foot a,.choice,label.tick,.bayswitch a,input:not([type=checkbox],[type=radio],[type=range])")]
			.filter(e => e.offsetParent !== null && !e.closest(".vh,.count,.matrix"))
			.map(e => [e, e.getBoundingClientRect()])
			.filter(([e, r]) => r.height < 47.5)
			.map(([e, r]) => e.tagName + "." + e.className + " " + e.textContent.slice(0, 20) + " " + Math.round(r.height))`)
		for _, s := range small {
			t.Errorf("%s: too small for a thumb: %s", name, s)
		}
	}
}

func TestPages_NoTextUnder12(t *testing.T) {
	ctx, base := browse(t)
	for name := range pages() {
		for _, width := range []int64{360, 1440} {
			open(t, ctx, width, base+name+".html")
			small := js[[]string](t, ctx, `[...document.querySelectorAll("body *")]
				.filter(e => [...e.childNodes].some(n => n.nodeType === 3 && n.textContent.trim()) && e.getClientRects().length && !e.closest(".vh"))
				.map(e => { const svg = e.ownerSVGElement; let k = 1; if (svg && e.getScreenCTM) { const m = e.getScreenCTM(); k = Math.hypot(m.a, m.b); } return [e, parseFloat(getComputedStyle(e).fontSize) * k]; })
				.filter(([e, px]) => px < 11.95)
				.map(([e, px]) => e.tagName + " " + e.textContent.slice(0, 20) + " " + px.toFixed(1)).slice(0, 5)`)
			for _, s := range small {
				t.Errorf("%s at %d: under 12 px: %s", name, width, s)
			}
		}
	}
}

func TestRound_SaysWhatItSaves(t *testing.T) {
	ctx, base := browse(t)
	open(t, ctx, 390, base+"round.html")
	const save, same = `document.querySelector(".job.now [data-save]")`, `document.querySelector(".job.now [data-same]")`
	if got := js[string](t, ctx, save+".textContent.trim()"); got != "Save changes" {
		t.Errorf("before a change the button says %q", got)
	}
	run(t, ctx, chromedp.Click(".job.now .count:nth-child(3) .plus"))
	if got := js[string](t, ctx, save+".textContent.trim()"); got != "Save 1 dead" {
		t.Errorf("after a tap the button says %q", got)
	}
	if !js[bool](t, ctx, same+".disabled && "+save+`.classList.contains("go")`) {
		t.Error("the main look does not move to Save")
	}
	run(t, ctx, chromedp.Click(".job.now .count:nth-child(1) .minus"))
	if got := js[string](t, ctx, save+".textContent.trim()"); got != "Save 4 eggs, 1 dead" {
		t.Errorf("after two changes the button says %q", got)
	}
	// a count can go back, and never under 0
	run(t, ctx, chromedp.Click(".job.now .count:nth-child(1) .plus"))
	for range 2 {
		run(t, ctx, chromedp.Click(".job.now .count:nth-child(2) .minus"))
	}
	if got := js[string](t, ctx, save+".textContent.trim()"); got != "Save 1 dead" {
		t.Errorf("after going back the button says %q", got)
	}
	// candling
	run(t, ctx, chromedp.Click(".egg:nth-child(5) button"))
	if got := js[string](t, ctx, `document.querySelector(".eggs").closest("form").querySelector("[data-save]").textContent.trim()`); !strings.HasPrefix(got, "Save 3 full, 1 clear, 1 dead in shell") {
		t.Errorf("after candling the button says %q", got)
	}
	run(t, ctx, chromedp.Click(".egg:nth-child(5) button"), chromedp.Click(".egg:nth-child(5) button"))
	if got := js[string](t, ctx, `document.querySelector(".egg:nth-child(5) select").value`); got != "" {
		t.Errorf("three taps end at %q, not at not yet", got)
	}
}

func TestWall_FiltersPicksAndCarries(t *testing.T) {
	ctx, base := browse(t)
	open(t, ctx, 1440, base+"wall.html")
	all := js[int](t, ctx, `document.querySelectorAll(".cage").length`)
	before := js[string](t, ctx, `JSON.stringify([...document.querySelectorAll(".cage")].map(e => e.getBoundingClientRect()))`)
	run(t, ctx, chromedp.Click(`[data-filter="late"]`))
	late := js[int](t, ctx, `document.querySelectorAll(".cage.late").length`)
	if got := js[int](t, ctx, `document.querySelectorAll(".cage.dim").length`); got != all-late || late == 0 {
		t.Errorf("%d of %d tiles are dimmed, %d are late", got, all, late)
	}
	if after := js[string](t, ctx, `JSON.stringify([...document.querySelectorAll(".cage")].map(e => e.getBoundingClientRect()))`); after != before {
		t.Error("filtering moves a tile")
	}
	run(t, ctx, chromedp.Click(`[data-filter="late"]`))
	if got := js[int](t, ctx, `document.querySelectorAll(".cage.dim").length`); got != 0 {
		t.Errorf("a second press leaves %d tiles dimmed", got)
	}
	if !js[bool](t, ctx, `document.querySelector("[data-bulk]").hidden`) {
		t.Error("the bar shows with nothing picked")
	}
	run(t, ctx, chromedp.Click(`[data-pick][value="A9"]`), chromedp.Click(`[data-pick][value="A11"]`))
	if got := js[string](t, ctx, `document.querySelector("[data-pick-count]").textContent`); got != "2 cages picked" {
		t.Errorf("the bar says %q", got)
	}
	// carried by keyboard: up from the foot of the page to the row above, then left
	js[any](t, ctx, `document.querySelector("[data-carry-form]").addEventListener("submit", e => { e.preventDefault(); window.sent = new URLSearchParams(new FormData(e.target)).toString(); }); document.querySelector("[data-carry]").focus()`)
	key := func(k string) {
		js[any](t, ctx, fmt.Sprintf(`document.activeElement.dispatchEvent(new KeyboardEvent("keydown", {key: %q, bubbles: true}))`, k))
	}
	key("Enter")
	key("ArrowUp")
	first := js[string](t, ctx, `document.querySelector(".target").dataset.drop`)
	key("ArrowRight")
	second := js[string](t, ctx, `document.querySelector(".target").dataset.drop`)
	key("Enter")
	if first != "C1" || second != "C2" {
		t.Errorf("the arrows lead to %s and %s", first, second)
	}
	if got := js[string](t, ctx, `window.sent`); got != "what=b7&to=C2" {
		t.Errorf("the move sends %q", got)
	}
}

func TestTheme_IsRememberedAndFollowsTheLamps(t *testing.T) {
	ctx, base := browse(t)
	theme := func() string { return js[string](t, ctx, `document.documentElement.dataset.theme || ""`) }
	open(t, ctx, 1440, base+"forms.html")
	if got := theme(); got != "light" {
		t.Errorf("the page opens as %q", got)
	}
	run(t, ctx, chromedp.Click("[data-theme-button]"))
	if got := theme(); got != "off" {
		t.Errorf("the button leads to %q", got)
	}
	run(t, ctx, chromedp.Navigate(base+"forms.html"))
	if got := theme(); got != "off" {
		t.Errorf("the next page opens as %q", got)
	}
	// the choice ends when the lamps change
	js[any](t, ctx, `localStorage.setItem("theme", JSON.stringify({theme: "off", until: Date.now() - 1}))`)
	run(t, ctx, chromedp.Navigate(base+"forms.html"))
	if got := theme(); got == "off" {
		t.Error("a choice outlives the change of the lamps")
	}
}

func TestConfirm_AsksOnce(t *testing.T) {
	ctx, base := browse(t)
	open(t, ctx, 1440, base+"parts.html")
	run(t, ctx, chromedp.Click("[data-confirm]"))
	if got := js[string](t, ctx, `document.querySelector("[data-confirm]").textContent`); got != "Yes, strike it out" {
		t.Errorf("the first press says %q", got)
	}
	js[any](t, ctx, `document.querySelector("[data-confirm]").blur()`)
	if got := js[string](t, ctx, `document.querySelector("[data-confirm]").textContent`); got != "Strike out" {
		t.Errorf("left alone it says %q", got)
	}
}
