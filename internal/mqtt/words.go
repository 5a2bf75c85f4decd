package mqtt

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"syscall"
)

// Words says in a few words why a broker was not reached, to stand after a colon.
func Words(err error) string {
	var refused *refusal
	var name *net.DNSError
	var authority x509.UnknownAuthorityError
	var host x509.HostnameError
	var invalid x509.CertificateInvalidError
	var record tls.RecordHeaderError
	switch {
	case err == nil:
		return ""
	case errors.As(err, &refused):
		return refusedWords(refused.code)
	case errors.As(err, &authority):
		return "its certificate is signed by nobody whom this computer trusts; paste the certificate of the one who signed it"
	case errors.As(err, &host):
		return "its certificate is for another name; use the name that stands in the certificate"
	case errors.As(err, &invalid):
		return "its certificate is not valid: " + invalid.Error()
	case errors.As(err, &record):
		return "it does not speak TLS at this port; write mqtt:// or name its TLS port"
	case errors.As(err, &name):
		return "there is no computer called " + name.Name
	case errors.Is(err, syscall.ECONNREFUSED):
		return "connection refused"
	case errors.Is(err, syscall.EHOSTUNREACH), errors.Is(err, syscall.ENETUNREACH):
		return "no way leads to it"
	case errors.Is(err, context.DeadlineExceeded), errors.Is(err, os.ErrDeadlineExceeded):
		return "no answer"
	case errors.Is(err, io.EOF), errors.Is(err, syscall.ECONNRESET), errors.Is(err, syscall.EPIPE):
		return "it hung up; it may want mqtts://, or speak an older form than MQTT 5"
	}
	return err.Error()
}

// refusedWords puts a broker's reason into words: MQTT 5.0, table 3-1 of 3.2.2.2.
func refusedWords(code byte) string {
	switch code {
	case 0x84, 0x01: // 0x01 is the same in MQTT 3.1.1
		return "it does not speak MQTT 5; a newer broker does"
	case 0x85:
		return "it does not take the name of this room's client"
	case 0x86, 0x04:
		return "wrong user or password"
	case 0x87, 0x05:
		return "this user may not come in"
	case 0x88, 0x89:
		return "it is busy or out of order"
	case 0x8a:
		return "it has shut this room out"
	case 0x9a:
		return "it does not keep messages (retain is off)"
	}
	return fmt.Sprintf("it refused, with reason 0x%02x", code)
}

// Text says in a sentence why nothing is said of a circuit; "" when something is.
func (q Quiet) Text() string {
	switch q {
	case NotPlanned:
		return "No plan says how the lamps are to burn, so nothing is sent."
	case StartedLow:
		return "Nothing is sent until the lamps are full on: when this began they were not, and nobody knows how they really burned."
	case TooFast:
		return "Nothing is sent until the lamps are full on again: the plan goes down faster than a bird can follow. Give it a dusk of at least five minutes, better half an hour."
	case MissedDusk:
		return "Nothing is sent until the lamps are full on again: the broker was away while they went down."
	case SaidOff:
		return "Off was sent once, when the dusk was over. Nothing more is sent until the lamps are on."
	}
	return ""
}
