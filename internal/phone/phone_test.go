package phone_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/phone"
)

func TestParseGivesTheStoredForm(t *testing.T) {
	for _, c := range []struct{ written, region, want, country string }{
		{"+15415550142", "US", "+15415550142", "US"},
		{"+15415550142", "", "+15415550142", "US"},
		{"15415550142", "GB", "+15415550142", "US"}, // a gateway that leaves the plus out
		{" 15415550142", "GB", "+15415550142", "US"},
		{"(541) 555-0142", "US", "+15415550142", "US"},
		{"541.555.0142", "US", "+15415550142", "US"},
		{"+1 604 555 0142", "US", "+16045550142", "CA"},
		{"+44 20 7946 0123", "US", "+442079460123", "GB"}, // Ofcom's range for drama
		{"020 7946 0123", "GB", "+442079460123", "GB"},
		{"+525555550142", "US", "+525555550142", "MX"},
	} {
		n, err := phone.Parse(c.written, c.region)
		require.NoError(t, err, c.written)
		require.Equal(t, c.want, n.E164, c.written)
		require.Equal(t, c.country, n.Region, c.written)
	}
}

func TestParseRefuses(t *testing.T) {
	for _, c := range []struct {
		written string
		why     error
	}{
		{"", phone.ErrEmpty},
		{" \t", phone.ErrEmpty},
		{"unknown", phone.ErrUnread},
		{"1-800-FLOWERS", phone.ErrUnread},
		{"+1541555014\x002", phone.ErrUnread},
		{"٥٤١٥٥٥٠١٤٢", phone.ErrUnread},
		{strings.Repeat("1", 41), phone.ErrUnread},
		{"+", phone.ErrUnread},
		{"72345", phone.ErrShort},
		{"911", phone.ErrShort},
		{"0044 7700 900123", phone.ErrInvalid},
		{"+1202555014399", phone.ErrInvalid},
		{"+15415550142;ext=5", phone.ErrUnread},
		{"+999123456789", phone.ErrUnread},
	} {
		n, err := phone.Parse(c.written, "US")
		require.ErrorIs(t, err, c.why, "%q gave %v", c.written, n)
	}
}

func TestZone(t *testing.T) {
	const shop = "America/Los_Angeles"
	for _, c := range []struct{ number, want, why string }{
		{"+15415550142", shop, "one zone, the shop's"},
		{"+12125550142", "America/New_York", "one zone, another"},
		{"+18005550142", shop, "toll-free says nothing"},
		{"+16055550142", "America/Denver", "several zones, not the shop's: the first"},
		{"+12085550142", shop, "several zones, one of them the shop's though not the first"},
	} {
		n, err := phone.Parse(c.number, "US")
		require.NoError(t, err, c.number)
		require.Equal(t, c.want, n.Zone(shop), c.why)
	}
}

func TestShortCannotBeCalled(t *testing.T) {
	require.Equal(t, "+1541555…42", phone.Short("+15415550142"))
	require.Equal(t, "…", phone.Short("72345"))
	require.Equal(t, "…", phone.Short(""))
	require.Equal(t, "a…@owner.example", phone.Short("anna.reed@owner.example"))
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"+15415550142", "911", "(541) 555-0142", "+44 20 7946 0123", "00", "+", "((((("} {
		f.Add(s, "US")
	}
	f.Fuzz(func(t *testing.T, written, region string) {
		n, err := phone.Parse(written, region)
		if err != nil {
			return
		}
		again, err := phone.Parse(n.E164, "")
		require.NoError(t, err, "what was stored can be read back")
		require.Equal(t, n, again)
		require.Regexp(t, `^\+[1-9][0-9]{1,14}$`, n.E164)
	})
}
