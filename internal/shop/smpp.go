package shop

import (
	"net"
	"path/filepath"
	"strconv"
	"time"
)

// SMPP describes a message center that texts come and go through by SMPP 3.4, over a
// connection that we open.
type SMPP struct {
	Address    string // host:port
	SystemID   string
	Password   Secret // at most 8 characters, which is the protocol's limit
	SystemType string
	TLS        bool
	TLSRoots   string        // file of certificates to trust, PEM; "" for the machine's
	Alphabet   string        // what data_coding 0 is: gsm7, latin1
	LongTexts  string        // udh, udh16, sar, payload
	PerSecond  float64       // messages a second, at most
	Window     int           // messages without an answer at a time, at most
	Validity   time.Duration // how long the center tries to deliver; 0: as long as it likes
	Receipts   bool          // ask for delivery receipts
}

// smppKeys are the keys of a gateway of kind smpp, as people write them.
type smppKeys struct {
	Address    string   `yaml:"address"`
	SystemID   string   `yaml:"system_id"`
	Password   string   `yaml:"password"`
	SystemType string   `yaml:"system_type"`
	TLS        *bool    `yaml:"tls"`
	TLSRoots   string   `yaml:"tls_roots"`
	Alphabet   string   `yaml:"default_alphabet"`
	LongTexts  string   `yaml:"long_texts"`
	PerSecond  *float64 `yaml:"messages_per_second"`
	Window     *int     `yaml:"window"`
	Validity   string   `yaml:"validity"`
	Receipts   *bool    `yaml:"receipts"`
}

func (k smppKeys) written() bool { return k != smppKeys{} }

// smpp checks how a message center is spoken to. What is left out takes what most centers
// want (common practice, no source).
func (c *check) smpp(path string, k smppKeys) *SMPP {
	s := &SMPP{
		Address: k.Address, SystemID: k.SystemID, Password: c.secret(path+".password", k.Password), SystemType: k.SystemType,
		TLS: k.TLS != nil && *k.TLS, TLSRoots: k.TLSRoots, Alphabet: "gsm7", LongTexts: "udh", PerSecond: 10, Window: 10,
		Receipts: k.Receipts == nil || *k.Receipts,
	}
	host, port, err := net.SplitHostPort(k.Address)
	number, notNumber := strconv.Atoi(port)
	if err != nil || host == "" || notNumber != nil || number < 1 || number > 65535 {
		c.bad(path+".address", "%s; write host and port, like smpp.center.example:2775", missingOr(k.Address, "is no host with a port"))
	}
	c.octets(path+".system_id", k.SystemID, 1, 15)
	c.octets(path+".system_type", k.SystemType, 0, 12)
	if k.Alphabet != "" {
		s.Alphabet = c.oneOf(path+".default_alphabet", k.Alphabet, "gsm7", "latin1")
	}
	if k.LongTexts != "" {
		s.LongTexts = c.oneOf(path+".long_texts", k.LongTexts, "udh", "udh16", "sar", "payload")
	}
	if k.TLSRoots != "" && !s.TLS {
		c.bad(path+".tls_roots", "goes with tls: true")
	}
	if k.TLSRoots != "" && !filepath.IsAbs(k.TLSRoots) {
		c.bad(path+".tls_roots", "%q is no whole path; write one like /etc/tubhand/center.pem", k.TLSRoots)
	}
	c.smppLimits(path, k, s)
	return s
}

func (c *check) smppLimits(path string, k smppKeys, s *SMPP) {
	if k.PerSecond != nil {
		if s.PerSecond = *k.PerSecond; !(s.PerSecond >= 0.01 && s.PerSecond <= 10000) {
			c.bad(path+".messages_per_second", "%g is out of range; write how many messages a second the center takes, 0.01 to 10000", s.PerSecond)
		}
	}
	if k.Window != nil {
		if s.Window = *k.Window; s.Window < 1 || s.Window > 1000 {
			c.bad(path+".window", "%d is out of range; write how many messages may wait for their answer, 1 to 1000", s.Window)
		}
	}
	if k.Validity != "" {
		d, err := time.ParseDuration(k.Validity)
		if err != nil || d < time.Minute || d > 7*24*time.Hour {
			c.bad(path+".validity", "%q is no time from 1m to 168h; write one like 24h", k.Validity)
		}
		s.Validity = d
	}
}

// octets checks a name that the protocol gives so much room.
func (c *check) octets(path, s string, least, most int) {
	for _, r := range s {
		if r < ' ' || r > '~' {
			c.bad(path, "has a character outside ASCII; write it as the center gave it to you")
			return
		}
	}
	if len(s) < least || len(s) > most {
		c.bad(path, "%s; write the one that the center gave you", missingOr(s, "has "+strconv.Itoa(len(s))+" characters, and the protocol takes "+strconv.Itoa(most)))
	}
}
