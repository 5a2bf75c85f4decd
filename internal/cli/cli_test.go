package cli

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/rogpeppe/go-internal/testscript"

	"broodlight/internal/aviary"
	"broodlight/internal/journal"
)

// The tests run this same binary as the program.
func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"broodlight": func() { os.Exit(Main(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) },
	})
}

func TestScripts(t *testing.T) {
	shown := sync.Map{} // running programs, by script
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/script",
		RequireExplicitExec: true,
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			// exits CODE COMMAND...: runs a command and holds it to its exit code.
			"exits": func(ts *testscript.TestScript, neg bool, args []string) {
				if neg || len(args) < 2 {
					ts.Fatalf("usage: exits CODE COMMAND...")
				}
				err := ts.Exec(args[1], args[2:]...)
				code := 0
				if err != nil {
					exit, ok := err.(*exec.ExitError)
					if !ok {
						ts.Fatalf("%v", err)
					}
					code = exit.ExitCode()
				}
				if args[0] != strconv.Itoa(code) {
					ts.Fatalf("exit code %d, want %s", code, args[0])
				}
			},
			// open ARGS...: starts the program and waits until the room's address answers. $URL is the address.
			"open": func(ts *testscript.TestScript, neg bool, args []string) {
				p, err := start(program(ts), ts.Getenv("WORK"), environ(ts), args...)
				ts.Check(err)
				shown.Store(ts, p)
				ts.Defer(func() { p.kill() })
				ts.Setenv("URL", p.url)
			},
			// told TEXT: the program printed a line with the text before it was ready.
			"told": func(ts *testscript.TestScript, neg bool, args []string) {
				p, _ := shown.Load(ts)
				if got := p.(*running).said(); strings.Contains(got, args[0]) == neg {
					ts.Fatalf("the program said:\n%s", got)
				}
			},
			// page PATH TEXT: the page at a path of $URL has the text.
			"page": func(ts *testscript.TestScript, neg bool, args []string) {
				resp, err := http.Get(strings.TrimSuffix(ts.Getenv("URL"), "/") + args[0])
				ts.Check(err)
				defer resp.Body.Close()
				body, err := io.ReadAll(resp.Body)
				ts.Check(err)
				if strings.Contains(string(body), args[1]) == neg {
					ts.Fatalf("status %d, page:\n%.3000s", resp.StatusCode, body)
				}
			},
			// shut: sends the program SIGTERM and waits until it has ended well.
			"shut": func(ts *testscript.TestScript, neg bool, args []string) {
				p, _ := shown.Load(ts)
				ts.Check(p.(*running).stop())
			},
			// gone PATTERN: no file of that name is there.
			"gone": func(ts *testscript.TestScript, neg bool, args []string) {
				left, err := filepath.Glob(ts.MkAbs(args[0]))
				ts.Check(err)
				if (len(left) > 0) != neg {
					ts.Fatalf("%s: %q", args[0], left)
				}
			},
		},
	})
}

func program(ts *testscript.TestScript) string {
	for _, dir := range filepath.SplitList(ts.Getenv("PATH")) {
		if name := filepath.Join(dir, "broodlight"+ts.Getenv("exe")); exists(name) {
			return name
		}
	}
	ts.Fatalf("the program is not on the path")
	return ""
}

func exists(name string) bool { _, err := os.Stat(name); return err == nil }

func environ(ts *testscript.TestScript) []string {
	return append(os.Environ(), "PATH="+ts.Getenv("PATH"), "TMPDIR="+ts.Getenv("TMPDIR"), "TZ="+ts.Getenv("TZ"))
}

// running is the program with a room open.
type running struct {
	cmd  *exec.Cmd
	url  string
	mu   sync.Mutex
	text bytes.Buffer
	done chan error
}

func (p *running) said() string {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.text.String()
}

// start starts the program and waits until it says that the room is open and the address answers.
func start(program, dir string, env []string, args ...string) (*running, error) {
	p := &running{cmd: exec.Command(program, args...), done: make(chan error, 1)}
	p.cmd.Dir, p.cmd.Env = dir, env
	var errs bytes.Buffer
	p.cmd.Stderr = &errs
	out, err := p.cmd.StdoutPipe()
	if err != nil {
		return nil, err
	}
	if err := p.cmd.Start(); err != nil {
		return nil, err
	}
	ready := make(chan string, 1)
	read := make(chan bool)
	go func() {
		defer close(read)
		lines := bufio.NewScanner(out)
		for lines.Scan() {
			p.mu.Lock()
			fmt.Fprintln(&p.text, lines.Text())
			p.mu.Unlock()
			if _, at, ok := strings.Cut(lines.Text(), "The room is open at "); ok {
				p.url = at
			}
			if strings.HasPrefix(lines.Text(), "Stop it") {
				ready <- p.url
			}
		}
	}()
	go func() { <-read; p.done <- p.cmd.Wait() }()
	select {
	case err := <-p.done:
		p.done <- err
		return nil, fmt.Errorf("the program ended: %v\n%s", err, errs.String())
	case <-time.After(time.Minute):
		p.kill()
		return nil, fmt.Errorf("the room did not open within a minute:\n%s", p.said())
	case <-ready:
	}
	resp, err := http.Get(p.url + "healthz")
	if err != nil {
		p.kill()
		return nil, err
	}
	return p, resp.Body.Close()
}

func (p *running) stop() error {
	if err := p.cmd.Process.Signal(syscall.SIGTERM); err != nil {
		return err
	}
	err := <-p.done
	p.done <- err
	return err
}

func (p *running) kill() {
	_ = p.cmd.Process.Kill() // it may have ended already
	err := <-p.done
	p.done <- err
}

// TestServe_AStopLosesNothingThatWasAcknowledged stops the program while four hands write notes as fast as they
// can, and looks for every note that was answered with a redirect.
func TestServe_AStopLosesNothingThatWasAcknowledged(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Fatal("this test sends SIGTERM, which Windows does not know; run it elsewhere")
	}
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	// The binary acts as the program under the program's name.
	link := filepath.Join(t.TempDir(), "broodlight")
	if err := os.Symlink(self, link); err != nil {
		t.Fatal(err)
	}
	dir := filepath.Join(t.TempDir(), "room")
	ctx := t.Context()
	book, err := journal.OpenBook(ctx, dir, journal.Options{Create: true})
	if err != nil {
		t.Fatal(err)
	}
	cage := &aviary.PlaceAdded{Place: uuid.Must(uuid.NewV7()), Name: "A1", Type: aviary.Cage}
	if err := book.Write(ctx, journal.Writer{By: "Nell", Role: aviary.Keeper}, &aviary.Entry{Body: cage}); err != nil {
		t.Fatal(err)
	}
	if err := book.Close(); err != nil {
		t.Fatal(err)
	}
	p, err := start(link, dir, os.Environ(), "serve", "--data", dir, "--addr", "127.0.0.1:0", "--no-open")
	if err != nil {
		t.Fatal(err)
	}
	var mu sync.Mutex
	var acknowledged []string
	var hands sync.WaitGroup
	client := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	for hand := range 4 {
		hands.Go(func() {
			for n := 0; ; n++ {
				text := fmt.Sprintf("note %d of hand %d", n, hand)
				resp, err := client.PostForm(p.url+"cage/"+cage.Place.String()+"/note", url.Values{"once": {uuid.Must(uuid.NewV7()).String()}, "text": {text}})
				if err != nil {
					return // the program has stopped
				}
				_ = resp.Body.Close()
				if resp.StatusCode != http.StatusSeeOther {
					t.Errorf("a note was answered with %s", resp.Status)
					return
				}
				mu.Lock()
				acknowledged = append(acknowledged, text)
				mu.Unlock()
			}
		})
	}
	for {
		mu.Lock()
		enough := len(acknowledged) >= 40
		mu.Unlock()
		if enough {
			break
		}
		time.Sleep(time.Millisecond)
	}
	if err := p.stop(); err != nil {
		t.Errorf("the stop: %v", err)
	}
	hands.Wait()
	report, err := journal.Verify(dir)
	if err != nil || !report.Good {
		t.Fatalf("%v %v", report, err)
	}
	j, err := journal.OpenReadOnly(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer j.Close() // read only: closing it loses nothing
	list, err := j.Entries(ctx)
	if err != nil {
		t.Fatal(err)
	}
	var there []string
	for _, e := range list {
		if n, ok := e.Body.(*aviary.Note); ok {
			there = append(there, n.Text)
		}
	}
	for _, text := range acknowledged {
		if !slices.Contains(there, text) {
			t.Errorf("%q was acknowledged and is lost", text)
		}
	}
}
