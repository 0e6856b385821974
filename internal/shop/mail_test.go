package shop_test

import (
	"crypto/ecdsa"
	"crypto/ed25519"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/rsa"
	"crypto/x509"
	"encoding/pem"
	"errors"
	"net/netip"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/shop"
)

// withMail is the demo shop's file with a mailbox.
func withMail(t *testing.T, mail string) string {
	t.Helper()
	src, err := os.ReadFile("demo.yaml")
	require.NoError(t, err)
	return string(src) + "\nmail:\n" + mail
}

const goodMail = `  address: Hello@Fernhollow.example
  key: $MAIL_KEY
  relay: {host: smtp.relay.example, user: fernhollow, password: "@/run/relay"}
  dkim:
    - {selector: tub1, key: "@/run/dkim"}
  callbacks: {how: standard_webhooks, secret: $HOOK}
  trust: {id: mx.fernhollow.example, from: [192.0.2.25, 198.51.100.0/24]}
  public_url: https://tubs.fernhollow.example/
  postal: 1 Mill Road, Fernhollow
`

func TestAMailboxIsRead(t *testing.T) {
	f, err := shop.Load("shop.yaml", []byte(strings.Replace(withMail(t, goodMail), `page: "+15415550112"`, `page: luis@fernhollow.example`, 1)))
	require.NoError(t, err)
	m := f.Mail
	require.Equal(t, "Hello@fernhollow.example", m.Address)
	require.Equal(t, m.Address, f.Shop.Mail)
	require.Equal(t, shop.Relay{Host: "smtp.relay.example", Port: 587, TLS: shop.TLSStart, User: "fernhollow", Password: "@/run/relay"}, m.Relay)
	require.Equal(t, []shop.DKIM{{Selector: "tub1", Domain: "fernhollow.example", Key: "@/run/dkim"}}, m.DKIM)
	require.Equal(t, shop.SignStandard, m.Sign.How)
	require.Equal(t, []netip.Prefix{netip.MustParsePrefix("192.0.2.25/32"), netip.MustParsePrefix("198.51.100.0/24")}, m.Trust.From)
	require.Equal(t, "https://tubs.fernhollow.example", m.Public)
	require.Equal(t, "luis@fernhollow.example", f.Shop.OnCall[1].Address)

	sum := f.Summary(shop.Vault{Env: func(string) string { return "too short" }, File: func(string) ([]byte, error) { return nil, errors.New("gone") }})
	require.Contains(t, strings.Join(sum.Warnings, "\n"), "shorter than 16")
	require.Contains(t, strings.Join(sum.Warnings, "\n"), "mail: dkim: tub1: secret: gone")
	require.Nil(t, shop.Demo().Mail)
}

func TestWhatIsWrongWithAMailbox(t *testing.T) {
	for change, want := range map[string]string{
		"Hello@Fernhollow.example|hello":                                 "mail.address: not an e-mail address; write it bare",
		"Hello@Fernhollow.example|hi+x@fernhollow.example":               "mail.address: has a + in it",
		"$MAIL_KEY|secret in the open":                                   "mail.key: is no reference to a secret",
		"host: smtp.relay.example|host: smtp.relay.example, tls: none":   "mail.relay.tls: none is for a relay on this machine",
		"host: smtp.relay.example|host: smtp.relay.example, port: 70000": "mail.relay.port: 70000 is no port",
		"host: smtp.relay.example, |":                                    "mail.relay.host: is missing",
		"user: fernhollow, |":                                            "mail.relay.user: is missing",
		"selector: tub1|selector: \"tub 1\"":                             "mail.dkim[0].selector: is no selector",
		"selector: tub1|selector: tub1, domain: else.example":            "mail.dkim[0].domain: \"else.example\" is not the address's",
		"198.51.100.0/24|everywhere":                                     "mail.trust.from: \"everywhere\" is no address or network",
		"public_url: https|public_url: http":                             "mail.public_url: must begin with https://",
		"how: standard_webhooks|how: wishful":                            "mail.callbacks.how",
		"  postal: 1 Mill Road, Fernhollow|  flags: 3":                   "unknown field",
	} {
		old, now, _ := strings.Cut(change, "|")
		require.Contains(t, goodMail, old)
		_, err := shop.Load("shop.yaml", []byte(withMail(t, strings.Replace(goodMail, old, now, 1))))
		require.ErrorContains(t, err, want, change)
	}
	src, err := os.ReadFile("demo.yaml")
	require.NoError(t, err)
	_, err = shop.Load("shop.yaml", []byte(strings.Replace(string(src), `page: "+15415550112"`, `page: luis@fernhollow.example`, 1)))
	require.ErrorContains(t, err, "the shop has no mailbox to write from")
}

func TestKeysForSigning(t *testing.T) {
	inPEM := func(key any) []byte {
		der, err := x509.MarshalPKCS8PrivateKey(key)
		require.NoError(t, err)
		return pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: der})
	}
	_, ed, err := ed25519.GenerateKey(nil)
	require.NoError(t, err)
	long, err := rsa.GenerateKey(rand.Reader, 2048)
	require.NoError(t, err)
	curve, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	require.NoError(t, err)
	for _, good := range [][]byte{inPEM(ed), inPEM(long), pem.EncodeToMemory(&pem.Block{Type: "RSA PRIVATE KEY", Bytes: x509.MarshalPKCS1PrivateKey(long)})} {
		_, err := shop.PrivateKey(good)
		require.NoError(t, err)
	}
	for _, bad := range [][]byte{nil, []byte("key"), inPEM(curve), pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: []byte{1}})} {
		_, err := shop.PrivateKey(bad)
		require.Error(t, err)
	}
}
