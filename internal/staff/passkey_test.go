package staff_test

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/binary"
	"encoding/json"
	"testing"
	"time"

	"github.com/fxamacker/cbor/v2"
	"github.com/stretchr/testify/require"

	"tubhand/internal/clock"
	"tubhand/internal/staff"
	"tubhand/internal/store/memory"
)

// authenticator is a passkey in software, as W3C Web Authentication describes one: P-256,
// attestation "none".
type authenticator struct {
	testing.TB
	key    *ecdsa.PrivateKey
	id     []byte
	handle []byte
	count  uint32
	flags  byte   // 1: touched, 4: knows its owner
	origin string // where the browser is
	host   string
}

func newAuthenticator(t testing.TB) *authenticator {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	require.NoError(t, err)
	id := make([]byte, 16)
	_, _ = rand.Read(id)
	return &authenticator{TB: t, key: key, id: id, flags: 1 | 4, origin: "https://staff.example", host: "staff.example"}
}

func b64(b []byte) string { return base64.RawURLEncoding.EncodeToString(b) }

// options reads what the server asks for.
func (a *authenticator) options(ask staff.Ask) (o struct {
	PublicKey struct {
		Challenge        string `json:"challenge"`
		UserVerification string `json:"userVerification"`
		User             struct {
			ID string `json:"id"`
		} `json:"user"`
	} `json:"publicKey"`
}) {
	a.Helper()
	text, err := json.Marshal(ask.Options)
	require.NoError(a, err)
	require.NoError(a, json.Unmarshal(text, &o))
	require.NotEmpty(a, o.PublicKey.Challenge)
	return o
}

func (a *authenticator) client(kind, challenge string) []byte {
	text, err := json.Marshal(map[string]any{"type": kind, "challenge": challenge, "origin": a.origin, "crossOrigin": false})
	require.NoError(a, err)
	return text
}

// data is the authenticator data (section 6.1): hash of the host, flags, count.
func (a *authenticator) data(flags byte) []byte {
	host := sha256.Sum256([]byte(a.host))
	return binary.BigEndian.AppendUint32(append(host[:], flags), a.count)
}

// make answers the making of a passkey.
func (a *authenticator) make(ask staff.Ask) []byte {
	a.Helper()
	o := a.options(ask)
	var err error
	a.handle, err = base64.RawURLEncoding.DecodeString(o.PublicKey.User.ID)
	require.NoError(a, err)
	point, err := a.key.PublicKey.Bytes()
	require.NoError(a, err)
	public, err := cbor.Marshal(map[int]any{1: 2, 3: -7, -1: 1, -2: point[1:33], -3: point[33:]}) // COSE: EC2, ES256, P-256
	require.NoError(a, err)
	data := append(a.data(a.flags|0x40), make([]byte, 16)...)
	data = binary.BigEndian.AppendUint16(data, uint16(len(a.id)))
	data = append(append(data, a.id...), public...)
	object, err := cbor.Marshal(map[string]any{"fmt": "none", "attStmt": map[string]any{}, "authData": data})
	require.NoError(a, err)
	return a.answer(map[string]any{
		"clientDataJSON": b64(a.client("webauthn.create", o.PublicKey.Challenge)), "attestationObject": b64(object),
	})
}

// sign answers a sign-in.
func (a *authenticator) sign(ask staff.Ask) []byte {
	a.Helper()
	a.count++
	client := a.client("webauthn.get", a.options(ask).PublicKey.Challenge)
	data := a.data(a.flags)
	hash := sha256.Sum256(client)
	digest := sha256.Sum256(append(append([]byte{}, data...), hash[:]...))
	signature, err := ecdsa.SignASN1(rand.Reader, a.key, digest[:])
	require.NoError(a, err)
	return a.answer(map[string]any{
		"clientDataJSON": b64(client), "authenticatorData": b64(data), "signature": b64(signature), "userHandle": b64(a.handle),
	})
}

func (a *authenticator) answer(response map[string]any) []byte {
	text, err := json.Marshal(map[string]any{"id": b64(a.id), "rawId": b64(a.id), "type": "public-key", "response": response, "clientExtensionResults": map[string]any{}})
	require.NoError(a, err)
	return text
}

// withPasskey makes an account that signs in with a passkey.
func (p *place) withPasskey(key string, a *authenticator) (token string) {
	p.Helper()
	link, err := p.Add(p.Context(), "", key, "Dana Whitfield", staff.Member)
	require.NoError(p, err)
	ask, err := p.AskSetUp(p.Context(), link, "192.0.2.1")
	require.NoError(p, err)
	require.Equal(p, "", a.options(ask).PublicKey.UserVerification)
	token, err = p.SetUpWithPasskey(p.Context(), link, ask.Ticket, a.make(ask), "192.0.2.1")
	require.NoError(p, err)
	_, err = p.SetUpWithPasskey(p.Context(), link, ask.Ticket, a.make(ask), "192.0.2.1")
	require.ErrorIs(p, err, staff.ErrLink, "a link is good once")
	return token
}

func (p *place) ask() staff.Ask {
	p.Helper()
	ask, err := p.AskPasskey(p.Context(), "192.0.2.1")
	require.NoError(p, err)
	return ask
}

func (p *place) finish(ask staff.Ask, answer []byte) (string, error) {
	return p.SignInWithPasskey(p.Context(), ask.Ticket, answer, "192.0.2.1")
}

func TestPasskeyFromTheLinkToASession(t *testing.T) {
	p, a := newPlace(t), newAuthenticator(t)
	first := p.withPasskey("dana", a)
	me, err := p.Session(t.Context(), first)
	require.NoError(t, err)
	require.Len(t, me.Passkeys, 1)
	require.False(t, me.Password)
	p.later(time.Hour)
	ask := p.ask()
	require.Equal(t, "required", a.options(ask).PublicKey.UserVerification)
	answer := a.sign(ask)
	token, err := p.finish(ask, answer)
	require.NoError(t, err)
	me, err = p.Session(t.Context(), token)
	require.NoError(t, err)
	require.Equal(t, "dana", me.Key)
	require.Equal(t, p.clock.Now(), me.Passkeys[0].Used)
	_, err = p.finish(ask, answer)
	require.ErrorIs(t, err, staff.ErrSignIn, "each challenge is answered once")
	_, err = p.try("dana", "", "")
	require.ErrorIs(t, err, staff.ErrSignIn, "there is no password")
}

func TestPasskeysThatMustNotOpen(t *testing.T) {
	p, a := newPlace(t), newAuthenticator(t)
	p.withPasskey("dana", a)
	stranger := newAuthenticator(t)
	stranger.handle, stranger.id = a.handle, a.id
	for name, try := range map[string]func(staff.Ask) []byte{
		"another's key": stranger.sign,
		"another site": func(ask staff.Ask) []byte {
			b := *a
			b.origin = "https://staff.example.evil.example"
			return b.sign(ask)
		},
		"a key of another site": func(ask staff.Ask) []byte { b := *a; b.host = "evil.example"; return b.sign(ask) },
		"who was not known":     func(ask staff.Ask) []byte { b := *a; b.flags = 1; return b.sign(ask) },
		"another challenge":     func(staff.Ask) []byte { return a.sign(p.ask()) },
		"nobody's handle":       func(ask staff.Ask) []byte { b := *a; b.handle = []byte("nobody"); return b.sign(ask) },
		"no handle":             func(ask staff.Ask) []byte { b := *a; b.handle = nil; return b.sign(ask) },
		"no answer":             func(staff.Ask) []byte { return []byte("{}") },
		"no JSON":               func(staff.Ask) []byte { return []byte("\x00") },
	} {
		ask := p.ask()
		token, err := p.finish(ask, try(ask))
		require.ErrorIs(t, err, staff.ErrSignIn, name)
		require.Empty(t, token, name)
	}
	for _, ticket := range []string{"", "x", string(make([]byte, 1000))} {
		_, err := p.finish(staff.Ask{Ticket: ticket}, []byte("{}"))
		require.ErrorIs(t, err, staff.ErrSignIn)
	}
	ask := p.ask()
	answer := a.sign(ask)
	p.later(5 * time.Minute)
	_, err := p.finish(ask, answer)
	require.ErrorIs(t, err, staff.ErrSignIn, "too late")
}

func TestACopiedPasskeyDoesNotOpen(t *testing.T) {
	p, a := newPlace(t), newAuthenticator(t)
	p.withPasskey("dana", a)
	copied := *a
	for range 3 {
		ask := p.ask()
		_, err := p.finish(ask, a.sign(ask))
		require.NoError(t, err)
	}
	ask := p.ask()
	_, err := p.finish(ask, copied.sign(ask))
	require.ErrorIs(t, err, staff.ErrSignIn)
	require.Equal(t, "dana failed to sign in", p.acts()[0])
}

func TestMoreAndFewerPasskeys(t *testing.T) {
	p, a, b := newPlace(t), newAuthenticator(t), newAuthenticator(t)
	token := p.withPasskey("dana", a)
	me, err := p.Session(t.Context(), token)
	require.NoError(t, err)
	var refused staff.Refusal
	require.ErrorAs(t, p.RemovePasskey(t.Context(), me, me.Passkeys[0].ID), &refused, "the only way in")

	ask, err := p.AskNew(t.Context(), me)
	require.NoError(t, err)
	answer := b.make(ask)
	other := newAuthenticator(t)
	p.withPasskey("luis", other)
	require.ErrorIs(t, p.AddPasskey(t.Context(), staff.Session{Account: staff.Account{Key: "luis"}, Started: p.clock.Now()}, ask.Ticket, answer), staff.ErrSignIn, "asked by another")
	ask, err = p.AskNew(t.Context(), me)
	require.NoError(t, err)
	require.NoError(t, p.AddPasskey(t.Context(), me, ask.Ticket, b.make(ask)))
	ask = p.ask()
	_, err = p.finish(ask, b.sign(ask))
	require.NoError(t, err)

	require.NoError(t, p.RemovePasskey(t.Context(), me, me.Passkeys[0].ID))
	require.ErrorAs(t, p.RemovePasskey(t.Context(), me, me.Passkeys[0].ID), &refused)
	ask = p.ask()
	_, err = p.finish(ask, a.sign(ask))
	require.ErrorIs(t, err, staff.ErrSignIn)
	p.later(staff.Fresh)
	_, err = p.AskNew(t.Context(), me)
	require.ErrorIs(t, err, staff.ErrStale)
	require.ErrorIs(t, p.RemovePasskey(t.Context(), me, "x"), staff.ErrStale)
}

func TestPasskeysThatMustNotBeMade(t *testing.T) {
	p := newPlace(t)
	link, err := p.Add(t.Context(), "", "dana", "Dana Whitfield", staff.Member)
	require.NoError(t, err)
	for name, spoil := range map[string]func(a *authenticator){
		"who was not known":     func(a *authenticator) { a.flags = 1 },
		"another site":          func(a *authenticator) { a.origin = "https://evil.example" },
		"a key of another site": func(a *authenticator) { a.host = "evil.example" },
	} {
		a := newAuthenticator(t)
		spoil(a)
		ask, err := p.AskSetUp(t.Context(), link, "192.0.2.1")
		require.NoError(t, err)
		_, err = p.SetUpWithPasskey(t.Context(), link, ask.Ticket, a.make(ask), "192.0.2.1")
		require.ErrorIs(t, err, staff.ErrSignIn, name)
	}
	other, err := p.Add(t.Context(), "", "luis", "Luis", staff.Member)
	require.NoError(t, err)
	ask, err := p.AskSetUp(t.Context(), other, "192.0.2.1")
	require.NoError(t, err)
	a := newAuthenticator(t)
	_, err = p.SetUpWithPasskey(t.Context(), link, ask.Ticket, a.make(ask), "192.0.2.1")
	require.ErrorIs(t, err, staff.ErrSignIn, "asked for by another link")
	account, err := p.Account(t.Context(), "dana")
	require.NoError(t, err)
	require.False(t, account.Ready())
}

// FuzzAnswers: whatever a stranger sends in place of an authenticator's answer opens
// nothing, makes nothing, and ends in a plain refusal.
func FuzzAnswers(f *testing.F) {
	s := memory.New()
	f.Cleanup(func() { require.NoError(f, s.Close()) })
	c := clock.NewStill(noon)
	d, err := staff.New(staff.Config{Store: s, Shop: "fern", Clock: c, Origin: "https://staff.example", Effort: cheap})
	require.NoError(f, err)
	link, err := d.Add(f.Context(), "", "dana", "Dana", staff.Member)
	require.NoError(f, err)
	a := newAuthenticator(f)
	for range 2 {
		ask, err := d.AskSetUp(f.Context(), link, "192.0.2.1")
		require.NoError(f, err)
		f.Add(a.make(ask))
		f.Add(a.sign(ask))
	}
	f.Add([]byte(`{"id":"AA","rawId":"AA","type":"public-key","response":{}}`))
	f.Fuzz(func(t *testing.T, answer []byte) {
		c.Jump(time.Minute) // so that tries are not counted together
		ask, err := d.AskPasskey(t.Context(), "192.0.2.1")
		require.NoError(t, err)
		_, err = d.SignInWithPasskey(t.Context(), ask.Ticket, answer, "192.0.2.1")
		require.ErrorIs(t, err, staff.ErrSignIn)
		fresh, err := d.Reset(t.Context(), "", "dana")
		require.NoError(t, err)
		ask, err = d.AskSetUp(t.Context(), fresh, "192.0.2.1")
		require.NoError(t, err)
		_, err = d.SetUpWithPasskey(t.Context(), fresh, ask.Ticket, answer, "192.0.2.1")
		require.ErrorIs(t, err, staff.ErrSignIn)
	})
}

func TestWherePasskeysAre(t *testing.T) {
	s := memory.New()
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	for origin, want := range map[string]bool{
		"": false, "http://127.0.0.1:8081": false, "https://[::1]": false, "http://localhost:8081": true, "https://staff.example": true,
	} {
		d, err := staff.New(staff.Config{Store: s, Shop: "fern", Clock: clock.NewStill(noon), Origin: origin, Effort: cheap})
		require.NoError(t, err, origin)
		require.Equal(t, want, d.Passkeys(), origin)
	}
	for _, origin := range []string{"staff.example", "ftp://staff.example", "https://staff.example/console", "https://", ":"} {
		_, err := staff.New(staff.Config{Store: s, Shop: "fern", Clock: clock.NewStill(noon), Origin: origin, Effort: cheap})
		require.ErrorContains(t, err, "write it like https://staff.example", origin)
	}
	d, err := staff.New(staff.Config{Store: s, Shop: "fern", Clock: clock.NewStill(noon), Effort: cheap})
	require.NoError(t, err)
	var refused staff.Refusal
	_, err = d.AskPasskey(t.Context(), "192.0.2.1")
	require.ErrorAs(t, err, &refused)
}
