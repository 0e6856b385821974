package sms_test

import (
	"errors"
	"io"
	"log/slog"
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/channel/sms"
	"tubhand/internal/clock"
	"tubhand/internal/conversation"
	"tubhand/internal/shop"
)

// linked is the inbound side of a shop whose gateway is a message center.
func linked(t *testing.T, d *desk) *sms.Inbound {
	t.Helper()
	src, err := os.ReadFile("../../../testdata/shops/center.yaml")
	require.NoError(t, err)
	f, err := shop.Load("center.yaml", src)
	require.NoError(t, err)
	in, err := sms.New(sms.Config{Shops: []*shop.File{f, demo}, Turns: d, Reports: d, Clock: clock.NewStill(noon),
		Log:    slog.New(slog.NewTextHandler(io.Discard, nil)),
		Urgent: func(text string) bool { return text == "my eyes burn" }})
	require.NoError(t, err)
	return in
}

func TestATextOverALinkIsLikeACallbacks(t *testing.T) {
	d := &desk{marks: map[string]bool{}}
	in := linked(t, d)
	text := sms.Text{From: owner, To: "+15415550121", Body: " done\x00 ", ID: "t1"}
	require.NoError(t, in.Take(t.Context(), "center", text))
	require.NoError(t, in.Take(t.Context(), "center", text), "the same again")
	require.Equal(t, []conversation.Event{{ID: "sms:center:t1", Kind: conversation.TextIn, From: owner, To: "+15415550121",
		Gateway: "center", Text: "done", TimeZone: "America/Los_Angeles", Region: "US"}}, d.events)
	for _, c := range []struct {
		from, to string
		want     error
	}{
		{owner, "+15415550100", sms.ErrNoLine}, {owner, "", sms.ErrNoLine}, {owner, "x", sms.ErrNoLine},
		{"", "+15415550121", sms.ErrNoSender}, {"72345", "+15415550121", sms.ErrNoSender}, {"+15415550121", "+15415550121", sms.ErrNoSender},
	} {
		require.ErrorIs(t, in.Take(t.Context(), "center", sms.Text{From: c.from, To: c.to, ID: "t2"}), c.want, "%q %q", c.from, c.to)
	}
	require.ErrorIs(t, in.Take(t.Context(), "plain", text), sms.ErrNoLine, "that one comes by HTTP")
	require.NoError(t, in.Take(t.Context(), "center", sms.Text{From: "541-555-0142", To: "5415550121", Body: "hi", ID: "t3"}), "however numbers are written")
	require.Equal(t, owner, d.events[1].From)
}

func TestATextOverALinkIsPutOff(t *testing.T) {
	d := &desk{marks: map[string]bool{}, down: errors.New("the disk is full")}
	in := linked(t, d)
	err := in.Take(t.Context(), "center", sms.Text{From: owner, To: "+15415550121", Body: "hi", ID: "t0"})
	require.Error(t, err)
	require.NotErrorIs(t, err, sms.ErrNoSender)
	d.down = nil
	for n := range 50 {
		err = in.Take(t.Context(), "center", sms.Text{From: owner, To: "+15415550121", Body: "hi", ID: time.Duration(n).String()})
	}
	require.Error(t, err, "faster than a hand")
	require.NotErrorIs(t, err, sms.ErrNoSender, "that passes")
	require.NoError(t, in.Take(t.Context(), "center", sms.Text{From: owner, To: "+15415550121", Body: "my eyes burn", ID: "e"}))
}

func TestWhoseLineItIs(t *testing.T) {
	in := linked(t, &desk{})
	for to, want := range map[string]string{"+15415550121": "corner", "15415550121": "corner", "+15415550100": "", "": ""} {
		shop, ok := in.Shop("center", to)
		require.Equal(t, want, shop, to)
		require.Equal(t, want != "", ok, to)
	}
	_, ok := in.Shop("plain", "+15415550100")
	require.False(t, ok)
}
