package shop

import (
	"fmt"
	"net/netip"
	"strings"

	"tubhand/internal/mailbox"
)

// Mail is the shop's mailbox, as the shop file describes it.
type Mail struct {
	Address string // that owners write to
	Key     Secret // keys tokens in addresses and links, and codes
	Relay   Relay
	DKIM    []DKIM
	Sign    *Sign  // how messages posted to /in/mail/{shop} are signed; nil: none are taken
	Trust   Trust  // a relay of the shop's own that checks mail before it comes here
	Public  string // the address of this server for owners' mail programs, without a slash at its end; "" for none
	Postal  string // the shop's postal address, for the foot of each message
}

// Relay is the server that outbound mail is handed to.
type Relay struct {
	Host     string
	Port     int
	TLS      string // TLSStart, TLSOnly, TLSNone
	User     string // "" for none
	Password Secret
}

// How a relay's connection is encrypted.
const (
	TLSStart = "starttls" // by STARTTLS (RFC 3207), always
	TLSOnly  = "implicit" // from the first byte (RFC 8314)
	TLSNone  = "none"     // not at all; for a relay on this machine
)

// DKIM is a key that outbound mail is signed with.
type DKIM struct {
	Selector string
	Domain   string
	Key      Secret // PEM, PKCS #8: RSA or Ed25519
}

// Trust names a relay whose Authentication-Results are believed.
type Trust struct {
	ID   string         // its authserv-id (RFC 8601); "" for none
	From []netip.Prefix // where its connections come from
}

// mailKeys is the mailbox as people write it.
type mailKeys struct {
	Address   string      `yaml:"address"`
	Key       string      `yaml:"key"`
	Relay     relayKeys   `yaml:"relay"`
	DKIM      []dkimKeys  `yaml:"dkim"`
	Callbacks *signedKeys `yaml:"callbacks"`
	Trust     *trustKeys  `yaml:"trust"`
	PublicURL string      `yaml:"public_url"`
	Postal    string      `yaml:"postal"`
}

type relayKeys struct {
	Host     string `yaml:"host"`
	Port     int    `yaml:"port"`
	TLS      string `yaml:"tls"`
	User     string `yaml:"user"`
	Password string `yaml:"password"`
}

type dkimKeys struct {
	Selector string `yaml:"selector"`
	Domain   string `yaml:"domain"`
	Key      string `yaml:"key"`
}

type trustKeys struct {
	ID   string    `yaml:"id"`
	From oneOrMore `yaml:"from"`
}

// mail checks the mailbox; nil where the shop has none.
func (c *check) mail(w *mailKeys) *Mail {
	if w == nil {
		return nil
	}
	m := &Mail{
		Address: c.mailAddress("$.mail.address", w.Address), Key: c.secret("$.mail.key", w.Key),
		Relay: c.relay(w.Relay), Public: strings.TrimRight(w.PublicURL, "/"), Postal: w.Postal,
	}
	if _, detail := mailbox.Detail(m.Address); detail != "" {
		c.bad("$.mail.address", "has a + in it; what comes after one is ours, to tell threads and reports apart")
	}
	for i, k := range w.DKIM {
		m.DKIM = append(m.DKIM, c.dkim(fmt.Sprintf("$.mail.dkim[%d]", i), k, m.Address))
	}
	if w.Callbacks != nil {
		s := c.sign("$.mail.callbacks", w.Callbacks, w.PublicURL)
		m.Sign = &s
	}
	if w.PublicURL != "" {
		c.address("$.mail.public_url", w.PublicURL, "the https address that owners' mail programs reach this server at")
		if !strings.HasPrefix(w.PublicURL, "https://") {
			c.bad("$.mail.public_url", "must begin with https://: mail programs post to no other (RFC 8058)")
		}
	}
	if w.Trust != nil {
		m.Trust = c.trust(*w.Trust)
	}
	return m
}

func (c *check) mailAddress(path, written string) string {
	a, err := mailbox.Parse(written)
	if err != nil {
		c.bad(path, "%v; write it bare, like hello@fernhollow.example", err)
	}
	return a
}

func (c *check) relay(k relayKeys) Relay {
	r := Relay{Host: strings.ToLower(k.Host), Port: k.Port, TLS: k.TLS, User: k.User}
	if r.TLS == "" {
		r.TLS = TLSStart
	}
	c.oneOf("$.mail.relay.tls", r.TLS, TLSStart, TLSOnly, TLSNone)
	local := r.Host == "localhost"
	if ip, err := netip.ParseAddr(r.Host); err == nil {
		local = ip.IsLoopback()
	} else if !local && !hostForm.MatchString(r.Host) {
		c.bad("$.mail.relay.host", "%s; write the name of the server that takes the shop's outbound mail", missingOr(k.Host, "is no host name"))
	}
	if r.Port == 0 {
		r.Port = map[string]int{TLSOnly: 465, TLSNone: 25}[r.TLS]
	}
	if r.Port == 0 {
		r.Port = 587
	}
	if r.Port < 1 || r.Port > 65535 {
		c.bad("$.mail.relay.port", "%d is no port; the usual ones are 587 with starttls and 465 with implicit", r.Port)
	}
	if r.TLS == TLSNone && !local {
		c.bad("$.mail.relay.tls", "none is for a relay on this machine; owners' mail and the password would go in the open")
	}
	if k.User != "" || k.Password != "" {
		r.Password = c.secret("$.mail.relay.password", k.Password)
	}
	if k.User == "" && k.Password != "" {
		c.bad("$.mail.relay.user", "is missing; a password goes with a user")
	}
	return r
}

func (c *check) dkim(path string, k dkimKeys, address string) DKIM {
	d := DKIM{Selector: k.Selector, Domain: strings.ToLower(k.Domain), Key: c.secret(path+".key", k.Key)}
	if d.Domain == "" {
		d.Domain = mailbox.Of(address)
	}
	if !mailbox.Domain(d.Selector + "._domainkey." + d.Domain) {
		c.bad(path+".selector", "%s; write the name that the key is published under, like tub1", missingOr(k.Selector, "is no selector"))
	}
	if own := mailbox.Of(address); own != d.Domain && !strings.HasSuffix(own, "."+d.Domain) {
		c.bad(path+".domain", "%q is not the address's; a signature of another domain proves nothing for it", d.Domain)
	}
	return d
}

func (c *check) trust(k trustKeys) Trust {
	t := Trust{ID: strings.ToLower(k.ID)}
	if !hostForm.MatchString(t.ID) {
		c.bad("$.mail.trust.id", "%s; write the name that begins the relay's Authentication-Results", missingOr(k.ID, "is no authserv-id"))
	}
	for _, text := range k.From {
		p, err := netip.ParsePrefix(text)
		if ip, no := netip.ParseAddr(text); no == nil {
			p, err = netip.PrefixFrom(ip, ip.BitLen()), nil
		}
		if err != nil {
			c.bad("$.mail.trust.from", "%q is no address or network; write one like 192.0.2.25 or 192.0.2.0/28", text)
			continue
		}
		t.From = append(t.From, p.Masked())
	}
	return t
}
