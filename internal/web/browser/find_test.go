//go:build browser

package browser_test

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/chromedp/cdproto/accessibility"
	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/dom"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// spot is one thing on the page.
type spot struct {
	p    *tab
	id   cdp.BackendNodeID
	name string
}

// part is the page, or a part of it, in which things are looked for.
type part struct {
	p   *tab
	css string // "" is the whole page
}

// in narrows the search to the first visible element of a CSS selector: the card in hand, one sheet.
func (p *tab) in(css string) part { return part{p, css} }

func (p *tab) page() part { return part{p, ""} }

// called matches a name: the whole of it, or its beginning when want ends in "…".
func called(name, want string) bool {
	if begin, ok := strings.CutSuffix(want, "…"); ok {
		return strings.HasPrefix(name, begin)
	}
	return name == want
}

// look returns the visible things of a role and name, once, without waiting.
func (w part) look(role, name string) (spots []*spot, others []string, err error) {
	root := "document"
	if w.css != "" {
		css, err := json.Marshal(w.css)
		if err != nil {
			return nil, nil, err
		}
		root = fmt.Sprintf(`[...document.querySelectorAll(%s)].find(e => e.getClientRects().length) || null`, css)
	}
	ctx, cancel := context.WithTimeout(w.p.ctx, patience)
	defer cancel()
	obj, err := chromedp.Run(ctx, chromedp.Evaluate[*runtime.RemoteObject](root))
	if err != nil || obj.ObjectID == "" {
		return nil, nil, err
	}
	err = chromedp.Do(ctx, chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		tree, err := cdp.Call(ctx, t, accessibility.QueryAXTree, accessibility.QueryAXTreeParams{ObjectID: obj.ObjectID, Role: role})
		if err != nil {
			return err
		}
		for _, n := range tree.Nodes {
			var is string
			if n.Ignored || n.Name == nil || json.Unmarshal(n.Name.Value, &is) != nil {
				continue
			}
			is = strings.Join(strings.Fields(is), " ")
			if !called(is, name) {
				others = append(others, is)
				continue
			}
			q, err := cdp.Call(ctx, t, dom.GetContentQuads, dom.GetContentQuadsParams{BackendNodeID: n.BackendDOMNodeID})
			if err == nil && len(q.Quads) > 0 {
				spots = append(spots, &spot{w.p, n.BackendDOMNodeID, is})
			}
		}
		return nil
	}))
	return spots, others, err
}

// all waits until something of a role and name is there, and returns all of it, in the order of the page.
func (w part) all(role, name string) []*spot {
	w.p.Helper()
	until := time.Now().Add(patience)
	for {
		spots, others, err := w.look(role, name)
		if err == nil && len(spots) > 0 {
			return spots
		}
		if time.Now().After(until) {
			slices.Sort(others)
			w.p.Fatalf("there is no %s called %q on %s; there are %q (%v). The page reads: %s", role, name, w.p.path(), slices.Compact(others), err, w.p.text())
		}
		w.p.pause()
	}
}

// find waits for the one thing of a role and name.
func (w part) find(role, name string) *spot {
	w.p.Helper()
	spots := w.all(role, name)
	if len(spots) > 1 {
		w.p.Fatalf("there are %d of %s %q on %s; say which", len(spots), role, name, w.p.path())
	}
	return spots[0]
}

// has reports whether something of a role and name is there now.
func (w part) has(role, name string) bool {
	w.p.Helper()
	spots, _, err := w.look(role, name)
	if err != nil {
		w.p.Fatal(err)
	}
	return len(spots) > 0
}

// pause waits for the page to get on, a few frames long.
func (p *tab) pause() {
	p.Helper()
	p.do(chromedp.Sleep(60 * time.Millisecond))
}

func (w part) tap(role, name string)        { w.p.Helper(); w.find(role, name).tap() }
func (w part) follow(role, name string) int { w.p.Helper(); return w.find(role, name).follow() }
func (w part) fill(label, text string)      { w.p.Helper(); w.field(label).fill(text) }
func (w part) choose(label, option string)  { w.p.Helper(); w.field(label).choose(option) }
func (w part) value(label string) string    { w.p.Helper(); return w.field(label).value() }
func (p *tab) find(role, name string) *spot { p.Helper(); return p.page().find(role, name) }
func (p *tab) has(role, name string) bool   { p.Helper(); return p.page().has(role, name) }
func (p *tab) tap(role, name string)        { p.Helper(); p.page().tap(role, name) }
func (p *tab) follow(role, name string) int { p.Helper(); return p.page().follow(role, name) }
func (p *tab) fill(label, text string)      { p.Helper(); p.page().fill(label, text) }
func (p *tab) choose(label, option string)  { p.Helper(); p.page().choose(label, option) }
func (p *tab) value(label string) string    { p.Helper(); return p.page().value(label) }

// fieldRoles are the roles that a labelled field may have.
var fieldRoles = []string{"textbox", "spinbutton", "combobox", "searchbox", "listbox", "Date", "InputTime", "DateTime", "ComboBoxSelect", "MenuListPopup"}

// field waits for the one field with a label.
func (w part) field(label string) *spot {
	w.p.Helper()
	until := time.Now().Add(patience)
	for {
		var found []*spot
		var names []string
		for _, role := range fieldRoles {
			spots, others, err := w.look(role, label)
			if err != nil {
				w.p.Fatal(err)
			}
			found, names = append(found, spots...), append(names, others...)
		}
		if len(found) == 1 {
			return found[0]
		}
		if time.Now().After(until) || len(found) > 1 {
			w.p.Fatalf("there are %d fields called %q on %s; others are %q. The page reads: %s", len(found), label, w.p.path(), names, w.p.text())
		}
		w.p.pause()
	}
}

// call runs a function of the page with the thing as this, and returns what it returns.
func call[T any](s *spot, fn string, args ...any) T {
	s.p.Helper()
	var out T
	ctx, cancel := context.WithTimeout(s.p.ctx, patience)
	defer cancel()
	err := chromedp.Do(ctx, chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		obj, err := cdp.Call(ctx, t, dom.ResolveNode, dom.ResolveNodeParams{BackendNodeID: s.id})
		if err != nil {
			return err
		}
		p := runtime.CallFunctionOnParams{ObjectID: obj.Object.ObjectID, FunctionDeclaration: fn, ReturnByValue: new(true), AwaitPromise: new(true)}
		for _, a := range args {
			b, err := json.Marshal(a)
			if err != nil {
				return err
			}
			p.Arguments = append(p.Arguments, &runtime.CallArgument{Value: b})
		}
		res, err := cdp.Call(ctx, t, runtime.CallFunctionOn, p)
		if err != nil {
			return err
		}
		if res.ExceptionDetails != nil {
			return fmt.Errorf("%s %s", res.ExceptionDetails.Text, res.ExceptionDetails.Exception.Description)
		}
		if len(res.Result.Value) == 0 {
			return nil
		}
		return json.Unmarshal(res.Result.Value, &out)
	}))
	if err != nil {
		s.p.Fatalf("%q: %v", s.name, err)
	}
	return out
}

// point brings the thing into the window and returns where a finger meets it; something that lies over it fails the test.
func (s *spot) point() (x, y float64) {
	s.p.Helper()
	at := call[struct {
		X, Y  float64
		Under string
	}](s, `function () {
		this.scrollIntoView({ block: "center", inline: "center", behavior: "instant" });
		const r = [...this.getClientRects()].find(r => r.width && r.height);
		if (!r) return { X: 0, Y: 0, Under: "nothing: it takes no room" };
		const X = r.left + r.width / 2, Y = r.top + r.height / 2;
		const top = document.elementFromPoint(X, Y);
		const ours = top && (this === top || this.contains(top) || top.contains(this) && top.closest("label, summary, a, button") || [...(this.labels || [])].some(l => l.contains(top)));
		return { X, Y, Under: ours ? "" : top ? top.outerHTML.slice(0, 120) : "the edge of the window" };
	}`)
	if at.Under != "" {
		s.p.Fatalf("%q cannot be reached, it lies under %s", s.name, at.Under)
	}
	return at.X, at.Y
}

// press is the action of a finger on a phone, of the mouse at a desk.
func (s *spot) press() chromedp.Action[chromedp.Void] {
	s.p.Helper()
	x, y := s.point()
	if s.p.screen.touch {
		return chromedp.TapXY(x, y)
	}
	return chromedp.MouseClickXY(x, y)
}

// tap presses the thing where that loads no page.
func (s *spot) tap() {
	s.p.Helper()
	s.p.do(s.press())
	s.p.pause()
}

// follow presses the thing, waits for the page that comes, and returns its status.
func (s *spot) follow() int {
	s.p.Helper()
	return s.p.load(s.press())
}

// fill types a text in place of what stands in a field.
func (s *spot) fill(text string) {
	s.p.Helper()
	kind := call[string](s, `function () { this.focus(); if (this.select) this.select(); return this.type || ""; }`)
	if kind == "date" || kind == "time" || kind == "month" || kind == "range" {
		// the browser's own picker has no text to type over
		call[string](s, `function (v) { this.value = v; for (const e of ["input", "change"]) this.dispatchEvent(new Event(e, { bubbles: true })); return ""; }`, text)
		return
	}
	if text == "" {
		s.p.do(chromedp.KeyEvent("\b"))
		return
	}
	s.p.do(chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, input.InsertText, input.InsertTextParams{Text: text})
		return err
	}))
}

// choose picks an option of a list by what it says.
func (s *spot) choose(option string) {
	s.p.Helper()
	if said := call[string](s, `function (want) {
		const o = [...this.options].find(o => o.textContent.trim() === want);
		if (!o) return [...this.options].map(o => o.textContent.trim()).join(" | ");
		this.value = o.value;
		for (const e of ["input", "change"]) this.dispatchEvent(new Event(e, { bubbles: true }));
		return "";
	}`, option); said != "" {
		s.p.Fatalf("%q offers no %q; it offers %s", s.name, option, said)
	}
	s.p.pause()
}

func (s *spot) value() string {
	s.p.Helper()
	return call[string](s, `function () { return this.value; }`)
}

// says waits until the page reads each of the texts somewhere.
func (p *tab) says(texts ...string) {
	p.Helper()
	for _, want := range texts {
		p.wait(fmt.Sprintf("the page says %q", want), func() bool { return strings.Contains(p.flat(), want) })
	}
}

// lacks demands that the page reads none of the texts.
func (p *tab) lacks(texts ...string) {
	p.Helper()
	for _, not := range texts {
		if strings.Contains(p.flat(), not) {
			p.Errorf("%s says %q", p.path(), not)
		}
	}
}

// flat is all of the page's text, with single spaces.
func (p *tab) flat() string {
	p.Helper()
	return strings.Join(strings.Fields(js[string](p, `document.body ? document.body.innerText : ""`)), " ")
}

// wait waits until something is so.
func (p *tab) wait(what string, so func() bool) {
	p.Helper()
	for until := time.Now().Add(patience); !so(); p.pause() {
		if time.Now().After(until) {
			p.Fatalf("it is never so that %s; %s reads: %s", what, p.path(), p.text())
		}
	}
}

// headline is the page's answer.
func (p *tab) headline() string {
	p.Helper()
	return strings.Join(strings.Fields(js[string](p, `(document.querySelector("h1") || { textContent: "" }).textContent`)), " ")
}
