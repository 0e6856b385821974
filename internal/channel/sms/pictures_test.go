package sms_test

import (
	"log/slog"
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/gin-gonic/gin"
	"github.com/stretchr/testify/require"

	"tubhand/internal/channel/sms"
	"tubhand/internal/shop"
)

// Where pictures are fetched, staff are told of each what became of it; nothing else of
// the text changes, and an emergency waits for none.
func TestStaffAreToldWhatBecameOfPictures(t *testing.T) {
	gin.SetMode(gin.ReleaseMode)
	f := reedline(t, "how: hmac_body", "how: none", "      secret: $REEDLINE_SIGNING_SECRET\n", "",
		"      header: X-Reedline-Signature\n      part: v1\n      time_part: t\n      hash: sha256\n      written: hex\n      within: 5m\n", "",
		"fetch: false", "fetch: true")
	b := setupQuiet(t)
	in, err := sms.New(sms.Config{Shops: []*shop.File{f}, Vault: vault, Turns: b.desk, Reports: b.desk, Receipts: papers{}, Folder: t.TempDir(),
		Clock: b.clock, Log: slog.New(slog.DiscardHandler), Urgent: func(s string) bool { return s == "help" }})
	require.NoError(t, err)
	router := gin.New()
	in.Mount(router)
	post := func(id, words string) {
		body := `{"messages":[{"type":"text","id":"` + id + `","sender":{"number":"15415550142"},"line":"5415550121","content":{"words":"` + words + `","files":[
			{"link":"https://elsewhere.example/1","media_type":"image/png"},{"link":"http://files.reedline.example/1"},{"link":"https://169.254.169.254/"}]}}]}`
		r := httptest.NewRequest("POST", "/in/sms/reedline", strings.NewReader(body))
		r.Header.Set("Content-Type", "application/json")
		w := httptest.NewRecorder()
		router.ServeHTTP(w, r)
		require.Equal(t, 200, w.Code, w.Body.String())
	}
	post("1", "look")
	require.Equal(t, "look", b.events[0].Text)
	require.Equal(t, "came with it: a picture (image/png), not fetched: its host is not among those that the shop file names; "+
		"a file, not fetched: its address is not one of https; a file, not fetched: its host is not among those that the shop file names", b.events[0].Remark)
	post("2", "help")
	require.Equal(t, "came with it: a picture (image/png), a file, a file", b.events[1].Remark)
}
