package sms_test

import (
	"errors"
	"net/url"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestDeliveryReports(t *testing.T) {
	const key = "fernhollow/+15415550142.3"
	for status, want := range map[string]string{
		"accepted": "sent", "sent": "sent", "Delivered": "delivered", "delivered ": "delivered",
		"undelivered": "failed", "FAILED": "failed", "expired": "failed", "rejected": "failed",
	} {
		b := setup(t)
		b.states[key] = "queued"
		resp, said := b.post(t, "/in/status/plain", formType, url.Values{"key": {key}, "status": {status}}.Encode())
		require.Equal(t, 204, resp.StatusCode, said)
		require.Equal(t, want, b.states[key], status)
	}
}

func TestDeliveryReportsThatAreRefused(t *testing.T) {
	for _, c := range []struct {
		path, key, status string
		want              int
		reason            string
	}{
		{"/in/status/plain", "", "sent", 400, "key: is missing"},
		{"/in/status/plain", "fernhollow", "sent", 400, "key: is missing or not one of ours"},
		{"/in/status/plain", "fernhollow/", "sent", 400, "key: is missing or not one of ours"},
		{"/in/status/plain", "fernhollow/a\x00", "sent", 400, "key: is missing or not one of ours"},
		{"/in/status/plain", "fernhollow/a", "", 422, "status: not known"},
		{"/in/status/plain", "fernhollow/a", "maybe", 422, "status: not known"},
		{"/in/status/plain", "fernhollow/nowhere", "sent", 404, "key: no such message"},
		{"/in/status/plain", "other/a", "sent", 404, "key: no such message"},
		{"/in/status/other", "fernhollow/a", "sent", 404, "no such gateway"},
	} {
		b := setup(t)
		b.states["fernhollow/a"] = "queued"
		b.states["other/a"] = "queued"
		resp, said := b.post(t, c.path, formType, url.Values{"key": {c.key}, "status": {c.status}}.Encode())
		require.Equal(t, c.want, resp.StatusCode, "%q %q", c.key, c.status)
		require.Contains(t, said, c.reason)
		require.Equal(t, "queued", b.states["fernhollow/a"])
	}
}

func TestADeliveryReportIsToldToComeAgainWhenTheStoreIsDown(t *testing.T) {
	b := setup(t)
	b.down = errors.New("disk full")
	resp, _ := b.post(t, "/in/status/plain", formType, "key=fernhollow%2Fa&status=sent")
	require.Equal(t, 503, resp.StatusCode)
	require.NotEmpty(t, resp.Header.Get("Retry-After"))
	resp, _ = b.post(t, "/in/status/plain", "application/json", "{}")
	require.Equal(t, 415, resp.StatusCode)
}
