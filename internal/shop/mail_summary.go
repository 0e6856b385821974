package shop

import (
	"fmt"
	"strings"
)

// about says what was understood of the mailbox.
func (m *Mail) about() Section {
	out := Section{About: "mail", Says: []string{
		fmt.Sprintf("owners write to %s", m.Address),
		fmt.Sprintf("messages go out through %s:%d (%s)", m.Relay.Host, m.Relay.Port, m.Relay.TLS),
	}}
	for _, d := range m.DKIM {
		out.Says = append(out.Says, fmt.Sprintf("signed for %s; its public key stands at %s._domainkey.%s", d.Domain, d.Selector, d.Domain))
	}
	if m.Sign != nil {
		out.Says = append(out.Says, "messages may be posted to /in/mail/, signed: "+m.Sign.How)
	}
	if m.Trust.ID != "" {
		var from []string
		for _, p := range m.Trust.From {
			from = append(from, p.String())
		}
		out.Says = append(out.Says, fmt.Sprintf("what %s says of who wrote a message is believed, from: %s", m.Trust.ID, strings.Join(from, ", ")))
	}
	return out
}

// warnings tells what will not do in use.
func (m *Mail) warnings(v Vault) []string {
	var out []string
	if key, err := m.Key.Read(v); err != nil {
		out = append(out, "mail: key: "+err.Error())
	} else if len(key) < 16 {
		out = append(out, "mail: key: is shorter than 16 characters, and the server will not start with it")
	}
	if m.Relay.Password != "" {
		if _, err := m.Relay.Password.Read(v); err != nil {
			out = append(out, "mail: relay: password: "+err.Error())
		}
	}
	for _, d := range m.DKIM {
		if text, err := d.Key.Read(v); err != nil {
			out = append(out, "mail: dkim: "+d.Selector+": "+err.Error())
		} else if _, err := PrivateKey(text); err != nil {
			out = append(out, "mail: dkim: "+d.Selector+": "+err.Error())
		}
	}
	if len(m.DKIM) == 0 {
		out = append(out, "mail: no dkim: where the relay does not sign either, owners' mail programs will take messages for junk, and one-click unsubscription does not count (RFC 8058)")
	}
	if m.Public == "" {
		out = append(out, "mail: no public_url: there is no one-click unsubscription, only by mail")
	}
	if m.Sign != nil && m.Sign.How == SignNone {
		out = append(out, "mail: callbacks: how: none lets anyone who knows the address post mail in any owner's name; sign it")
	}
	return out
}
