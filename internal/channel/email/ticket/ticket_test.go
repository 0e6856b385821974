package ticket_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/channel/email/ticket"
)

const shop, anna, ben = "fernhollow", "anna@owner.example", "ben@owner.example"

var now = time.Date(2026, 6, 13, 16, 0, 0, 0, time.UTC)

func TestAReplyProvesWhoReadTheMessage(t *testing.T) {
	k, other := ticket.Key("0123456789abcdef"), ticket.Key("another key of the kind")
	detail := k.Reply(shop, anna, now)
	require.LessOrEqual(t, len("hello+"+detail), 64, "RFC 5321, 4.5.3.1.1")
	require.True(t, k.Replied(detail, shop, anna, now))
	require.True(t, k.Replied(strings.ToUpper(detail), shop, anna, now), "relays may change the case")
	require.True(t, k.Replied(detail, shop, anna, now.Add(29*24*time.Hour)))
	require.False(t, k.Replied(detail, shop, anna, now.Add(32*24*time.Hour)))
	require.False(t, k.Replied(detail, shop, ben, now))
	require.False(t, k.Replied(detail, "else", anna, now))
	require.False(t, other.Replied(detail, shop, anna, now))
	for i := range detail {
		changed := []byte(detail)
		changed[i] ^= 1
		require.False(t, k.Replied(string(changed), shop, anna, now), "changed at %d", i)
	}
	for _, bad := range []string{"", "r", "rzz", "b" + detail[1:], detail + "a"} {
		require.False(t, k.Replied(bad, shop, anna, now), bad)
	}
	require.False(t, ticket.Key(nil).Replied(ticket.Key(nil).Reply(shop, anna, now), shop, anna, now), "no key proves nothing")
}

func TestMessagesHaveNames(t *testing.T) {
	k := ticket.Key("0123456789abcdef")
	require.Equal(t, k.MessageID(shop, "a.1", "shop.example"), k.MessageID(shop, "a.1", "shop.example"))
	require.NotEqual(t, k.MessageID(shop, "a.1", "shop.example"), k.MessageID(shop, "a.2", "shop.example"))
	require.NotEqual(t, k.Envelope("ab", "c"), k.Envelope("a", "bc"), "parts are kept apart")
	require.Equal(t, "b"+k.Envelope(shop, "a.1"), k.Bounce(shop, "a.1"))
	require.NotEqual(t, k.Loop("a"), k.Loop("b"))
	require.LessOrEqual(t, len(k.Boundary(shop, "a.1", "mixed")), 70, "RFC 2046, 5.1.1")
}

func TestLeavingLinks(t *testing.T) {
	k := ticket.Key("0123456789abcdef")
	token := k.Leave(shop, anna)
	address, ok := k.Left(token, shop)
	require.True(t, ok)
	require.Equal(t, anna, address)
	for _, bad := range []string{"", "AAAA", token[:len(token)-1], token[1:], "!" + token[1:], ticket.Key("other").Leave(shop, anna)} {
		_, ok := k.Left(bad, shop)
		require.False(t, ok, bad)
	}
	_, ok = k.Left(token, "else")
	require.False(t, ok)
}
