package shop

import (
	"net/url"
	"strings"
)

// Gateway is a carrier of texts, as the shop file describes it: what all kinds have in
// common, and beside it what its kind needs.
type Gateway struct {
	Name string // as in the path of its callbacks
	Kind string // Plain, HTTP, MessageCenter
	Web  *Web   // how a gateway of kind Plain or HTTP is spoken to
	SMPP *SMPP  // how one of kind MessageCenter is
}

// The kinds of gateways.
const (
	// Plain posts unsigned form fields from, to, body and id, and takes outbound messages
	// as JSON from, to, body and key.
	Plain = "plain"
	// HTTP is spoken to over HTTP as its description says.
	HTTP = "http"
	// MessageCenter is bound to by SMPP 3.4, over a connection that we open.
	MessageCenter = "smpp"
)

// Gateway finds a gateway by its name.
func (f *File) Gateway(name string) (Gateway, bool) {
	for _, g := range f.Gateways {
		if g.Name == name {
			return g, true
		}
	}
	return Gateway{}, false
}

// gateway is a gateway as people write it; which keys it may have depends on its kind.
type gateway struct {
	Kind   string   `yaml:"kind"`
	SendTo string   `yaml:"send_to"` // plain
	Web    webKeys  `yaml:",inline"` // http
	SMPP   smppKeys `yaml:",inline"` // smpp
}

func (c *check) gateways(w written) []Gateway {
	var out []Gateway
	for _, name := range keys(w.Gateways) {
		path, g := "$.gateways."+name, w.Gateways[name]
		one := Gateway{Name: c.key(path, name), Kind: c.oneOf(path+".kind", g.Kind, Plain, HTTP, MessageCenter)}
		if g.Kind != MessageCenter && g.SMPP.written() {
			c.bad(path+".kind", "goes with none of address, system_id, password and the like; write kind: smpp for a message center, or take them out")
		}
		switch g.Kind {
		case MessageCenter:
			if g.SendTo != "" || g.Web.written() {
				c.bad(path+".kind", "smpp goes with address, system_id and password; take out send_to and what describes HTTP")
			}
			one.SMPP = c.smpp(path, g.SMPP)
		case HTTP:
			if g.SendTo != "" {
				c.bad(path+".send_to", "goes with kind plain; for kind http write send: with its url: and fields")
			}
			one.Web = c.web(path, g.Web)
		default:
			c.address(path+".send_to", g.SendTo, "the http or https address that takes outbound messages")
			if g.Kind == Plain && g.Web.written() {
				c.bad(path+".kind", "plain is described already and takes send_to alone; write kind: http to describe a gateway")
			}
			one.Web = plainWeb(g.SendTo)
		}
		out = append(out, one)
	}
	return out
}

// address checks a web address.
func (c *check) address(path, s, what string) string {
	u, err := url.Parse(s)
	if err != nil || u.Host == "" || u.Scheme != "http" && u.Scheme != "https" {
		c.bad(path, "%s; write %s", missingOr(s, "is no web address"), what)
	} else if u.User != nil {
		c.bad(path, "has a password in it; write auth: with a secret that stands elsewhere")
	}
	return s
}

// oneOrMore takes one text, or a list of them.
type oneOrMore []string

// UnmarshalYAML implements the decoder's interface.
func (o *oneOrMore) UnmarshalYAML(decode func(any) error) error {
	var one string
	if decode(&one) == nil {
		*o = oneOrMore{one}
		return nil
	}
	return decode((*[]string)(o))
}

// words checks a list of a gateway's words; they are compared without regard to case.
func (c *check) words(path string, list oneOrMore) []string {
	var out []string
	for _, w := range list {
		w = strings.ToLower(strings.TrimSpace(w))
		if w == "" {
			c.bad(path, "has an empty word in it; take it out")
		}
		out = append(out, w)
	}
	return out
}
