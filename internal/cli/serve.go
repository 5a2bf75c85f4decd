package cli

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"runtime/debug"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"golang.org/x/term"
	"rsc.io/qr"

	"broodlight/internal/aviary"
	"broodlight/internal/journal"
	"broodlight/internal/web"
)

// defaultAddr is the address that a room is shown at, on this computer alone.
const defaultAddr = "127.0.0.1:8417"

// place is where a room is shown, and to whom.
type place struct {
	addr   string
	lan    bool
	https  bool
	noOpen bool
}

func (p *place) flags(cmd *cobra.Command) {
	cmd.Flags().StringVar(&p.addr, "addr", defaultAddr, "`HOST:PORT` to show the room at; port 0 takes any that is free")
	cmd.Flags().BoolVar(&p.lan, "lan", false, "show the room to phones in the same network too; everybody logs in")
	cmd.Flags().BoolVar(&p.https, "https", false, "with --lan: serve by https with a certificate of the room's own, so that phones that trust it open the round without a signal")
	cmd.Flags().BoolVar(&p.noOpen, "no-open", false, "do not open the browser")
}

// check settles the address and refuses one that other computers can reach without --lan.
func (p *place) check(cmd *cobra.Command) error {
	host, port, err := net.SplitHostPort(p.addr)
	if err != nil {
		return badf("%q is not an address; write it as %s", p.addr, defaultAddr)
	}
	if n, err := strconv.Atoi(port); err != nil || n < 0 || n > 65535 {
		return badf("%q is not a port; it is a number from 0 to 65535", port)
	}
	if p.https && !p.lan {
		return badf("--https is for phones, so it goes with --lan; on this computer alone the round opens without a network as it is")
	}
	if p.lan && !cmd.Flags().Changed("addr") {
		host = ""
		p.addr = net.JoinHostPort(host, port)
	}
	if !p.lan && !loopback(host) {
		return badf("%s can be reached from other computers; add --lan, which asks everybody to log in", p.addr)
	}
	return nil
}

func loopback(host string) bool {
	ip := net.ParseIP(host)
	return host == "localhost" || (ip != nil && ip.IsLoopback())
}

func serve() *cobra.Command {
	var dir string
	var at place
	cmd := &cobra.Command{
		Use: "serve --data DIR", Short: "Open a room in the browser", Args: noArgs,
		Long: "Opens the room in a folder in the browser. A folder that is not there yet is made, with an empty room in it\nthat the first page helps to set up. Stop it with Ctrl-C.",
		RunE: func(cmd *cobra.Command, _ []string) error {
			if err := errors.Join(need(dir, "data", whichRoom), at.check(cmd)); err != nil {
				return err
			}
			book, err := journal.OpenBook(cmd.Context(), dir, journal.Options{Create: true, Program: programVersion})
			if err != nil {
				return err
			}
			if at.lan {
				if err := lockable(cmd.Context(), book, dir); err != nil {
					return errors.Join(err, book.Close())
				}
			}
			err = show(cmd, book, at, web.Config{}, func(io.Writer) {})
			return errors.Join(err, book.Close())
		},
	}
	dataFlag(cmd, &dir, "`DIR` that the room is in")
	at.flags(cmd)
	return cmd
}

// lockable refuses to open a room to the network while no keeper has a passphrase.
func lockable(ctx context.Context, book *journal.Book, dir string) error {
	people, err := book.People(ctx)
	if err != nil {
		return err
	}
	for _, p := range people {
		if p.Role == aviary.Keeper && p.Passphrase {
			return nil
		}
	}
	return badf("no keeper has a passphrase yet, so the room is not opened to the network; set one with “broodlight people passphrase --data %s”", dir)
}

// A room is read once and then changes little, so that memory kept small is worth more than pauses kept few:
// once the first page is out, the collector runs after less growth than by itself.
const (
	tidyAfter = 3 * time.Second
	gcPercent = 20
)

// graceful is how long a stop waits for requests that are being answered.
const graceful = 15 * time.Second

// show serves a book until the command is told to stop. say tells more once the address is known and answers.
func show(cmd *cobra.Command, book *journal.Book, at place, cfg web.Config, say func(io.Writer)) error {
	out := cmd.OutOrStdout()
	l, err := net.Listen("tcp", at.addr)
	if err != nil {
		return fmt.Errorf("%s cannot be used (%w); another program may have it, so name another one with --addr", at.addr, err)
	}
	cfg.Book, cfg.LAN, cfg.Version, cfg.ReadTable, cfg.WriteCalendar = book, at.lan, programVersion, ReadTable, WriteCalendar
	cfg.Log = slog.New(slog.NewTextHandler(cmd.ErrOrStderr(), nil))
	kept, err := web.BrokerOf(cmd.Context(), book)
	if err != nil {
		return errors.Join(err, l.Close())
	}
	lamps := newBroker(book, cfg.Log)
	cfg.Broker = lamps
	own := reachable(l.Addr(), at.lan)
	cfg.Hosts = own
	scheme := "http://"
	var cert tls.Certificate
	var note string
	if at.https {
		scheme = "https://"
		if cert, cfg.Trust, note, err = secureRoom(book.Dir(), own, book.Now()); err != nil {
			return errors.Join(err, l.Close())
		}
	}
	for _, name := range own {
		cfg.Addresses = append(cfg.Addresses, scheme+net.JoinHostPort(name, port(l.Addr())))
	}
	handler, err := web.New(cfg)
	if err != nil {
		return errors.Join(err, l.Close())
	}
	server := web.HTTPServer(handler)
	server.ErrorLog = slog.NewLogLogger(cfg.Log.Handler(), slog.LevelWarn)
	served := make(chan error, 1)
	if at.https {
		trust, err := web.TrustHandler(cfg)
		if err != nil {
			return errors.Join(err, l.Close())
		}
		plain := web.HTTPServer(ownComputer(handler, trust))
		plain.ErrorLog = server.ErrorLog
		sides := part(l)
		defer func() { _ = plain.Close() }() // nobody waits for a page that says how to trust a room that is closed
		defer func() { _ = sides.Close() }()
		server.ErrorLog = slog.NewLogLogger(cfg.Log.Handler(), slog.LevelDebug) // each phone that does not trust the room yet is no fault
		server.TLSConfig = &tls.Config{Certificates: []tls.Certificate{cert}, MinVersion: tls.VersionTLS12}
		go func() { _ = plain.Serve(sides.plain) }()
		go func() { served <- server.ServeTLS(sides.secure, "", "") }()
	} else {
		go func() { served <- server.Serve(l) }()
	}
	telling, stop := context.WithCancel(cmd.Context())
	silent := make(chan struct{})
	go func() { defer close(silent); lamps.run(telling, kept) }()
	defer func() { stop(); <-silent }() // the book is the caller's again when nobody reads it any more
	tidy := time.AfterFunc(tidyAfter, func() {
		debug.SetGCPercent(gcPercent)
		debug.FreeOSMemory() // what reading the journal left behind goes back
	})
	defer tidy.Stop()

	url := scheme + l.Addr().String() + "/"
	if len(own) > 0 {
		url = scheme + net.JoinHostPort(own[0], port(l.Addr())) + "/"
	}
	fmt.Fprintf(out, "The room is open at %s\n", url)
	say(out)
	if at.https {
		plain := "http" + strings.TrimPrefix(url, "https")
		if note != "" {
			fmt.Fprintln(out, note)
		}
		fmt.Fprintf(out, "A phone that does not trust it yet starts at %s\nThe fingerprint that it shows there must be\n%s\n", plain, cfg.Trust.Fingerprint)
		url = plain
	}
	if at.lan {
		drawCode(out, url)
	}
	fmt.Fprintln(out, "Stop it with Ctrl-C.")
	if !at.noOpen {
		local := url
		if len(own) > 0 {
			local = "http://" + net.JoinHostPort("localhost", port(l.Addr())) + "/"
		}
		openBrowser(local)
	}

	select {
	case err = <-served:
		return err
	case <-cmd.Context().Done():
	}
	ctx, cancel := context.WithTimeout(context.WithoutCancel(cmd.Context()), graceful)
	defer cancel()
	if err := server.Shutdown(ctx); err != nil {
		// Whoever still waits for an answer after that long gets none; what was acknowledged is on the disk.
		err = errors.Join(err, server.Close())
		return fmt.Errorf("the room was closed while a page was still being answered: %w", err)
	}
	if err := <-served; !errors.Is(err, http.ErrServerClosed) {
		return err
	}
	fmt.Fprintln(out, "The room is closed.")
	return nil
}

// ownComputer answers plain requests: of this computer with the room, which no network carries; of any other with how to trust it.
func ownComputer(room, trust http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		from, _, err1 := net.SplitHostPort(r.RemoteAddr)
		to, _, err2 := net.SplitHostPort(r.Host)
		if err1 == nil && err2 == nil && loopback(from) && loopback(to) {
			room.ServeHTTP(w, r)
			return
		}
		trust.ServeHTTP(w, r)
	})
}

func port(a net.Addr) string { _, p, _ := net.SplitHostPort(a.String()); return p }

// reachable lists the names and addresses by which other computers in the network reach a listener, the best for a
// phone first. It is empty where none can.
func reachable(a net.Addr, lan bool) []string {
	tcp, ok := a.(*net.TCPAddr)
	if !ok || !lan || tcp.IP.IsLoopback() {
		return nil
	}
	if !tcp.IP.IsUnspecified() {
		return []string{tcp.IP.String()}
	}
	var four, six, names []string
	addrs, err := net.InterfaceAddrs()
	if err != nil {
		addrs = nil // the name below is left
	}
	for _, a := range addrs {
		n, ok := a.(*net.IPNet)
		switch {
		case !ok || n.IP.IsLoopback() || n.IP.IsLinkLocalUnicast():
		case n.IP.To4() != nil:
			four = append(four, n.IP.String())
		default:
			six = append(six, n.IP.String())
		}
	}
	if name, err := os.Hostname(); err == nil && name != "" {
		names = append(names, name)
		if !strings.Contains(name, ".") {
			names = append(names, name+".local")
		}
	}
	return append(append(four, six...), names...)
}

// drawCode draws an address as a QR code for the cameras of phones, two dots to a letter.
func drawCode(out io.Writer, url string) {
	code, err := qr.Encode(url, qr.M)
	if err != nil {
		return // an address too long for a code is printed above
	}
	const quiet = 4 // dots of quiet zone, as ISO/IEC 18004 asks for
	dark, end := "", ""
	if f, ok := out.(*os.File); ok && term.IsTerminal(int(f.Fd())) {
		dark, end = "\x1b[30;107m", "\x1b[0m" // black on white, whatever the window's colours are
	}
	for y := -quiet; y < code.Size+quiet; y += 2 {
		var line strings.Builder
		for x := -quiet; x < code.Size+quiet; x++ {
			line.WriteString([]string{" ", "▄", "▀", "█"}[bit(code.Black(x, y))<<1|bit(code.Black(x, y+1))])
		}
		fmt.Fprintln(out, dark+line.String()+end)
	}
}

func bit(b bool) int {
	if b {
		return 1
	}
	return 0
}
