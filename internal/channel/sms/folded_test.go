package sms_test

import (
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/clock"
	"tubhand/internal/conversation"
)

func TestTypographyGoesOutPlain(t *testing.T) {
	got := map[string]string{}
	srv := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if json.NewDecoder(r.Body).Decode(&got) != nil {
			w.WriteHeader(400)
		}
	}))
	defer srv.Close()
	for text, want := range map[string]string{
		"It’s fine – add ½ cup…": "It's fine - add 1/2 cup...",
		"Está “bien” 👍":          "Está “bien” 👍", // stays UCS-2 anyway, so nothing is touched
	} {
		l := conversation.Line{ID: owner + ".8", From: line, To: owner, Text: text}
		require.Equal(t, "sent", plainTo(t, srv.URL, clock.NewStill(noon)).Send(t.Context(), "fernhollow", l).Kind)
		require.Equal(t, want, got["body"])
	}
}
