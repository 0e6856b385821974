package shop

import (
	"fmt"
	"net"
)

// about tells what was understood of a message center.
func (s *SMPP) about(name string, mine bool) Section {
	how := "without TLS"
	if s.TLS {
		how = "over TLS"
	}
	long := map[string]string{
		"udh":     "cut, each part with a header",
		"udh16":   "cut, each part with a header of 16 bits",
		"sar":     "cut, the parts told by the sar_ parameters",
		"payload": "whole, in message_payload",
	}
	receipts := "delivery receipts are asked for"
	if !s.Receipts {
		receipts = "no delivery receipts are asked for"
	}
	if s.Validity > 0 {
		receipts += fmt.Sprintf(", and the center tries for %s", s.Validity)
	}
	about := "gateway " + name + " (smpp)"
	if mine {
		about += ", which carries what the shop says"
	}
	return Section{about, []string{
		fmt.Sprintf("we bind as %s to %s %s, a transceiver; the center opens no connection to us", s.SystemID, s.Address, how),
		fmt.Sprintf("data_coding 0 is %s; long texts go out %s", map[string]string{"gsm7": "the GSM 7-bit alphabet", "latin1": "Latin-1"}[s.Alphabet], long[s.LongTexts]),
		fmt.Sprintf("at most %g messages a second, %d without an answer", s.PerSecond, s.Window),
		receipts,
	}}
}

// warnings tells what of a message center is allowed and should be known.
func (s *SMPP) warnings(name string, v Vault) (out []string) {
	add := func(format string, args ...any) {
		out = append(out, "gateway "+name+": "+fmt.Sprintf(format, args...))
	}
	host, _, err := net.SplitHostPort(s.Address)
	if ip := net.ParseIP(host); err == nil && !s.TLS && !loopback(host) && (ip == nil || !ip.IsPrivate()) {
		add("the password and every text go to %s in clear: write tls: true where the center takes it, or go through a tunnel", host)
	}
	if !s.Receipts {
		add("it reports nothing: a message that it took and lost goes unnoticed")
	}
	switch password, err := s.Password.Read(v); {
	case err != nil:
		add("not there for whoever runs this: %v", err)
	case len(password) > 8:
		add("in %s there are %d characters, and the protocol takes 8", s.Password, len(password))
	}
	return out
}
