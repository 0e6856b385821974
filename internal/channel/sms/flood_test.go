package sms_test

import (
	"fmt"
	"net/url"
	"strconv"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

func TestAFloodFromOneNumber(t *testing.T) {
	b := setup(t)
	var all sync.WaitGroup
	for w := range 8 {
		all.Go(func() {
			for i := range 1250 {
				b.text(t, fmt.Sprint(w, "-", i), "hello?")
				if w == 0 && i%125 == 0 {
					b.clock.Jump(6 * time.Second) // ten of these: the flood lasts a minute
				}
			}
		})
	}
	all.Wait()
	require.Equal(t, 10000, b.answers[204]+b.answers[429], "each is either taken or told to wait: %v", b.answers)
	require.Equal(t, b.answers[204], len(b.events), "what was acknowledged was handled")
	require.GreaterOrEqual(t, b.answers[204], 40, "a burst of a quick hand goes through")
	require.LessOrEqual(t, b.answers[204], 40+60, "and then one a second")

	b.clock.Jump(time.Minute)
	require.Equal(t, 204, b.text(t, "after", "sorry, phone in pocket"), "a minute later all is well")
}

func TestOthersDoNotWaitInAFlood(t *testing.T) {
	b := setup(t)
	for i := range 60 {
		b.text(t, strconv.Itoa(i), "hello?")
	}
	require.Equal(t, 20, b.answers[429])
	form := url.Values{"from": {"+15415550143"}, "to": {line}, "body": {"hi"}, "id": {"x"}}
	resp, _ := b.post(t, "/in/sms/plain", formType, form.Encode())
	require.Equal(t, 204, resp.StatusCode)
}

func TestRetryAfterIsWhenThereIsRoom(t *testing.T) {
	b := setup(t)
	for i := range 40 {
		require.Equal(t, 204, b.text(t, strconv.Itoa(i), "hello?"))
	}
	form := url.Values{"from": {owner}, "to": {line}, "body": {"hi"}, "id": {"x"}}
	resp, said := b.post(t, "/in/sms/plain", formType, form.Encode())
	require.Equal(t, 429, resp.StatusCode)
	require.Contains(t, said, "too many texts")
	after, err := strconv.Atoi(resp.Header.Get("Retry-After"))
	require.NoError(t, err)
	b.clock.Jump(time.Duration(after) * time.Second)
	require.Equal(t, 204, b.text(t, "x", "hi"))
}

func TestAnEmergencyPassesAFlood(t *testing.T) {
	b := setup(t)
	for i := range 100 {
		b.text(t, strconv.Itoa(i), "hello?")
	}
	require.Equal(t, 60, b.answers[429])
	require.Equal(t, 204, b.text(t, "911", "help she cannot breathe"))
	require.Equal(t, "help she cannot breathe", b.events[40].Text)
}
