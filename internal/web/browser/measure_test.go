//go:build browser

package browser_test

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
)

// axeVersion is that of axe-core which scripts/axe fetches.
const axeVersion = "4.14.1"

// axeSource is the accessibility checker. A missing one fails the test: a page that is not checked is not sound.
func axeSource(t *testing.T) string {
	t.Helper()
	file := os.Getenv("BROODLIGHT_AXE")
	if file == "" {
		cache := os.Getenv("XDG_CACHE_HOME")
		if cache == "" {
			home, err := os.UserHomeDir()
			if err != nil {
				t.Fatal(err)
			}
			cache = filepath.Join(home, ".cache")
		}
		file = filepath.Join(cache, "broodlight", "axe-core-"+axeVersion, "axe.min.js")
	}
	b, err := os.ReadFile(file)
	if err != nil {
		t.Fatalf("axe-core is not there; run scripts/axe once: %v", err)
	}
	return string(b)
}

func navigate(address string) chromedp.Action[chromedp.Void] { return chromedp.Navigate(address) }

// axe runs the checker and returns what it complains of. Without all, only contrast is measured, which is what a theme changes.
func (p *tab) axe(source string, all bool) []string {
	p.Helper()
	if !js[bool](p, `typeof axe !== "undefined"`) {
		js[int](p, source+";0")
	}
	options := `{}`
	if !all {
		options = `{ runOnly: ["color-contrast"] }`
	}
	raw := js[string](p, `axe.run(document, `+options+`).then(r => JSON.stringify(r.violations.map(v => ({
		id: v.id, help: v.help, nodes: v.nodes.length, first: v.nodes.slice(0, 3).map(n => n.target.join(" ") + " " + n.html.slice(0, 160) + (n.any[0] && n.any[0].data && n.any[0].data.contrastRatio ? " contrast " + n.any[0].data.contrastRatio + " " + n.any[0].data.fgColor + " on " + n.any[0].data.bgColor : "")) }))))`)
	var found []struct {
		ID, Help string
		Nodes    int
		First    []string
	}
	if err := json.Unmarshal([]byte(raw), &found); err != nil {
		p.Fatal(err)
	}
	var out []string
	for _, v := range found {
		out = append(out, fmt.Sprintf("%s (%s), %d times: %q", v.ID, v.Help, v.Nodes, v.First))
	}
	return out
}

// widthScript says whether the page runs sideways, and what makes it. The width is the screen's: a phone's browser widens its
// own window to hold a page that is too wide.
const widthScript = `(width) => {
	if (document.scrollingElement.scrollWidth <= width) return [];
	const wide = [...document.querySelectorAll("body *")]
		.filter(e => e.getBoundingClientRect().right > width + 1 && !e.parentElement.closest(".scroll, .list, .chips, svg"))
		.slice(0, 4).map(e => e.tagName + "." + (e.getAttribute("class") || "") + " to " + Math.round(e.getBoundingClientRect().right));
	return [document.scrollingElement.scrollWidth + " px: " + wide.join(", ")];
}`

// fontScript names texts that come out smaller than 12 px, drawings included.
const fontScript = `[...document.querySelectorAll("body *")]
	.filter(e => [...e.childNodes].some(n => n.nodeType === 3 && n.textContent.trim()) && e.getClientRects().length && !e.closest(".vh, title, desc"))
	.map(e => {
		let k = 1;
		if (e.ownerSVGElement && e.getScreenCTM) { const m = e.getScreenCTM(); if (m) k = Math.hypot(m.a, m.b); }
		return [e, parseFloat(getComputedStyle(e).fontSize) * k];
	})
	.filter(([e, px]) => px < 11.95)
	.map(([e, px]) => e.tagName + "." + (e.getAttribute("class") || "") + " “" + e.textContent.trim().slice(0, 20) + "” " + px.toFixed(1)).slice(0, 5)`

// targetScript names what is hard to hit: buttons and fields under least px, links and folds under 44. A link in a sentence
// is exempt, one in a table or a drawing is held to 24 (WCAG 2.2, 2.5.8); a tick box is as large as its label, and a
// count's field as its cell.
const targetScript = `(least) => {
	const seen = new Set();
	return [...document.querySelectorAll("button, select, textarea, summary, a[href], input:not([type=hidden])")]
		.filter(e => e.checkVisibility({ opacityProperty: true, visibilityProperty: true }) && !e.closest(".vh, .skip"))
		.map(e => (e.type === "checkbox" || e.type === "radio") && e.labels[0] ? e.labels[0] : e.closest(".count") && e.tagName === "INPUT" ? e.closest(".count") : e)
		.filter(e => !seen.has(e) && seen.add(e))
		.filter(e => !(e.tagName === "A" && getComputedStyle(e).display === "inline"))
		.map(e => [e, e.getBoundingClientRect()])
		.filter(([e, r]) => {
			const dense = e.closest("a") && e.closest("td, th[scope=row], svg");
			const high = dense ? 24 : e.matches("a, summary") ? 44 : least;
			return r.width && r.height && (r.height < high - 0.6 || r.width < (dense ? 24 : 44) - 0.6);
		})
		.map(([e, r]) => e.tagName + "." + (e.getAttribute("class") || "") + " “" + (e.textContent.trim() || e.name || "").replace(/\s+/g, " ").slice(0, 24) + "” " + Math.round(r.width) + "×" + Math.round(r.height))
		.slice(0, 8);
}`

// tabThrough walks the page by the Tab key and says what is wrong on the way: a focus that goes back, is not seen, or lies
// under something else. It stops at the end of the page, or after many steps.
func (p *tab) tabThrough() []string {
	p.Helper()
	const steps = 70
	js[bool](p, `(() => {
		scrollTo(0, 0);
		if (document.activeElement && document.activeElement !== document.body) document.activeElement.blur();
		window.walk = { last: null, first: null, said: [], n: 0, done: false };
		const name = e => e.tagName + "." + (e.getAttribute("class") || "") + " “" + (e.getAttribute("aria-label") || e.textContent.trim() || e.name || e.id).replace(/\s+/g, " ").slice(0, 30) + "”";
		document.addEventListener("focusin", (ev) => {
			const w = window.walk, e = ev.target;
			if (w.done) return;
			if (e === w.first) { w.done = true; return; }
			w.first ??= e;
			w.n++;
			if (w.last && !(w.last.compareDocumentPosition(e) & Node.DOCUMENT_POSITION_FOLLOWING)) w.said.push("goes back to " + name(e));
			w.last = e;
			const style = getComputedStyle(e);
			const ringed = style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2
				|| style.boxShadow !== "none"
				|| e.closest("label, .count, .egg") && [e.closest("label"), e.closest(".count"), e.closest(".egg")].some(x => x && getComputedStyle(x).outlineStyle !== "none");
			if (!ringed) w.said.push("is not seen on " + name(e));
			const tall = e.closest("label") ? e.closest("label").getBoundingClientRect() : e.getClientRects()[0] || e.getBoundingClientRect();
			if (!tall.width || !tall.height) { w.said.push("has no place on the page at " + name(e)); return; }
			const points = [[.5, .5], [.5, .1], [.5, .9], [.1, .5], [.9, .5]].map(([x, y]) => [tall.left + tall.width * x, tall.top + tall.height * y]);
			const own = t => t && (t === e || e.contains(t) || t.contains(e) || e.closest(".count") && e.closest(".count").contains(t));
			if (!points.some(([x, y]) => own(document.elementFromPoint(x, y)))) {
				const [x, y] = points[0], over = document.elementFromPoint(x, y);
				w.said.push("lies under " + (over ? name(over) : "the edge of the window") + " at " + name(e));
			}
		}, true);
		return true;
	})()`)
	ctx, cancel := context.WithTimeout(p.ctx, patience)
	defer cancel()
	for range steps {
		if err := chromedp.Do(ctx, chromedp.KeyEvent("\t")); err != nil {
			p.Fatal(err)
		}
	}
	out := js[[]string](p, `window.walk.said.slice(0, 6)`)
	if n := js[int](p, `window.walk.n`); n < 3 {
		out = append(out, fmt.Sprintf("reaches only %d things", n))
	}
	return out
}

// sideways says what makes the page wider than the screen.
func (p *tab) sideways() []string {
	p.Helper()
	return js[[]string](p, fmt.Sprintf("(%s)(%d)", widthScript, p.screen.width))
}

// key is the press of a key, as a browser gets it: one that the page takes for itself types nothing.
func key(name string) chromedp.Action[chromedp.Void] {
	press := input.DispatchKeyEventParams{Type: input.DispatchKeyEventTypeRawKeyDown, Key: name, Code: name}
	switch name {
	case "Enter":
		press.Type, press.Text, press.WindowsVirtualKeyCode = input.DispatchKeyEventTypeKeyDown, "\r", 13
	case "Escape":
		press.WindowsVirtualKeyCode = 27
	default:
		press.WindowsVirtualKeyCode = map[string]int64{"ArrowLeft": 37, "ArrowUp": 38, "ArrowRight": 39, "ArrowDown": 40}[name]
	}
	return chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		if _, err := cdp.Call(ctx, t, input.DispatchKeyEvent, press); err != nil {
			return err
		}
		press.Type, press.Text = input.DispatchKeyEventTypeKeyUp, ""
		_, err := cdp.Call(ctx, t, input.DispatchKeyEvent, press)
		return err
	})
}

// settle waits until letters have their font and everything is drawn.
func settle() chromedp.Action[chromedp.Void] {
	return func(ctx context.Context, t *chromedp.Target) (chromedp.Void, error) {
		_, err := chromedp.Evaluate[bool](`document.fonts.ready.then(() => new Promise(r => requestAnimationFrame(() => requestAnimationFrame(() => r(true)))))`, chromedp.EvalAwaitPromise)(ctx, t)
		return chromedp.Void{}, err
	}
}
