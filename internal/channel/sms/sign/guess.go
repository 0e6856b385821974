package sign

import (
	"crypto/subtle"
	"slices"
	"strings"

	"tubhand/internal/shop"
)

// Guess tries other usual ways of signing with the same secrets, for whoever sets a
// gateway up and got a description wrong. It gives what to write instead, or "" where
// nothing it knows would hold. It is slow, and no part of taking callbacks.
func (c *Check) Guess(r *Request) string {
	if c.how.How != shop.SignBody && c.how.How != shop.SignForm {
		return ""
	}
	cl, err := c.claim(r)
	if err != nil {
		return ""
	}
	for _, given := range strings.Fields(cl.signatures) {
		for _, signed := range c.signable(r, cl) {
			for _, hash := range []string{"sha256", "sha1", "sha512"} {
				if how := c.guessed(given, hash, signed); how != "" {
					return how
				}
			}
		}
	}
	return ""
}

// signable is something that a gateway may have signed, and how to say so.
type signable struct {
	says  string
	bytes []byte
}

func (c *Check) signable(r *Request, cl claim) []signable {
	list := []signable{{"how: hmac_body over the body alone", r.Body}}
	if cl.time != "" {
		for _, between := range []string{".", "", ":", "|", "\n"} {
			list = append(list, signable{"how: hmac_body with between: \"" + strings.ReplaceAll(between, "\n", `\n`) + "\"",
				slices.Concat([]byte(cl.time), []byte(between), r.Body)})
		}
	}
	if form, err := signedForm(r); err == nil {
		list = append(list, signable{"how: hmac_url_form with this public_url", form})
		for _, other := range otherURLs(r.URL) {
			changed := *r
			changed.URL = other
			if form, err := signedForm(&changed); err == nil {
				list = append(list, signable{"how: hmac_url_form, where the gateway signs the address " + other, form})
			}
		}
	}
	return append(list, signable{"how: hmac_body over the body without the line end at its end", []byte(strings.TrimRight(string(r.Body), "\r\n"))})
}

// otherURLs are addresses that a proxy or a port makes of one.
func otherURLs(url string) []string {
	var out []string
	swap := map[string]string{"https://": "http://", "http://": "https://"}
	for a, b := range swap {
		if rest, ok := strings.CutPrefix(url, a); ok {
			out = append(out, b+rest)
		}
	}
	if bare, _, ok := strings.Cut(url, "?"); ok {
		out = append(out, bare)
	}
	return out
}

// guessed tries one hash over one thing, with each way of writing the signature.
func (c *Check) guessed(given, hash string, over signable) string {
	for _, secret := range c.secrets {
		want := mac(hash, secret, over.bytes)
		for _, in64 := range []bool{false, true} {
			for _, prefix := range []string{"", c.how.Prefix, hash + "=", "v1=", "v1,"} {
				bare, ok := strings.CutPrefix(given, prefix)
				if !ok {
					continue
				}
				if b, err := decode(bare, in64); err == nil && subtle.ConstantTimeCompare(b, want) == 1 {
					written := "hex"
					if in64 {
						written = "base64"
					}
					return over.says + ", hash: " + hash + ", written: " + written + ", prefix: \"" + prefix + "\""
				}
			}
		}
	}
	return ""
}
