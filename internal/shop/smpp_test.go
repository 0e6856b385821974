package shop_test

import (
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/shop"
)

func center(t *testing.T) string {
	t.Helper()
	src, err := os.ReadFile("../../testdata/shops/center.yaml")
	require.NoError(t, err)
	return string(src)
}

func TestAMessageCenterIsDescribed(t *testing.T) {
	f, err := shop.Load("center.yaml", []byte(center(t)))
	require.NoError(t, err)
	g, ok := f.Gateway("center")
	require.True(t, ok)
	require.Equal(t, shop.Gateway{Name: "center", Kind: shop.MessageCenter, SMPP: &shop.SMPP{
		Address: "smpp.center.example:3550", SystemID: "cornertubs", Password: "$CENTER_PASSWORD", TLS: true, Alphabet: "gsm7",
		LongTexts: "udh", PerSecond: 5, Window: 10, Validity: 24 * time.Hour, Receipts: true,
	}}, g)
}

func TestWhatAMessageCenterNeedNotSay(t *testing.T) {
	short := "kind: smpp, address: \"10.0.0.7:2775\", system_id: tubs, password: \"@/etc/tubhand/center\", receipts: false"
	f, err := shop.Load("small.yaml", []byte(strings.Replace(small, `kind: plain, send_to: "https://gateway.example/out"`, short, 1)))
	require.NoError(t, err)
	require.Equal(t, &shop.SMPP{Address: "10.0.0.7:2775", SystemID: "tubs", Password: "@/etc/tubhand/center",
		Alphabet: "gsm7", LongTexts: "udh", PerSecond: 10, Window: 10}, f.Gateways[0].SMPP)
	require.Nil(t, f.Gateways[0].Web)
}

func TestWhatIsWrongWithAMessageCenter(t *testing.T) {
	for _, c := range []struct{ from, to, want string }{
		{"smpp.center.example:3550", "smpp.center.example", "center.address: is no host with a port; write host and port"},
		{"smpp.center.example:3550", "https://center.example:99999", "center.address: is no host with a port"},
		{"    address: smpp.center.example:3550\n", "", "center.address: is missing"},
		{"system_id: cornertubs", "system_id: cornertubsofboise", "center.system_id: has 17 characters, and the protocol takes 15"},
		{"    system_id: cornertubs\n", "", "center.system_id: is missing; write the one that the center gave you"},
		{"system_id: cornertubs", "system_id: cornér", "center.system_id: has a character outside ASCII"},
		{"$CENTER_PASSWORD", "hunter2", "center.password: is no reference to a secret; write $NAME"},
		{"    password: $CENTER_PASSWORD\n", "", "center.password: is missing"},
		{"default_alphabet: gsm7", "default_alphabet: ascii", "center.default_alphabet: is not known; write one of: gsm7, latin1"},
		{"long_texts: udh", "long_texts: cut", "center.long_texts: is not known; write one of: udh, udh16, sar, payload"},
		{"messages_per_second: 5", "messages_per_second: 0", "center.messages_per_second: 0 is out of range"},
		{"window: 10", "window: 0", "center.window: 0 is out of range"},
		{"validity: 24h", "validity: a day", `center.validity: "a day" is no time from 1m to 168h`},
		{"tls: true", "tls: true\n    tls_roots: center.pem", "center.tls_roots: \"center.pem\" is no whole path"},
		{"tls: true", "tls_roots: /etc/center.pem", "center.tls_roots: goes with tls: true"},
		{"kind: smpp", "kind: smpp\n    send_to: https://a.example/", "center.kind: smpp goes with address"},
		{"kind: smpp", "kind: plain\n    send_to: https://a.example/", "center.kind: goes with none of address"},
		{"kind: smpp", "kind: smpp\n    color: red", `unknown field "color"`},
	} {
		broken := strings.Replace(center(t), c.from, c.to, 1)
		require.NotEqual(t, center(t), broken, c.from)
		_, err := shop.Load("c.yaml", []byte(broken))
		require.ErrorContains(t, err, c.want)
		require.Regexp(t, `(?m)^c\.yaml:\d+:\d+: `, err.Error())
		require.NotContains(t, err.Error(), "hunter2", "a secret is not shown around")
	}
}
