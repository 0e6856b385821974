package shop

import (
	"crypto/ed25519"
	"encoding/base64"
	"encoding/hex"
	"regexp"
	"strings"
	"time"
)

var (
	hostForm   = regexp.MustCompile(`^[a-z0-9]([a-z0-9-]*[a-z0-9])?(\.[a-z0-9]([a-z0-9-]*[a-z0-9])?)+$`)
	headerForm = regexp.MustCompile(`^[A-Za-z0-9!#$%&'*+.^_|~-]{1,100}$`) // token, RFC 9110, 5.6.2
)

// usualWindow is how old a signed time may be; the Standard Webhooks text asks for "some
// allowable tolerance", and five minutes are common practice.
const usualWindow = 5 * time.Minute

// sign checks how callbacks are signed. Whoever wants none has to say so.
func (c *check) sign(path string, k *signedKeys, publicURL string) Sign {
	ways := []string{SignBody, SignForm, SignStandard, SignEd25519, SignBasic, SignShared, SignNone}
	if k == nil {
		c.bad(path, "is missing; say how a callback proves whose it is: how: one of %s", strings.Join(ways, ", "))
		return Sign{How: SignNone}
	}
	s := Sign{
		How: c.oneOf(path+".how", k.How, ways...), Header: k.Header, Part: k.Part, TimePart: k.TimePart,
		TimeIn: k.TimeIn, Prefix: k.Prefix, Query: k.Query, User: k.User, Within: usualWindow,
	}
	if k.Within != "" {
		s.Within = c.window(path+".within", k.Within)
	}
	c.signKeys(path, k)
	switch k.How {
	case SignBody:
		c.hmac(path, k, &s, "sha256", "hex")
	case SignForm:
		c.hmac(path, k, &s, "sha1", "base64")
		if publicURL == "" {
			c.bad(path+".how", "hmac_url_form signs the address, so public_url: must say how the gateway knows it, like https://tubs.fernhollow.example")
		}
	case SignEd25519:
		s.Keys = c.publicKeys(path+".public_key", k.PublicKey)
		c.signature(path, k, &s)
	case SignStandard, SignBasic, SignShared:
		s.Secrets = c.secrets(path+".secret", k.Secret)
	}
	c.credentials(path, k)
	return s
}

// credentials checks what stands beside a secret that comes along.
func (c *check) credentials(path string, k *signedKeys) {
	switch {
	case k.How == SignBasic && k.User == "":
		c.bad(path+".user", "is missing; write the user that the gateway gives")
	case k.How == SignShared && (k.Header == "") == (k.Query == ""):
		c.bad(path, "needs header: or query: for where the secret stands, one of them")
	case k.How == SignShared && k.Header != "":
		c.header(path+".header", k.Header)
	}
}

func (c *check) window(path, text string) time.Duration {
	d, err := time.ParseDuration(text)
	if err != nil || d < 10*time.Second || d > time.Hour {
		c.bad(path, "%q is no time from 10s to 1h; write one like 5m", text)
	}
	return d
}

func (c *check) hmac(path string, k *signedKeys, s *Sign, hash, written string) {
	s.Secrets = c.secrets(path+".secret", k.Secret)
	s.Hash = hash
	if k.Hash != "" {
		s.Hash = c.oneOf(path+".hash", k.Hash, "sha1", "sha256", "sha512")
	}
	s.Base64 = written == "base64"
	c.signature(path, k, s)
}

// signature checks where a signature stands and how it is written.
func (c *check) signature(path string, k *signedKeys, s *Sign) {
	c.header(path+".header", k.Header)
	if k.TimeIn != "" {
		c.header(path+".time_header", k.TimeIn)
	}
	if k.Written != "" {
		s.Base64 = c.oneOf(path+".written", k.Written, "hex", "base64") == "base64"
	}
	if k.TimePart != "" && k.Part == "" {
		c.bad(path+".part", "is missing; where the time is a part of the header, so is the signature: write its name, like v1")
	}
	if s.Timed() && k.How == SignBody {
		s.Between = "."
	}
	if k.Between != nil {
		s.Between = *k.Between
		if !s.Timed() {
			c.bad(path+".between", "stands between a time and the body; write time_header: or time_part: for where the time stands")
		}
	}
}

func (c *check) header(path, name string) {
	if !headerForm.MatchString(name) {
		c.bad(path, "%s; write a header's name, like X-Signature", missingOr(name, "is no name of a header"))
	}
}

// signKeys refuses keys that the way of signing has no use for: they would look as if
// they protected something.
func (c *check) signKeys(path string, k *signedKeys) {
	allowed := map[string]string{
		SignBody:     "secret header part time_part time_header between hash written prefix within",
		SignForm:     "secret header hash written prefix",
		SignEd25519:  "public_key header part time_part time_header between written prefix within",
		SignStandard: "secret within",
		SignBasic:    "secret user",
		SignShared:   "secret header query prefix",
		SignNone:     "",
	}
	may, known := allowed[k.How]
	if !known {
		return
	}
	for _, key := range []struct {
		name  string
		given bool
	}{
		{"secret", len(k.Secret) > 0}, {"public_key", len(k.PublicKey) > 0}, {"header", k.Header != ""},
		{"part", k.Part != ""}, {"time_part", k.TimePart != ""}, {"time_header", k.TimeIn != ""},
		{"between", k.Between != nil}, {"hash", k.Hash != ""}, {"written", k.Written != ""},
		{"prefix", k.Prefix != ""}, {"query", k.Query != ""}, {"user", k.User != ""}, {"within", k.Within != ""},
	} {
		if key.given && !strings.Contains(" "+may+" ", " "+key.name+" ") {
			c.bad(path+"."+key.name, "does not go with how: %s; take it out", k.How)
		}
	}
}

func (c *check) publicKeys(path string, list oneOrMore) []string {
	if len(list) == 0 {
		c.bad(path, "is missing; write the gateway's public key in base64 or hexadecimal")
	}
	for _, k := range list {
		if _, err := PublicKey(k); err != nil {
			c.bad(path, "is no Ed25519 public key; write its 32 bytes in base64 or hexadecimal, as the gateway shows them")
		}
	}
	return list
}

// PublicKey decodes an Ed25519 public key written in hexadecimal or base64, with or
// without the prefix whpk_ of Standard Webhooks.
func PublicKey(written string) (ed25519.PublicKey, error) {
	written = strings.TrimPrefix(written, "whpk_")
	if b, err := hex.DecodeString(written); err == nil && len(b) == ed25519.PublicKeySize {
		return b, nil
	}
	b, err := base64.StdEncoding.DecodeString(written)
	if err != nil {
		return nil, err
	}
	if len(b) != ed25519.PublicKeySize {
		return nil, base64.CorruptInputError(len(b))
	}
	return b, nil
}
