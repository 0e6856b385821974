package sign

import (
	"cmp"
	"crypto/ed25519"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base64"
	"errors"
	"net/http"
	"slices"
	"strings"
	"time"

	"tubhand/internal/shop"
	"tubhand/internal/shop/field"
)

// form verifies an HMAC over the address in full, followed by each form field's name and
// value, by name and then by value.
func (c *Check) form(r *Request) error {
	signature, err := single(r.Header, c.how.Header)
	if err != nil {
		return err
	}
	signed, err := signedForm(r)
	if err != nil {
		return err
	}
	return c.matches(signature, signed)
}

// signedForm is what is signed of a form. A repeated field stands once for each value;
// the address alone is signed where there is no form.
func signedForm(r *Request) ([]byte, error) {
	pairs, err := r.Form()
	if err != nil {
		return nil, fail("the body is %v", err)
	}
	pairs = slices.Clone(pairs)
	slices.SortStableFunc(pairs, func(a, b field.Pair) int {
		return cmp.Or(cmp.Compare(a.Name, b.Name), cmp.Compare(a.Value, b.Value))
	})
	var b strings.Builder
	b.WriteString(r.URL)
	for _, p := range pairs {
		b.WriteString(p.Name)
		b.WriteString(p.Value)
	}
	return []byte(b.String()), nil
}

// The headers of Standard Webhooks 1.0.0.
const (
	standardID        = "Webhook-Id"
	standardTime      = "Webhook-Timestamp"
	standardSignature = "Webhook-Signature"
)

// standardKey reads a secret (whsec_ and base64) or a public key (whpk_ and base64).
func (c *Check) standardKey(written string) error {
	if strings.HasPrefix(written, "whpk_") {
		k, err := shop.PublicKey(written)
		if err != nil {
			return errors.New("is no public key: whpk_ and 32 bytes in base64")
		}
		c.public = append(c.public, k)
		return nil
	}
	key, err := base64.StdEncoding.DecodeString(strings.TrimPrefix(written, "whsec_"))
	if err != nil || len(key) < 16 {
		return errors.New("is no Standard Webhooks secret: whsec_ and base64 of 24 to 64 bytes")
	}
	c.secrets = append(c.secrets, key)
	return nil
}

// standard verifies the Standard Webhooks scheme: one of the signatures must be one of
// ours, v1 by HMAC-SHA256 or v1a by Ed25519, over id.time.body.
func (c *Check) standard(r *Request, now time.Time) error {
	var got [3]string
	for i, name := range []string{standardID, standardTime, standardSignature} {
		var err error
		if got[i], err = single(r.Header, name); err != nil {
			return err
		}
	}
	signed := slices.Concat([]byte(got[0]), []byte("."), []byte(got[1]), []byte("."), r.Body)
	given := strings.Fields(got[2])
	if len(given) > 8 {
		return fail("header %s has more than 8 signatures", standardSignature)
	}
	right := false
	for _, one := range given {
		version, written, _ := strings.Cut(one, ",")
		signature, err := base64.StdEncoding.DecodeString(written)
		if err != nil {
			continue
		}
		right = c.standardOne(version, signature, signed) || right
	}
	if !right {
		return fail("none of the %d signatures is ours: another secret, or the body was changed on its way", len(given))
	}
	return fresh(got[1], now, c.how.Within)
}

func (c *Check) standardOne(version string, signature, signed []byte) bool {
	right := 0
	switch version {
	case "v1":
		for _, key := range c.secrets {
			right |= subtle.ConstantTimeCompare(signature, mac("sha256", key, signed))
		}
	case "v1a":
		for _, key := range c.public {
			if len(signature) == ed25519.SignatureSize && ed25519.Verify(key, signed, signature) {
				right = 1
			}
		}
	}
	return right == 1
}

// ed25519 verifies a signature over the time, a separator and the body, or the body alone.
func (c *Check) ed25519(r *Request, now time.Time) error {
	cl, err := c.claim(r)
	if err != nil {
		return err
	}
	given, err := c.given(cl.signatures)
	if err != nil {
		return err
	}
	signed := r.Body
	if c.how.Timed() {
		signed = slices.Concat([]byte(cl.time), []byte(c.how.Between), r.Body)
	}
	for _, g := range given {
		if len(g) != ed25519.SignatureSize {
			return fail("the signature has %d bytes where Ed25519 has %d", len(g), ed25519.SignatureSize)
		}
		for _, key := range c.public {
			if !ed25519.Verify(key, signed, g) {
				continue
			}
			if c.how.Timed() {
				return fresh(cl.time, now, c.how.Within)
			}
			return nil
		}
	}
	return fail("the signature is not by the public key: another key, or something else is signed")
}

// basic verifies a user and a password.
func (c *Check) basic(r *Request) error {
	user, password, ok := (&http.Request{Header: r.Header}).BasicAuth()
	if !ok {
		return fail("header Authorization is missing or is not Basic")
	}
	right := same([]byte(user), []byte(c.how.User))
	if c.oneOf([]byte(password))&right == 1 {
		return nil
	}
	return fail("another user or password than ours")
}

// shared verifies a secret that comes along.
func (c *Check) shared(r *Request) error {
	var given string
	var err error
	if c.how.Header != "" {
		given, err = single(r.Header, c.how.Header)
	} else if given, err = r.Query.One(c.how.Query); err == nil && given == "" {
		err = fail("the address has no field %s", c.how.Query)
	}
	if err != nil {
		return fail("%v", err)
	}
	bare, ok := strings.CutPrefix(given, c.how.Prefix)
	if !ok {
		return fail("the secret does not begin with %q", c.how.Prefix)
	}
	if c.oneOf([]byte(bare)) == 1 {
		return nil
	}
	return fail("another secret than ours")
}

func (c *Check) oneOf(given []byte) int {
	right := 0
	for _, s := range c.secrets {
		right |= same(given, s)
	}
	return right
}

// same compares by hashes, so that not even the length is told by the time it takes.
func same(a, b []byte) int {
	x, y := sha256.Sum256(a), sha256.Sum256(b)
	return subtle.ConstantTimeCompare(x[:], y[:])
}
