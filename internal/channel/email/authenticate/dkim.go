package authenticate

import (
	"bytes"
	"strings"

	"github.com/emersion/go-msgauth/dkim"
)

// maxSignatures is how many signatures of a message are checked: each costs a look-up
// and a public-key operation.
const maxSignatures = 5

// checkDKIM gathers the domains whose signatures hold. The library refuses what signs
// only part of a body (l=) and what does not sign From.
func (c *checking) checkDKIM(raw []byte) {
	checks, _ := dkim.VerifyWithOptions(bytes.NewReader(raw), &dkim.VerifyOptions{
		MaxVerifications: maxSignatures,
		LookupTXT:        func(domain string) ([]string, error) { return c.dns.LookupTXT(c.ctx, domain) },
	})
	for _, v := range checks {
		if v == nil {
			continue
		}
		domain := strings.ToLower(v.Domain)
		switch {
		case v.Err == nil:
			c.dkim = append(c.dkim, domain)
		case dkim.IsTempFail(v.Err):
			c.unsure = c.unsure || c.mayAlign(domain)
		}
	}
}
