package cli

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"io"
	"log"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"broodlight/internal/web"
)

var tlsNow = time.Date(2026, 1, 13, 6, 48, 0, 0, time.UTC)

// trusts reports what a phone says of a certificate that trusts the room's authority; crypto/x509 checks it as RFC 5280 asks for.
func trusts(trust *web.Trust, chain []*x509.Certificate, name string, at time.Time) error {
	root, err := x509.ParseCertificate(trust.Certificate)
	if err != nil {
		return err
	}
	roots := x509.NewCertPool()
	roots.AddCert(root)
	_, err = chain[0].Verify(x509.VerifyOptions{Roots: roots, DNSName: name, CurrentTime: at, KeyUsages: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}})
	return err
}

func TestSecureRoom_IsTrustedUnderItsNames(t *testing.T) {
	dir := t.TempDir()
	names := []string{"192.168.1.20", "fd00::5", "room", "room.local"}
	cert, trust, note, err := secureRoom(dir, names, tlsNow)
	if err != nil || note == "" {
		t.Fatal(err, note)
	}
	chain := []*x509.Certificate{cert.Leaf}
	for _, n := range append(names, "localhost", "127.0.0.1", "::1") {
		for _, at := range []time.Time{tlsNow, tlsNow.Add(-time.Hour), tlsNow.AddDate(0, 0, 396)} {
			if err := trusts(trust, chain, n, at); err != nil {
				t.Errorf("%s on %s: %v", n, at.Format("2 Jan 2006"), err)
			}
		}
	}
	if err := trusts(trust, chain, "example.org", tlsNow); err == nil {
		t.Error("it stands for a name that it does not have")
	}
	if err := trusts(trust, chain, "room", tlsNow.AddDate(0, 0, 399)); err == nil {
		t.Error("it holds for more than 398 days")
	}
	if d := cert.Leaf.NotAfter.Sub(cert.Leaf.NotBefore); d > 398*24*time.Hour {
		t.Errorf("it holds for %v, and phones take no more than 398 days from public ones", d)
	}
	if len(strings.Split(trust.Fingerprint, ":")) != 32 {
		t.Errorf("the fingerprint is %s", trust.Fingerprint)
	}
	for _, name := range []string{authorityKey, addressKey} {
		info, err := os.Stat(filepath.Join(dir, name))
		if err != nil || info.Mode().Perm() != 0o600 {
			t.Errorf("%s has mode %v (%v), want 0600", name, info.Mode(), err)
		}
	}
}

// TestSecureRoom_AuthorityCannotPose signs a certificate for a site of the world with the authority's key, as a thief of it would: no
// phone takes it.
func TestSecureRoom_AuthorityCannotPose(t *testing.T) {
	dir := t.TempDir()
	_, trust, _, err := secureRoom(dir, []string{"192.168.1.20", "room"}, tlsNow)
	if err != nil {
		t.Fatal(err)
	}
	a, err := readPair(filepath.Join(dir, authorityFile), filepath.Join(dir, authorityKey))
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"example.org", "roomy", "93.184.216.34"} {
		key, err := ecdsa.GenerateKey(a.key.Curve, rand.Reader)
		if err != nil {
			t.Fatal(err)
		}
		c, err := template(tlsNow, tlsNow.AddDate(0, 1, 0))
		if err != nil {
			t.Fatal(err)
		}
		c.ExtKeyUsage = []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}
		if ip := net.ParseIP(name); ip != nil {
			c.IPAddresses = []net.IP{ip}
		} else {
			c.DNSNames = []string{name}
		}
		raw, err := x509.CreateCertificate(rand.Reader, c, a.cert, key.Public(), a.key)
		if err != nil {
			t.Fatal(err)
		}
		cert, err := x509.ParseCertificate(raw)
		if err != nil {
			t.Fatal(err)
		}
		var bad x509.CertificateInvalidError
		if err := trusts(trust, []*x509.Certificate{cert}, name, tlsNow); !errors.As(err, &bad) {
			t.Errorf("%s is taken: %v", name, err)
		}
	}
}

// TestSecureRoom_StaysTrusted starts the room again and again: a phone trusts once for years, also when the router gave the computer
// another address.
func TestSecureRoom_StaysTrusted(t *testing.T) {
	dir := t.TempDir()
	first, trust, _, err := secureRoom(dir, []string{"192.168.1.20", "room"}, tlsNow)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name       string
		names      []string
		at         time.Time
		same, anew bool
	}{
		{"the next day", []string{"192.168.1.20", "room"}, tlsNow.AddDate(0, 0, 1), true, false},
		{"another address", []string{"192.168.1.77", "room"}, tlsNow.AddDate(0, 0, 2), false, false},
		{"a year on", []string{"192.168.1.77", "room"}, tlsNow.AddDate(0, 0, 390), false, false},
		{"another name", []string{"192.168.1.77", "wall"}, tlsNow.AddDate(0, 0, 391), false, true},
	} {
		cert, again, note, err := secureRoom(dir, c.names, c.at)
		if err != nil {
			t.Fatal(c.name, err)
		}
		if got := bytes.Equal(cert.Leaf.Raw, first.Leaf.Raw); got != c.same {
			t.Errorf("%s: the address's certificate is the same: %t", c.name, got)
		}
		if got := !bytes.Equal(again.Certificate, trust.Certificate); got != c.anew || c.anew != (note != "") {
			t.Errorf("%s: phones have to trust anew: %t (%q)", c.name, got, note)
		}
		for _, n := range c.names {
			if err := trusts(again, []*x509.Certificate{cert.Leaf}, n, c.at); err != nil {
				t.Errorf("%s, %s: %v", c.name, n, err)
			}
		}
	}
	// what is damaged is told, with how to mend it
	if err := os.WriteFile(filepath.Join(dir, authorityFile), []byte("not a certificate"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, _, _, err := secureRoom(dir, []string{"room"}, tlsNow); err == nil || !strings.Contains(err.Error(), "take both away") {
		t.Errorf("a damaged file is answered with %v", err)
	}
}

// TestPart serves https and http at one port.
func TestPart(t *testing.T) {
	cert, trust, _, err := secureRoom(t.TempDir(), nil, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	sides := part(l)
	say := func(s string) http.Handler {
		return http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { _, _ = io.WriteString(w, s) })
	}
	secure, plain := &http.Server{Handler: say("room"), TLSConfig: &tls.Config{Certificates: []tls.Certificate{cert}}, ErrorLog: log.New(io.Discard, "", 0)}, &http.Server{Handler: say("how to trust it")}
	ended := make(chan error, 2)
	go func() { ended <- secure.ServeTLS(sides.secure, "", "") }()
	go func() { ended <- plain.Serve(sides.plain) }()
	root, err := x509.ParseCertificate(trust.Certificate)
	if err != nil {
		t.Fatal(err)
	}
	roots := x509.NewCertPool()
	roots.AddCert(root)
	phone := &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: roots}}, Timeout: 10 * time.Second}
	for url, want := range map[string]string{"https://": "room", "http://": "how to trust it"} {
		res, err := phone.Get(url + l.Addr().String() + "/")
		if err != nil {
			t.Fatal(err)
		}
		b, err := io.ReadAll(res.Body)
		if err = errors.Join(err, res.Body.Close()); err != nil || string(b) != want {
			t.Errorf("%s says %q (%v), want %q", url, b, err, want)
		}
	}
	if _, err := (&http.Client{Timeout: 10 * time.Second}).Get("https://" + l.Addr().String() + "/"); err == nil {
		t.Error("a phone that does not trust the room takes it")
	}
	phone.CloseIdleConnections()
	// a connection that says nothing holds nobody up, and closing ends both
	quiet, err := net.Dial("tcp", l.Addr().String())
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = quiet.Close() }()
	if err := errors.Join(secure.Close(), plain.Close(), l.Close()); err != nil && !errors.Is(err, net.ErrClosed) {
		t.Error(err)
	}
	for range 2 {
		if err := <-ended; !errors.Is(err, http.ErrServerClosed) {
			t.Error(err)
		}
	}
}

// TestOwnComputer gives the room by plain http to this computer's own browser alone.
func TestOwnComputer(t *testing.T) {
	h := ownComputer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { _, _ = io.WriteString(w, "room") }),
		http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { _, _ = io.WriteString(w, "trust") }))
	for _, c := range [][3]string{
		{"127.0.0.1:50000", "localhost:8417", "room"},
		{"[::1]:50000", "[::1]:8417", "room"},
		{"192.168.1.30:50000", "192.168.1.20:8417", "trust"},
		{"192.168.1.30:50000", "localhost:8417", "trust"},
		{"127.0.0.1:50000", "192.168.1.20:8417", "trust"},
	} {
		r := httptest.NewRequest("GET", "/round", nil)
		r.RemoteAddr, r.Host = c[0], c[1]
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		if w.Body.String() != c[2] {
			t.Errorf("from %s to %s: %s, want %s", c[0], c[1], w.Body, c[2])
		}
	}
}
