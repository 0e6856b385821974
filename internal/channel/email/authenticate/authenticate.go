// Package authenticate finds out whether a message comes from the domain of its author:
// DKIM (RFC 6376, 8463), SPF (RFC 7208) and DMARC (RFC 9989, with the tree walk in the
// place of a list of public suffixes). Anyone can write any From; nobody's word is taken
// for an owner's before this says so.
package authenticate

import (
	"context"
	"errors"
	"net"
	"strings"

	"blitiri.com.ar/go/spf"

	"tubhand/internal/mailbox"
)

// Resolver looks up DNS records; *net.Resolver is one. A name that is not there is a
// *net.DNSError with IsNotFound set.
type Resolver interface {
	LookupTXT(ctx context.Context, name string) ([]string, error)
	LookupMX(ctx context.Context, name string) ([]*net.MX, error)
	LookupIPAddr(ctx context.Context, host string) ([]net.IPAddr, error)
	LookupAddr(ctx context.Context, addr string) ([]string, error)
}

// Envelope is what the SMTP session told. Without an IP there was none, and SPF says
// nothing.
type Envelope struct {
	IP       net.IP
	Helo     string
	MailFrom string // the reverse path, without brackets; "" is the null one
}

// Verdict is what a message is worth as a proof of who wrote it.
type Verdict string

// The verdicts.
const (
	Proven   Verdict = "proven"   // the author's domain vouches for it
	Unproven Verdict = "unproven" // the domain publishes nothing that could be checked
	Forged   Verdict = "forged"   // the domain says how its mail is known, and this is not
	Later    Verdict = "later"    // DNS did not answer; try again
)

// Outcome is the verdict and how it came about.
type Outcome struct {
	Verdict Verdict
	Policy  string   // what the author's domain wants done with forgeries: none, quarantine, reject; "" without a record
	SPF     string   // pass, fail, none, ...; "" where it was not checked
	DKIM    []string // domains whose signature holds
	Why     string   // in a few words, for the trace
}

// Check checks a message. From is the author's address, as package letter read it.
func Check(ctx context.Context, dns Resolver, raw []byte, from string, env Envelope) Outcome {
	c := &checking{ctx: ctx, dns: dns, author: mailbox.Of(from), seen: map[string]answer{}}
	c.checkDKIM(raw)
	c.checkSPF(env)
	return c.dmarc()
}

// checking is one check under way.
type checking struct {
	ctx      context.Context
	dns      Resolver
	author   string            // domain of the author
	dkim     []string          // domains that signed
	spf      string            // result
	spfFor   string            // the domain that SPF spoke for
	unsure   bool              // something could not be looked up that might have passed
	seen     map[string]answer // DMARC records by domain
	lookedUp int
}

func (c *checking) checkSPF(env Envelope) {
	if env.IP == nil {
		return
	}
	domain := mailbox.Of(env.MailFrom)
	if env.MailFrom == "" {
		domain = env.Helo // RFC 7208, 2.4
	}
	domain = strings.ToLower(domain)
	result, err := spf.CheckHostWithSender(env.IP, env.Helo, env.MailFrom, spf.WithContext(c.ctx), spf.WithResolver(c.dns))
	c.spf = string(result)
	switch {
	case result == spf.Pass:
		c.spfFor = domain
	case result == spf.TempError && err != nil:
		c.unsure = c.unsure || c.mayAlign(domain)
	}
}

// mayAlign is a cheap look before trying again later: only a domain that shares its last
// labels with the author's could have made a difference.
func (c *checking) mayAlign(domain string) bool {
	return domain == c.author || strings.HasSuffix(domain, "."+c.author) || strings.HasSuffix(c.author, "."+domain) ||
		lastLabels(domain) == lastLabels(c.author)
}

func lastLabels(domain string) string {
	labels := strings.Split(domain, ".")
	return strings.Join(labels[max(len(labels)-2, 0):], ".")
}

// dmarc comes to the verdict.
func (c *checking) dmarc() Outcome {
	out := Outcome{SPF: c.spf, DKIM: c.dkim}
	policy, err := c.policy(c.author)
	if err != nil {
		out.Verdict, out.Why = Later, "the DMARC record could not be looked up"
		return out
	}
	by, err := c.aligned(policy)
	if policy != nil {
		out.Policy = policy.wanted(c.author)
	}
	switch {
	case by != "" && policy != nil:
		out.Verdict, out.Why = Proven, "DMARC pass by "+by
	case strings.HasPrefix(by, "DKIM"):
		out.Verdict, out.Why = Proven, "no DMARC record; aligned "+by
	case err != nil || c.unsure:
		out.Verdict, out.Why = Later, "DNS did not answer all that was asked"
	case policy != nil:
		out.Verdict, out.Why = Forged, "DMARC fail, policy "+out.Policy+c.found()
	default:
		out.Verdict, out.Why = Unproven, "no DMARC record and no aligned signature"+c.found()
	}
	return out
}

// found tells what held but was of another domain.
func (c *checking) found() string {
	s := ""
	if len(c.dkim) > 0 {
		s += "; DKIM of " + strings.Join(c.dkim, ", ")
	}
	if c.spf != "" {
		s += "; SPF " + c.spf
	}
	return s
}

// aligned finds an identifier that holds and is of the author's domain.
func (c *checking) aligned(policy *record) (by string, err error) {
	for _, d := range c.dkim {
		ok, wrong := c.matches(d, policy.strict("adkim"))
		if ok {
			return "DKIM " + d, nil
		}
		err = errors.Join(err, wrong)
	}
	if c.spfFor != "" {
		ok, wrong := c.matches(c.spfFor, policy.strict("aspf"))
		if ok {
			return "SPF " + c.spfFor, nil
		}
		err = errors.Join(err, wrong)
	}
	return "", err
}

// matches compares a domain with the author's: the same, or in relaxed mode of the same
// organizational domain.
func (c *checking) matches(domain string, strict bool) (bool, error) {
	if domain == c.author || strict {
		return domain == c.author, nil
	}
	mine, err := c.organizational(domain)
	if err != nil {
		return false, err
	}
	theirs, err := c.organizational(c.author)
	return err == nil && mine == theirs, err
}
