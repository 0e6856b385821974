// Package sign tells whether a callback is the gateway's own: by a keyed hash of its body
// or of its address and fields, by the Standard Webhooks scheme, by an Ed25519 signature,
// or by a password that comes along. Comparisons take the same time wherever they differ,
// what is signed is the bytes as they came, and old callbacks are refused where a time is
// signed.
package sign

import (
	"crypto/ed25519"
	"crypto/hmac"
	"crypto/sha1" //nolint:gosec // HMAC-SHA1 is what some gateways sign with; HMAC does not rest on collisions
	"crypto/sha256"
	"crypto/sha512"
	"crypto/subtle"
	"encoding/base64"
	"encoding/hex"
	"fmt"
	"hash"
	"net/http"
	"strconv"
	"strings"
	"time"

	"tubhand/internal/shop"
	"tubhand/internal/shop/field"
)

// Request is what of a callback can be signed.
type Request struct {
	URL    string // in full, as the gateway knows it
	Header http.Header
	Query  field.Pairs
	Form   func() (field.Pairs, error) // the body as a form; asked for where the fields are signed
	Body   []byte                      // as it came
}

// Failure is why a callback is not taken for the gateway's own. It is for whoever sets the
// gateway up, holds no secret, and is not told to the sender.
type Failure struct {
	Why string
	Old bool // the signature itself is right; its time is not
}

// Error implements error.
func (f *Failure) Error() string { return f.Why }

func fail(format string, args ...any) error { return &Failure{Why: fmt.Sprintf(format, args...)} }

func old(format string, args ...any) error {
	return &Failure{Why: fmt.Sprintf(format, args...), Old: true}
}

// Check verifies one gateway's callbacks. It is safe for concurrent use.
type Check struct {
	how     shop.Sign
	secrets [][]byte
	public  []ed25519.PublicKey
}

// New makes a check with the secrets that the description names, in its order.
func New(how shop.Sign, secrets [][]byte) (*Check, error) {
	c := &Check{how: how}
	for _, written := range how.Keys {
		k, err := shop.PublicKey(written)
		if err != nil {
			return nil, fmt.Errorf("sign: public key: %w", err)
		}
		c.public = append(c.public, k)
	}
	if how.How != shop.SignStandard {
		c.secrets = secrets
		return c, nil
	}
	for i, s := range secrets {
		if err := c.standardKey(string(s)); err != nil {
			return nil, fmt.Errorf("sign: secret %s: %w", how.Secrets[i], err)
		}
	}
	return c, nil
}

// Open tells that nothing is signed: whoever knows the address can post.
func (c *Check) Open() bool { return c.how.How == shop.SignNone }

// Verify tells whether the request is the gateway's own. The error is a *Failure.
func (c *Check) Verify(r *Request, now time.Time) error {
	switch c.how.How {
	case shop.SignNone:
		return nil
	case shop.SignBody:
		return c.body(r, now)
	case shop.SignForm:
		return c.form(r)
	case shop.SignStandard:
		return c.standard(r, now)
	case shop.SignEd25519:
		return c.ed25519(r, now)
	case shop.SignBasic:
		return c.basic(r)
	case shop.SignShared:
		return c.shared(r)
	}
	return fail("the description knows no way of signing called %q", c.how.How)
}

// claim is what a header claims: a signature and the time it was made.
type claim struct{ signatures, time string }

// claim reads the header, and its parts where it has the form t=...,v1=....
func (c *Check) claim(r *Request) (claim, error) {
	given, err := single(r.Header, c.how.Header)
	if err != nil {
		return claim{}, err
	}
	cl := claim{signatures: given}
	if c.how.Part != "" {
		cl.signatures, cl.time = "", ""
		for part := range strings.SplitSeq(given, ",") {
			name, value, _ := strings.Cut(strings.TrimSpace(part), "=")
			switch {
			case name == c.how.Part && cl.signatures == "":
				cl.signatures = value
			case name == c.how.Part:
				cl.signatures += " " + value // several while a secret is changed
			case name == c.how.TimePart && c.how.TimePart != "":
				cl.time = value
			}
		}
		if cl.signatures == "" {
			return cl, fail("header %s has no part %s=", c.how.Header, c.how.Part)
		}
	}
	if c.how.TimeIn != "" {
		if cl.time, err = single(r.Header, c.how.TimeIn); err != nil {
			return cl, err
		}
	}
	if c.how.TimePart != "" && cl.time == "" {
		return cl, fail("header %s has no part %s=", c.how.Header, c.how.TimePart)
	}
	return cl, nil
}

// single reads a header that must be there once.
func single(h http.Header, name string) (string, error) {
	all := h.Values(name)
	switch {
	case len(all) == 0 || len(all) == 1 && all[0] == "":
		return "", fail("header %s is missing", name)
	case len(all) > 1:
		return "", fail("header %s is there more than once", name)
	case len(all[0]) > 4096:
		return "", fail("header %s is longer than any signature", name)
	}
	return all[0], nil
}

// fresh tells whether a signed time, in seconds or milliseconds since 1970 or in RFC 3339,
// is near enough to now.
func fresh(written string, now time.Time, within time.Duration) error {
	at, ok := Time(written)
	if !ok {
		return old("the signed time %q is none: neither seconds since 1970 nor like 2026-06-13T12:00:00Z", clip(written))
	}
	switch age := now.Sub(at); {
	case age > within:
		return old("the signed time is %s old, and the window is %s: an old callback again, or a clock that is wrong", age.Round(time.Second), within)
	case age < -within:
		return old("the signed time is %s ahead, and the window is %s: a clock is wrong", (-age).Round(time.Second), within)
	}
	return nil
}

// Time reads a time as gateways write it: seconds or milliseconds since 1970, or RFC 3339.
func Time(written string) (time.Time, bool) {
	if n, err := strconv.ParseInt(written, 10, 64); err == nil {
		switch {
		case n <= 0 || n > 1e14:
			return time.Time{}, false
		case n > 1e11: // seconds would be in the year 5138
			return time.UnixMilli(n).UTC(), true
		}
		return time.Unix(n, 0).UTC(), true
	}
	at, err := time.Parse(time.RFC3339, written)
	return at, err == nil
}

func clip(s string) string {
	if len(s) > 40 {
		return s[:40] + "..."
	}
	return s
}

func hasher(name string) func() hash.Hash {
	switch name {
	case "sha1":
		return sha1.New
	case "sha512":
		return sha512.New
	}
	return sha256.New
}

// mac is the keyed hash of parts one after the other.
func mac(hash string, secret []byte, parts ...[]byte) []byte {
	h := hmac.New(hasher(hash), secret)
	for _, p := range parts {
		h.Write(p)
	}
	return h.Sum(nil)
}

// decode reads a signature; base64 in either alphabet, with or without its padding.
func decode(written string, in64 bool) ([]byte, error) {
	if !in64 {
		return hex.DecodeString(written)
	}
	written = strings.TrimRight(written, "=")
	if strings.ContainsAny(written, "-_") {
		return base64.RawURLEncoding.DecodeString(written)
	}
	return base64.RawStdEncoding.DecodeString(written)
}

// body verifies an HMAC over the body, or over the time, a separator and the body.
func (c *Check) body(r *Request, now time.Time) error {
	cl, err := c.claim(r)
	if err != nil {
		return err
	}
	parts := [][]byte{r.Body}
	if c.how.Timed() {
		parts = [][]byte{[]byte(cl.time), []byte(c.how.Between), r.Body}
	}
	if err := c.matches(cl.signatures, parts...); err != nil {
		return err
	}
	if c.how.Timed() {
		return fresh(cl.time, now, c.how.Within)
	}
	return nil
}

// matches compares each signature given with that of each secret.
func (c *Check) matches(signatures string, parts ...[]byte) error {
	given, err := c.given(signatures)
	if err != nil {
		return err
	}
	right := 0
	for _, secret := range c.secrets {
		want := mac(c.how.Hash, secret, parts...)
		for _, g := range given {
			right |= subtle.ConstantTimeCompare(g, want)
		}
	}
	if right == 1 {
		return nil
	}
	if size := hasher(c.how.Hash)().Size(); len(given[0]) != size {
		return fail("the signature has %d bytes where %s gives %d: another hash, or another way of writing it", len(given[0]), c.how.Hash, size)
	}
	return fail("the signature is another one than ours: another secret, or something else is signed")
}

// given decodes the signatures of a claim, their prefix taken off.
func (c *Check) given(signatures string) ([][]byte, error) {
	var out [][]byte
	for _, one := range strings.Fields(signatures) {
		bare, ok := strings.CutPrefix(one, c.how.Prefix)
		if !ok {
			return nil, fail("the signature does not begin with %q", c.how.Prefix)
		}
		b, err := decode(bare, c.how.Base64)
		if err != nil {
			return nil, fail("the signature is not written in %s; look at written: and prefix:", writing(c.how.Base64))
		}
		out = append(out, b)
	}
	if len(out) == 0 {
		return nil, fail("header %s is empty", c.how.Header)
	}
	if len(out) > 8 {
		return nil, fail("header %s has more than 8 signatures", c.how.Header)
	}
	return out, nil
}

func writing(in64 bool) string {
	if in64 {
		return "base64"
	}
	return "hexadecimal"
}
