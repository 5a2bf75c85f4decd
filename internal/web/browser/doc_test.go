//go:build browser

// Package browser_test takes the keeper's ways through the site in a real browser, and measures every page in it.
//
// # What it answers
//
// Can the work be done with a thumb on a phone, at a desk, by keyboard, and without scripts? Is each page readable,
// in the room and in the dark, and does it keep to its own width?
//
// # How it runs
//
// `scripts/test` runs it; by hand: BROODLIGHT_AXE=$(scripts/axe) go test -tags browser ./internal/web/browser
// One browser serves the whole package; each test has a room in a folder of its own, a clock that it moves, and tabs
// that share no cookies. Things are found as a keeper finds them, by what they are and what they are called.
// A complaint in the browser's console, or a request to anywhere else, fails the test.
//
//	BROODLIGHT_AXE    the file of axe-core; without it the one that scripts/axe fetched
//	BROODLIGHT_SHOTS  a folder to keep a picture of each page in
//	-update           draws docs/pictures anew
package browser_test
