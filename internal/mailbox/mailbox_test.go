package mailbox_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/mailbox"
)

func TestAddressesInOneForm(t *testing.T) {
	for _, c := range []struct{ written, want string }{
		{"anna@owner.example", "anna@owner.example"},
		{" Anna.Reed@Owner.EXAMPLE ", "Anna.Reed@owner.example"},
		{"o'neil+tub@a-b.owner.example", "o'neil+tub@a-b.owner.example"},
	} {
		got, err := mailbox.Parse(c.written)
		require.NoError(t, err, c.written)
		require.Equal(t, c.want, got)
		again, err := mailbox.Parse(got)
		require.NoError(t, err)
		require.Equal(t, got, again)
	}
	for _, bad := range []string{
		"anna", "@owner.example", "anna@", "anna@owner", "a b@owner.example", ".a@owner.example", "a..b@owner.example",
		`"a b"@owner.example`, "anna@[192.0.2.1]", "anna@ówner.example", "anna@@owner.example", "anna@owner..example",
		"anna@-owner.example", "<anna@owner.example>", "a@b.example\r\nRCPT TO:<c@d.example>",
		strings.Repeat("a", 65) + "@owner.example", "a@" + strings.Repeat("b.", 130) + "example",
	} {
		_, err := mailbox.Parse(bad)
		require.ErrorIs(t, err, mailbox.ErrUnread, bad)
	}
	_, err := mailbox.Parse("  ")
	require.ErrorIs(t, err, mailbox.ErrEmpty)
}

func TestSubaddresses(t *testing.T) {
	base, detail := mailbox.Detail("hello+r1b2@shop.example")
	require.Equal(t, "hello@shop.example", base)
	require.Equal(t, "r1b2", detail)
	require.Equal(t, "hello+r1b2@shop.example", mailbox.WithDetail(base, detail))
	base, detail = mailbox.Detail("hello@shop.example")
	require.Equal(t, "hello@shop.example", base)
	require.Empty(t, detail)
	require.True(t, mailbox.Is(base))
	require.False(t, mailbox.Is("+15415550142"))
	require.Equal(t, "shop.example", mailbox.Of(base))
}
