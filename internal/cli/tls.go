package cli

import (
	"bufio"
	"bytes"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"math/big"
	"net"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"broodlight/internal/web"
)

// The room's own authority and the certificate of its address lie in the room's folder. The authority's key never leaves it.
const (
	authorityFile = "https-authority.pem"
	authorityKey  = "https-authority-key.pem"
	addressFile   = "https-address.pem"
	addressKey    = "https-address-key.pem"
)

// How long the certificates hold. A phone trusts the authority once for years; that of the address is made anew well before
// phones refuse it: they take none of more than 825 days from an authority that a person added, and 398 is what they ask of
// public ones (as phone makers publish).
const (
	authorityYears = 10
	addressDays    = 397
	renewBefore    = 60 * 24 * time.Hour
	clockSlack     = 24 * time.Hour // a phone whose clock is a little behind takes it all the same
)

// authority vouches for the room's address. Its name constraints keep it to addresses of private networks and to this computer's
// own names: with its key nobody can pose as a site of the world.
type authority struct {
	cert *x509.Certificate
	key  *ecdsa.PrivateKey
}

// privateRanges are the addresses of home networks: RFC 1918, RFC 4193, RFC 6598, link-local and loopback ones.
var privateRanges = []string{"10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "100.64.0.0/10", "169.254.0.0/16", "127.0.0.0/8", "fc00::/7", "fe80::/10", "::1/128"}

// secureRoom returns what serves a room by https under the given names, and the authority for phones to trust. It makes what is not
// there, and makes the address's certificate anew when it ends soon or the names are others. note tells of what was made.
func secureRoom(dir string, names []string, now time.Time) (cert tls.Certificate, trust *web.Trust, note string, err error) {
	a, made, err := readAuthority(dir, names, now)
	if err != nil {
		return cert, nil, "", err
	}
	if made {
		note = "A new authority was made for the room; phones have to trust it once."
	}
	if cert, err = a.address(dir, names, now); err != nil {
		return cert, nil, "", err
	}
	sum := sha256.Sum256(a.cert.Raw)
	hex := make([]string, len(sum))
	for i, b := range sum {
		hex[i] = fmt.Sprintf("%02X", b)
	}
	return cert, &web.Trust{Certificate: a.cert.Raw, Fingerprint: strings.Join(hex, ":"), Until: a.cert.NotAfter.Format("2 Jan 2006"), Names: names}, note, nil
}

// readAuthority reads the room's authority, and makes one when there is none, when it has ended, or when it may not vouch for a name
// that this computer has.
func readAuthority(dir string, names []string, now time.Time) (*authority, bool, error) {
	pair, err := readPair(filepath.Join(dir, authorityFile), filepath.Join(dir, authorityKey))
	switch {
	case errors.Is(err, fs.ErrNotExist):
	case err != nil:
		return nil, false, err
	case pair.cert.IsCA && now.Before(pair.cert.NotAfter.Add(-addressDays*24*time.Hour)) && pair.permits(names):
		return pair, false, nil
	}
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, false, err
	}
	t, err := template(now, now.AddDate(authorityYears, 0, 0))
	if err != nil {
		return nil, false, err
	}
	t.Subject = pkix.Name{CommonName: "Broodlight room, made " + now.Format("2 Jan 2006")}
	t.IsCA, t.BasicConstraintsValid, t.MaxPathLenZero = true, true, true
	t.KeyUsage = x509.KeyUsageCertSign
	t.ExtKeyUsage = []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}
	t.PermittedDNSDomainsCritical = true
	for _, r := range privateRanges {
		_, n, err := net.ParseCIDR(r)
		if err != nil {
			return nil, false, err
		}
		t.PermittedIPRanges = append(t.PermittedIPRanges, n)
	}
	t.PermittedDNSDomains = []string{"localhost"}
	for _, n := range names {
		ip := net.ParseIP(n)
		switch {
		case ip == nil:
			t.PermittedDNSDomains = append(t.PermittedDNSDomains, n)
		case !inRanges(ip, t.PermittedIPRanges): // a network with public addresses: this one alone
			bits := 8 * len(shortIP(ip))
			t.PermittedIPRanges = append(t.PermittedIPRanges, &net.IPNet{IP: shortIP(ip), Mask: net.CIDRMask(bits, bits)})
		}
	}
	raw, err := x509.CreateCertificate(rand.Reader, t, t, key.Public(), key)
	if err != nil {
		return nil, false, err
	}
	if err := writePair(filepath.Join(dir, authorityFile), filepath.Join(dir, authorityKey), raw, key); err != nil {
		return nil, false, err
	}
	cert, err := x509.ParseCertificate(raw)
	return &authority{cert, key}, true, err
}

// permits reports whether the authority may vouch for all the names.
func (a *authority) permits(names []string) bool {
	return !slices.ContainsFunc(names, func(n string) bool {
		if ip := net.ParseIP(n); ip != nil {
			return !inRanges(ip, a.cert.PermittedIPRanges)
		}
		return !slices.Contains(a.cert.PermittedDNSDomains, n)
	})
}

// address returns the certificate of the room's address.
func (a *authority) address(dir string, names []string, now time.Time) (tls.Certificate, error) {
	names = append([]string{"localhost", "127.0.0.1", "::1"}, names...)
	certPath, keyPath := filepath.Join(dir, addressFile), filepath.Join(dir, addressKey)
	pair, err := readPair(certPath, keyPath)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return tls.Certificate{}, err
	}
	holds := err == nil && now.Add(renewBefore).Before(pair.cert.NotAfter) && pair.cert.CheckSignatureFrom(a.cert) == nil &&
		!slices.ContainsFunc(names, func(n string) bool { return pair.cert.VerifyHostname(n) != nil })
	if !holds {
		key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
		if err != nil {
			return tls.Certificate{}, err
		}
		t, err := template(now, now.AddDate(0, 0, addressDays))
		if err != nil {
			return tls.Certificate{}, err
		}
		t.NotBefore = now.Add(-clockSlack)
		t.Subject = pkix.Name{CommonName: "Broodlight room"}
		t.KeyUsage, t.ExtKeyUsage, t.BasicConstraintsValid = x509.KeyUsageDigitalSignature, []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}, true
		for _, n := range names {
			if ip := net.ParseIP(n); ip != nil {
				t.IPAddresses = append(t.IPAddresses, ip)
			} else {
				t.DNSNames = append(t.DNSNames, n)
			}
		}
		raw, err := x509.CreateCertificate(rand.Reader, t, a.cert, key.Public(), a.key)
		if err != nil {
			return tls.Certificate{}, err
		}
		if err := writePair(certPath, keyPath, raw, key); err != nil {
			return tls.Certificate{}, err
		}
		cert, err := x509.ParseCertificate(raw)
		if err != nil {
			return tls.Certificate{}, err
		}
		pair = &authority{cert, key}
	}
	return tls.Certificate{Certificate: [][]byte{pair.cert.Raw, a.cert.Raw}, PrivateKey: pair.key, Leaf: pair.cert}, nil
}

func template(now, until time.Time) (*x509.Certificate, error) {
	serial, err := rand.Int(rand.Reader, new(big.Int).Lsh(big.NewInt(1), 127))
	return &x509.Certificate{SerialNumber: serial, NotBefore: now.Add(-clockSlack), NotAfter: until}, err
}

func inRanges(ip net.IP, list []*net.IPNet) bool {
	return slices.ContainsFunc(list, func(n *net.IPNet) bool { return n.Contains(ip) })
}

func shortIP(ip net.IP) net.IP {
	if four := ip.To4(); four != nil {
		return four
	}
	return ip
}

// readPair reads a certificate and its key.
func readPair(certPath, keyPath string) (*authority, error) {
	c, err1 := os.ReadFile(certPath)
	k, err2 := os.ReadFile(keyPath)
	if err := errors.Join(err1, err2); err != nil {
		return nil, err
	}
	broken := func(err error) error {
		return fmt.Errorf("%s and %s do not belong together or are damaged (%w); take both away, and they are made anew", certPath, keyPath, err)
	}
	pair, err := tls.X509KeyPair(c, k)
	if err != nil {
		return nil, broken(err)
	}
	key, ok := pair.PrivateKey.(*ecdsa.PrivateKey)
	if !ok {
		return nil, broken(errors.New("the key is of another kind"))
	}
	return &authority{pair.Leaf, key}, nil
}

// writePair writes a key that only its owner reads, and then its certificate, each whole or not at all.
func writePair(certPath, keyPath string, raw []byte, key *ecdsa.PrivateKey) error {
	der, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return err
	}
	if err := writeWhole(keyPath, pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: der}), 0o600); err != nil {
		return err
	}
	return writeWhole(certPath, pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: raw}), 0o644)
}

func writeWhole(path string, b []byte, mode fs.FileMode) error {
	f, err := os.CreateTemp(filepath.Dir(path), ".https-*") // made with mode 0600
	if err != nil {
		return fmt.Errorf("%s cannot be written: %w", path, err)
	}
	_, err = f.Write(b)
	err = errors.Join(err, f.Chmod(mode), f.Sync(), f.Close())
	if err == nil {
		err = os.Rename(f.Name(), path)
	}
	if err != nil {
		return fmt.Errorf("%s cannot be written: %w", path, errors.Join(err, os.Remove(f.Name())))
	}
	return nil
}

// parted parts what comes in at one port: a connection that begins as TLS does goes to secure, any other to plain. So the address that a
// phone types without https:// leads to the page that says how to trust the room.
type parted struct {
	net.Listener
	secure, plain *side
}

// side is one of the two kinds of connections, as a listener.
type side struct {
	of    net.Addr
	conns chan net.Conn
	done  chan struct{}
	once  sync.Once
}

func (s *side) Accept() (net.Conn, error) {
	select {
	case c := <-s.conns:
		return c, nil
	case <-s.done:
		return nil, net.ErrClosed
	}
}
func (s *side) Close() error   { s.once.Do(func() { close(s.done) }); return nil }
func (s *side) Addr() net.Addr { return s.of }

// helloWait is how long a connection may be silent before it is let go.
const helloWait = 10 * time.Second

// part begins to part a listener's connections.
func part(l net.Listener) *parted {
	make1 := func() *side { return &side{of: l.Addr(), conns: make(chan net.Conn), done: make(chan struct{})} }
	p := &parted{l, make1(), make1()}
	go p.run()
	return p
}

func (p *parted) run() {
	for {
		c, err := p.Accept()
		if errors.Is(err, net.ErrClosed) {
			_, _ = p.secure.Close(), p.plain.Close()
			return
		}
		if err != nil {
			time.Sleep(50 * time.Millisecond) // such as too many open files: it passes
			continue
		}
		go p.hand(c)
	}
}

// hand looks at the first byte and hands the connection on. A TLS record that opens a handshake begins with 22 (RFC 8446, 5.1).
func (p *parted) hand(c net.Conn) {
	const handshake = 22
	in := bufio.NewReaderSize(c, 16)
	err := c.SetReadDeadline(time.Now().Add(helloWait))
	first, err2 := in.Peek(1)
	if errors.Join(err, err2, c.SetReadDeadline(time.Time{})) != nil {
		_ = c.Close() // it said nothing; nobody waits for it
		return
	}
	to := p.plain
	if bytes.Equal(first, []byte{handshake}) {
		to = p.secure
	}
	select {
	case to.conns <- &peeked{c, in}:
	case <-to.done:
		_ = c.Close() // the room is being closed
	}
}

// peeked is a connection whose first bytes have been looked at.
type peeked struct {
	net.Conn
	in *bufio.Reader
}

func (c *peeked) Read(b []byte) (int, error) { return c.in.Read(b) }
