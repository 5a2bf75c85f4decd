package mqtt

import (
	"crypto/tls"
	"crypto/x509"
	"fmt"
	"net"
	"net/url"
	"strconv"
	"strings"
	"unicode"

	"broodlight/internal/aviary"
)

// Settings say which broker is told, and under what.
type Settings struct {
	Address  string // "mqtt://host:1883", "mqtts://host:8883"; without the scheme it is mqtt, without the port the usual one
	User     string // "" for none
	Password string
	Prefix   string // of every topic; "" is DefaultPrefix
	CA       string // PEM of the authority that signed the broker's certificate; "" for those the system trusts
}

// DefaultPrefix stands before the topics when the keeper names none.
const DefaultPrefix = "broodlight"

const longestPrefix = 100 // letters

// The usual ports, as registered with IANA.
const (
	plainPort = "1883"
	tlsPort   = "8883"
)

// Check says what is wrong with the settings, or nil.
func (s Settings) Check() error {
	if _, _, err := s.host(); err != nil {
		return err
	}
	if _, err := s.tls("host"); err != nil {
		return err
	}
	if s.User == "" && s.Password != "" {
		return wrong("user", "a password goes with a user's name; fill it in, or leave the password empty")
	}
	for _, f := range []struct{ field, text string }{{"user", s.User}, {"password", s.Password}} {
		if strings.ContainsFunc(f.text, unicode.IsControl) || len(f.text) > 1<<16-1 {
			return wrong(f.field, "it has letters that cannot be sent, or too many")
		}
	}
	p := s.prefix()
	switch {
	case strings.ContainsAny(p, "+#") || strings.ContainsFunc(p, unicode.IsControl):
		return wrong("prefix", "a prefix holds no + and no #")
	case strings.HasPrefix(p, "/") || strings.HasSuffix(p, "/") || strings.HasPrefix(p, "$"):
		return wrong("prefix", "a prefix begins and ends with a letter or a figure, as in house/birdroom")
	case len([]rune(p)) > longestPrefix:
		return wrong("prefix", "a prefix has at most %d letters", longestPrefix)
	}
	return nil
}

func (s Settings) prefix() string {
	if s.Prefix == "" {
		return DefaultPrefix
	}
	return s.Prefix
}

// host reads the address: host and port, and whether the line is encrypted.
func (s Settings) host() (address string, secure bool, err error) {
	text := s.Address
	if text == "" {
		return "", false, wrong("address", "fill in the broker's address, such as mqtt://192.168.1.5:1883")
	}
	if !strings.Contains(text, "://") {
		text = "mqtt://" + text
	}
	u, err := url.Parse(text)
	bad := wrong("address", "%q is not a broker's address; write it as mqtt://192.168.1.5:1883, or mqtts:// when the line is encrypted", s.Address)
	switch {
	case err != nil:
		return "", false, bad
	case u.User != nil:
		return "", false, wrong("address", "name and password go into their own fields, not into the address")
	case u.Hostname() == "" || (u.Path != "" && u.Path != "/") || u.RawQuery != "" || u.Fragment != "":
		return "", false, bad
	}
	port := plainPort
	switch u.Scheme {
	case "mqtt":
	case "mqtts":
		port, secure = tlsPort, true
	default:
		return "", false, bad
	}
	if u.Port() != "" {
		port = u.Port()
	}
	if n, err := strconv.Atoi(port); err != nil || n < 1 || n > 65535 {
		return "", false, bad
	}
	return net.JoinHostPort(u.Hostname(), port), secure, nil
}

// tls returns how the line to a host is encrypted.
func (s Settings) tls(host string) (*tls.Config, error) {
	c := &tls.Config{ServerName: host, MinVersion: tls.VersionTLS12}
	if s.CA != "" {
		c.RootCAs = x509.NewCertPool()
		if !c.RootCAs.AppendCertsFromPEM([]byte(s.CA)) {
			return nil, wrong("ca", "this is not a certificate; paste the whole text from BEGIN CERTIFICATE to END CERTIFICATE")
		}
	}
	return c, nil
}

func wrong(field, format string, args ...any) error {
	return &aviary.Error{Code: aviary.Invalid, Field: field, Message: fmt.Sprintf(format, args...)}
}

// Topic is where a circuit's state and level are told: its topic without the last word. "" is the whole room.
func (s Settings) Topic(circuit string) string {
	if circuit == "" {
		return s.prefix() + "/room"
	}
	return s.prefix() + "/circuit/" + topicWord(circuit)
}

// statusTopic is where the program says whether it is there.
func (s Settings) statusTopic() string { return s.prefix() + "/status" }

// topicWord makes a name fit to stand between two slashes of a topic; different names stay different.
func topicWord(name string) string {
	var b strings.Builder
	for _, r := range name {
		if strings.ContainsRune("/+#%", r) || unicode.IsControl(r) {
			fmt.Fprintf(&b, "%%%02X", r)
			continue
		}
		b.WriteRune(r)
	}
	return b.String()
}
