package sms_test

import (
	"net/http/httptest"
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/gin-gonic/gin"
	"github.com/stretchr/testify/require"
)

var numberForm = regexp.MustCompile(`^\+[1-9][0-9]{1,14}$`)

// Whatever is posted: no panic, no 5xx, an acknowledged text is one event however often
// it comes, a refused one is none, and what becomes an event is well formed.
func FuzzInbound(f *testing.F) {
	for _, body := range []string{
		"from=%2B15415550142&to=%2B15415550100&body=done&id=1",
		"from=%2B15415550142&to=%2B15415550100&body=%F0%9F%91%8D",
		"from=911&to=%2B15415550100&body=hi&id=1",
		"from=%2B15415550142&to=%2B15415550100&body=%00%ff%c3&id=%00",
		"from=a&from=b", "%zz", "a;b", "",
		"from=%2B15415550142&to=%2B15415550100&id=2&body=" + strings.Repeat("a", 2000),
	} {
		f.Add(formType, body)
	}
	f.Add("application/json", "{}")
	f.Fuzz(func(t *testing.T, kind, body string) {
		b := setupQuiet(t)
		router := gin.New()
		b.inbound(t, demo).Mount(router)
		var statuses [3]int
		for i := range statuses {
			req := httptest.NewRequest("POST", "/in/sms/plain", strings.NewReader(body))
			req.Header.Set("Content-Type", kind)
			resp := httptest.NewRecorder()
			router.ServeHTTP(resp, req)
			statuses[i] = resp.Code
		}
		require.Less(t, statuses[0], 500)
		require.Equal(t, [3]int{statuses[0], statuses[0], statuses[0]}, statuses, "repeating changes no answer")
		if statuses[0] != 204 {
			require.Empty(t, b.events)
			return
		}
		require.Len(t, b.events, 1)
		ev := b.events[0]
		require.Regexp(t, numberForm, ev.From)
		require.Regexp(t, `^sms:plain:[!-~]+$`, ev.ID)
		require.True(t, utf8.ValidString(ev.Text))
		require.LessOrEqual(t, utf8.RuneCountInString(ev.Text), 1600)
		require.NotContains(t, ev.Text, "\x00")
	})
}
