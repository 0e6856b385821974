package sms_test

import (
	"context"
	"log/slog"
	"net/http/httptest"
	"strconv"
	"strings"
	"testing"

	"github.com/gin-gonic/gin"
	"github.com/stretchr/testify/require"

	"tubhand/internal/channel/sms"
	"tubhand/internal/clock"
	"tubhand/internal/conversation"
	"tubhand/internal/shop"
)

type idle struct{}

func (idle) Handle(context.Context, string, conversation.Event) error { return nil }

func (idle) Delivered(context.Context, string, string, string) error { return nil }

// BenchmarkPlainInbound is what the channel itself costs for a text by the plain gateway:
// everything from the router to the event and its answer, without the turn.
func BenchmarkPlainInbound(b *testing.B) {
	gin.SetMode(gin.ReleaseMode)
	in, err := sms.New(sms.Config{
		Shops: []*shop.File{demo}, Turns: idle{}, Reports: idle{}, Clock: clock.System(), Log: slog.New(slog.DiscardHandler),
		Urgent: func(string) bool { return true },
	})
	require.NoError(b, err)
	router := gin.New()
	in.Mount(router)
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		body := "from=%2B1541555" + strconv.Itoa(1000+i%9000) + "&to=%2B15415550100&body=pH+7.4%2C+chlorine+3&id=m" + strconv.Itoa(i)
		req := httptest.NewRequest("POST", "/in/sms/plain", strings.NewReader(body))
		req.Header.Set("Content-Type", formType)
		resp := httptest.NewRecorder()
		router.ServeHTTP(resp, req)
		if resp.Code != 204 {
			b.Fatal(resp.Code, resp.Body.String())
		}
	}
}
