package email_test

import (
	"bytes"
	"errors"
	"io/fs"
	"net/http"
	"net/http/httptest"
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/channel/email"
	"tubhand/internal/conversation"
	"tubhand/templates"
)

func pagesOf(t *testing.T) fs.FS {
	t.Helper()
	return templates.Mail
}

func request(k *kit, method, path string, body []byte) *httptest.ResponseRecorder {
	w := httptest.NewRecorder()
	k.router().ServeHTTP(w, httptest.NewRequestWithContext(k.t.Context(), method, path, bytes.NewReader(body)))
	return w
}

func TestPostedMail(t *testing.T) {
	open := func(b *email.Box) {
		b.Hook = func(p *email.Posted) error {
			if bytes.Contains(p.Body, []byte("bad signature")) {
				return errors.New("it does not fit")
			}
			return nil
		}
		b.Mail.Trust = trusted("192.0.2.0/24")
	}
	k := newKit(t, open)
	raw := compose("flush my pipes", "Authentication-Results: mx.fernhollow.example; dmarc=pass header.from=owner.example")
	require.Equal(t, http.StatusNoContent, request(k, http.MethodPost, "/in/mail/fernhollow", raw).Code)
	require.Len(t, texts(k.transcript(anna), conversation.In), 1)
	require.Equal(t, http.StatusUnauthorized, request(k, http.MethodPost, "/in/mail/fernhollow", compose("bad signature")).Code)
	require.Equal(t, http.StatusNotFound, request(k, http.MethodPost, "/in/mail/nobody", raw).Code)
	require.Equal(t, http.StatusUnprocessableEntity, request(k, http.MethodPost, "/in/mail/fernhollow", []byte("no message")).Code)
	k.turns.err = errors.New("disk full")
	w := request(k, http.MethodPost, "/in/mail/fernhollow", compose("again", "Message-ID: <2@owner.example>", "Authentication-Results: mx.fernhollow.example; dmarc=pass header.from=owner.example"))
	require.Equal(t, http.StatusServiceUnavailable, w.Code)
	require.NotEmpty(t, w.Header().Get("Retry-After"))

	closed := newKit(t)
	require.Equal(t, http.StatusNotFound, request(closed, http.MethodPost, "/in/mail/fernhollow", raw).Code, "no callbacks in the shop file")
}

// RFC 8058: a POST unsubscribes at once, a GET never does.
func TestOneClick(t *testing.T) {
	k := newKit(t)
	require.NoError(t, bring(t, k.serve(), k.sign(compose("hello"))))
	path := "/out/mail/fernhollow/" + k.box.Key.Leave("fernhollow", anna)
	state := func() conversation.Conversation {
		c, err := k.store.Load(t.Context(), "fernhollow", anna)
		require.NoError(t, err)
		return c
	}
	w := request(k, http.MethodGet, path, nil)
	require.Equal(t, http.StatusOK, w.Code)
	require.Contains(t, w.Body.String(), `<form method="post">`)
	require.False(t, state().OptedOut, "programs that look through mail open links")

	require.Equal(t, http.StatusNotFound, request(k, http.MethodPost, path+"x", nil).Code)
	require.Equal(t, http.StatusNotFound, request(k, http.MethodPost, "/out/mail/else/"+k.box.Key.Leave("else", anna), nil).Code)
	k.turns.err = errors.New("disk full")
	require.Equal(t, http.StatusServiceUnavailable, request(k, http.MethodPost, path, []byte("List-Unsubscribe=One-Click")).Code)
	k.turns.err = nil
	w = request(k, http.MethodPost, path, []byte("List-Unsubscribe=One-Click"))
	require.Equal(t, http.StatusOK, w.Code)
	require.Empty(t, w.Header().Get("Location"))
	require.True(t, state().OptedOut)
	said := texts(k.transcript(anna), conversation.Out)
	require.Contains(t, said[len(said)-1], "START", "the one confirmation says how to come back")
	require.Equal(t, http.StatusOK, request(k, http.MethodPost, path, nil).Code, "again is as good")
}
