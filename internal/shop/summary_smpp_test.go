package shop_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/shop"
)

func TestASummaryTellsOfAMessageCenter(t *testing.T) {
	with := func(password string, changes ...string) shop.Summary {
		f, err := shop.Load("center.yaml", []byte(strings.NewReplacer(changes...).Replace(center(t))))
		require.NoError(t, err)
		return f.Summary(shop.Vault{Env: func(string) string { return password }})
	}
	s := with("secret08")
	require.Empty(t, s.Warnings)
	require.Contains(t, s.Understood, shop.Section{About: "gateway center (smpp), which carries what the shop says", Says: []string{
		"we bind as cornertubs to smpp.center.example:3550 over TLS, a transceiver; the center opens no connection to us",
		"data_coding 0 is the GSM 7-bit alphabet; long texts go out cut, each part with a header",
		"at most 5 messages a second, 10 without an answer",
		"delivery receipts are asked for, and the center tries for 24h0m0s",
	}})
	require.Equal(t, []string{
		"gateway center: the password and every text go to smpp.center.example in clear: write tls: true where the center takes it, or go through a tunnel",
		"gateway center: it reports nothing: a message that it took and lost goes unnoticed",
		"gateway center: in $CENTER_PASSWORD there are 9 characters, and the protocol takes 8",
	}, with("secret080", "tls: true", "tls: false", "receipts: true", "receipts: false").Warnings)
	require.Equal(t, []string{"gateway center: not there for whoever runs this: secret: there is nothing in $CENTER_PASSWORD"},
		with("", "tls: true", "tls: false", "smpp.center.example:3550", "10.0.0.7:2775").Warnings)
}
