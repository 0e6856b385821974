package authenticate

import (
	"errors"
	"net"
	"strings"
)

// record is a DMARC policy record.
type record struct {
	domain string // that it was found at
	tags   map[string]string
}

// answer is what a look-up gave: at most one record.
type answer struct {
	record *record
	err    error
}

// strict tells whether a kind of alignment (adkim, aspf) is strict.
func (r *record) strict(tag string) bool { return r != nil && strings.EqualFold(r.tags[tag], "s") }

// wanted is what the domain wants done with mail that fails: of a subdomain sp counts
// before p, and t=y asks for one step less (RFC 9989, 4.7).
func (r *record) wanted(author string) string {
	want := policyName(r.tags["p"])
	if sub := policyName(r.tags["sp"]); author != r.domain && r.tags["sp"] != "" {
		want = sub
	}
	if strings.EqualFold(r.tags["t"], "y") {
		switch want {
		case "reject":
			return "quarantine"
		case "quarantine":
			return "none"
		}
	}
	return want
}

func policyName(s string) string {
	switch s = strings.ToLower(s); s {
	case "reject", "quarantine":
		return s
	}
	return "none"
}

// policy finds the record that speaks for the author's domain: its own, else that of its
// organizational domain, else that of the public suffix above (RFC 9989, 4.10.1); nil
// where there is none.
func (c *checking) policy(domain string) (*record, error) {
	own, err := c.lookUp(domain)
	if err != nil || own != nil {
		return own, err
	}
	org, err := c.organizational(domain)
	if err != nil {
		return nil, err
	}
	if r, err := c.lookUp(org); err != nil || r != nil {
		return r, err
	}
	found, err := c.walk(domain)
	if err != nil || len(found) == 0 || !strings.EqualFold(found[len(found)-1].tags["psd"], "y") {
		return nil, err
	}
	return found[len(found)-1], nil
}

// organizational finds the organizational domain by the tree walk (RFC 9989, 4.10.2).
func (c *checking) organizational(domain string) (string, error) {
	found, err := c.walk(domain)
	if err != nil {
		return "", err
	}
	shortest := domain
	for _, r := range found {
		switch {
		case strings.EqualFold(r.tags["psd"], "n"):
			return r.domain, nil
		case strings.EqualFold(r.tags["psd"], "y") && r.domain != domain:
			return below(domain, r.domain), nil
		}
		shortest = r.domain
	}
	return shortest, nil
}

// walk looks for records from a domain up to its top-level domain, at most eight times
// (RFC 9989, 4.10), and stops where a record says what it stands for.
func (c *checking) walk(domain string) ([]*record, error) {
	var found []*record
	labels := strings.Split(domain, ".")
	for first := true; len(labels) > 0; first = false {
		r, err := c.lookUp(strings.Join(labels, "."))
		if err != nil {
			return nil, err
		}
		if r != nil {
			found = append(found, r)
			if r.tags["psd"] != "" && !strings.EqualFold(r.tags["psd"], "u") {
				return found, nil
			}
		}
		if first && len(labels) >= 8 {
			labels = labels[len(labels)-7:]
			continue
		}
		labels = labels[1:]
	}
	return found, nil
}

// below gives the domain one label below a public suffix, on the way to domain.
func below(domain, suffix string) string {
	rest := strings.TrimSuffix(domain, "."+suffix)
	return rest[strings.LastIndexByte(rest, '.')+1:] + "." + suffix
}

// maxLookups bounds the DMARC look-ups for one message: walks of the author's domain and
// of each identifier's.
const maxLookups = 60

var errTooMany = errors.New("authenticate: too many look-ups for one message")

// lookUp reads the record at a domain; nil where there is none, or more than one.
func (c *checking) lookUp(domain string) (*record, error) {
	if a, ok := c.seen[domain]; ok {
		return a.record, a.err
	}
	if c.lookedUp++; c.lookedUp > maxLookups {
		return nil, errTooMany
	}
	texts, err := c.dns.LookupTXT(c.ctx, "_dmarc."+domain)
	var dns *net.DNSError
	if errors.As(err, &dns) && dns.IsNotFound {
		texts, err = nil, nil
	}
	a := answer{err: err}
	valid := 0
	for _, text := range texts {
		if tags, ok := parse(text); ok {
			valid++
			a.record = &record{domain: domain, tags: tags}
		}
	}
	if valid > 1 {
		a.record = nil
	}
	c.seen[domain] = a
	return a.record, a.err
}

// parse reads a record's tags; the version comes first (RFC 9989, 4.7).
func parse(text string) (map[string]string, bool) {
	tags := map[string]string{}
	for i, field := range strings.Split(text, ";") {
		name, value, ok := strings.Cut(field, "=")
		name, value = strings.TrimSpace(name), strings.TrimSpace(value)
		if i == 0 && (!ok || name != "v" || value != "DMARC1") {
			return nil, false
		}
		if _, twice := tags[strings.ToLower(name)]; ok && !twice {
			tags[strings.ToLower(name)] = value
		}
	}
	return tags, true
}
