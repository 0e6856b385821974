package staff_test

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/alexedwards/argon2id"
	"github.com/pquerna/otp/totp"
	"github.com/stretchr/testify/require"

	"tubhand/internal/clock"
	"tubhand/internal/staff"
	"tubhand/internal/store"
	"tubhand/internal/store/memory"
)

var noon = time.Date(2026, 6, 13, 12, 0, 0, 0, time.UTC)

const phrase = "warm cedar steps at dusk"

// cheap makes passwords cheap to hash, for tests.
var cheap = &argon2id.Params{Memory: 64, Iterations: 1, Parallelism: 1, SaltLength: 16, KeyLength: 32}

// place is a desk over a memory store with a clock that stands still.
type place struct {
	*testing.T
	*staff.Desk
	clock  *clock.Jumping
	secret string // of dana's one-time codes
	codes  []string
}

func newPlace(t *testing.T) *place {
	t.Helper()
	s := memory.New()
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	c := clock.NewStill(noon)
	return &place{T: t, Desk: deskOf(t, s, c, "fernhollow"), clock: c}
}

func deskOf(t *testing.T, s staff.Store, c clock.Clock, shop string) *staff.Desk {
	t.Helper()
	d, err := staff.New(staff.Config{Store: s, Shop: shop, Name: "Fernhollow Tub Supply", Clock: c, Origin: "https://staff.example", Effort: cheap})
	require.NoError(t, err)
	return d
}

func (p *place) later(d time.Duration) { p.clock.Jump(d) }

// code is what dana's app shows now.
func (p *place) code() string {
	p.Helper()
	code, err := totp.GenerateCode(p.secret, p.clock.Now())
	require.NoError(p, err)
	return code
}

// member makes an account with a password and gives its first session.
func (p *place) member(key string, role staff.Role) (token string) {
	p.Helper()
	link, err := p.Add(p.Context(), "", key, "Dana Whitfield", role)
	require.NoError(p, err)
	return p.setUp(link)
}

func (p *place) setUp(link string) (token string) {
	p.Helper()
	s, err := p.Invited(p.Context(), link, "192.0.2.1")
	require.NoError(p, err)
	p.secret = s.Secret
	token, p.codes, err = p.SetPassword(p.Context(), staff.Choice{Code: link, Password: phrase, OneTime: p.code(), Address: "192.0.2.1"})
	require.NoError(p, err)
	return token
}

func (p *place) try(name, password, code string) (string, error) {
	return p.SignIn(p.Context(), staff.Attempt{Name: name, Password: password, Code: code, Address: "192.0.2.1"})
}

func (p *place) acts() (list []string) {
	p.Helper()
	trail, err := p.Trail(p.Context(), 0, 100)
	require.NoError(p, err)
	for _, e := range trail {
		list = append(list, strings.TrimSpace(e.Who+" "+e.Act))
	}
	return list
}

func TestFromTheLinkToASession(t *testing.T) {
	p := newPlace(t)
	link, err := p.Add(t.Context(), "the command", "dana", "Dana Whitfield", staff.Manager)
	require.NoError(t, err)
	a, err := p.Account(t.Context(), "dana")
	require.NoError(t, err)
	require.False(t, a.Ready())
	s, err := p.Invited(t.Context(), link, "192.0.2.1")
	require.NoError(t, err)
	require.Equal(t, "Dana Whitfield", s.Account.Name)
	require.Equal(t, "otpauth://totp/Fernhollow%20Tub%20Supply:dana?secret="+s.Secret+"&issuer=Fernhollow%20Tub%20Supply", s.URI)

	first := p.setUp(link)
	me, err := p.Session(t.Context(), first)
	require.NoError(t, err)
	require.Equal(t, "dana", me.Key)
	require.Equal(t, staff.Manager, me.Role)
	require.True(t, me.Ready())
	require.Equal(t, 10, me.Codes)
	_, err = p.Invited(t.Context(), link, "192.0.2.1")
	require.ErrorIs(t, err, staff.ErrLink, "a link is good once")

	p.later(time.Minute)
	second, err := p.try(" Dana ", phrase, p.code())
	require.NoError(t, err)
	require.NotEqual(t, first, second)
	require.NoError(t, p.SignOut(t.Context(), first))
	require.NoError(t, p.SignOut(t.Context(), first))
	_, err = p.Session(t.Context(), first)
	require.ErrorIs(t, err, staff.ErrNobody)
	_, err = p.Session(t.Context(), second)
	require.NoError(t, err)
	require.Equal(t, []string{"dana signed out", "dana signed in", "dana signed in", "dana set a password", "the command added account"}, p.acts())
}

func TestWhatIsNotRightIsNeverTold(t *testing.T) {
	p := newPlace(t)
	p.member("dana", staff.Member)
	_, err := p.Add(t.Context(), "", "luis", "Luis", staff.Member) // not set up
	require.NoError(t, err)
	p.later(time.Hour)
	for _, c := range []struct{ name, password, code string }{
		{"dana", phrase, "000000"}, {"dana", phrase, ""}, {"dana", "wrong", p.code()}, {"dana", "", ""},
		{"nobody", phrase, p.code()}, {"luis", "", ""}, {"luis", phrase, p.code()}, {"", "", ""}, {"../dana", phrase, p.code()},
		{strings.Repeat("a", 5000), strings.Repeat("b", 5000), strings.Repeat("1", 5000)}, {"dana", phrase, p.codes[0] + "x"},
	} {
		_, err := p.try(c.name, c.password, c.code)
		require.Equal(t, staff.ErrSignIn.Error(), err.Error(), "%.20q %.20q %.20q", c.name, c.password, c.code)
		require.ErrorIs(t, err, staff.ErrSignIn)
		p.later(5 * time.Minute)
	}
	require.NotContains(t, strings.Join(p.acts(), "\n"), "nobody", "what was typed as a name may be a password")
}

func TestACodeCountsOnce(t *testing.T) {
	p := newPlace(t)
	p.member("dana", staff.Member)
	_, err := p.try("dana", phrase, p.code())
	require.ErrorIs(t, err, staff.ErrSignIn, "the code was used to set up")
	p.later(30 * time.Second)
	code := p.code()
	p.later(30 * time.Second)
	_, err = p.try("dana", phrase, code)
	require.NoError(t, err, "the code before counts")
	_, err = p.try("dana", phrase, code)
	require.ErrorIs(t, err, staff.ErrSignIn)
	p.later(2 * time.Minute)
	code = p.code()
	p.later(time.Minute)
	_, err = p.try("dana", phrase, code)
	require.ErrorIs(t, err, staff.ErrSignIn, "two steps late")
}

func TestRecoveryCodesCountOnceEach(t *testing.T) {
	p := newPlace(t)
	p.member("dana", staff.Member)
	for i, code := range p.codes {
		if i == 1 {
			code = strings.ToUpper(strings.ReplaceAll(code, "-", " "))
		}
		_, err := p.try("dana", phrase, code)
		require.NoError(t, err)
		_, err = p.try("dana", phrase, code)
		require.ErrorIs(t, err, staff.ErrSignIn)
	}
	a, err := p.Account(t.Context(), "dana")
	require.NoError(t, err)
	require.Zero(t, a.Codes)
}

func TestTriesAreCounted(t *testing.T) {
	p := newPlace(t)
	p.member("dana", staff.Member)
	p.later(time.Hour)
	began := p.clock.Now()
	tooMany := func(name, address string) bool {
		t.Helper()
		_, err := p.SignIn(t.Context(), staff.Attempt{Name: name, Password: "wrong", Code: "1", Address: address})
		var many *staff.TooMany
		if errors.As(err, &many) {
			require.WithinRange(t, many.Until, began, began.Add(15*time.Minute))
			return true
		}
		require.ErrorIs(t, err, staff.ErrSignIn)
		return false
	}
	for _, name := range []string{"dana", "nobody"} {
		for i := range 10 {
			require.False(t, tooMany(name, "192.0.2."+string(rune('1'+i))))
		}
		require.True(t, tooMany(name, "198.51.100.7"), "%s, from whatever address, known or not", name)
	}
	_, err := p.try("dana", phrase, p.code())
	require.Error(t, err, "the right password does not count either")
	for i := range 30 {
		require.False(t, tooMany("n"+string(rune('a'+i)), "2001:db8::"+string(rune('1'+i%9))), "%d", i)
	}
	require.True(t, tooMany("other", "2001:db8::ffff"), "one network counts as one address")
	require.False(t, tooMany("other", "2001:db8:0:1::1"))
	p.later(15 * time.Minute)
	_, err = p.try("dana", phrase, p.code())
	require.NoError(t, err)
	for range 2 {
		for range 9 {
			_, err = p.SignIn(t.Context(), staff.Attempt{Name: "dana", Password: "wrong", Address: "203.0.113.9"})
			require.ErrorIs(t, err, staff.ErrSignIn)
		}
		p.later(time.Minute)
		_, err = p.try("dana", phrase, p.code())
		require.NoError(t, err, "what is right forgives what was wrong")
	}
}

func TestSessionsEnd(t *testing.T) {
	p := newPlace(t)
	token := p.member("dana", staff.Member)
	there := func() bool {
		t.Helper()
		_, err := p.Session(t.Context(), token)
		if err != nil {
			require.ErrorIs(t, err, staff.ErrNobody)
		}
		return err == nil
	}
	signIn := func() {
		t.Helper()
		p.later(time.Minute)
		var err error
		token, err = p.try("dana", phrase, p.code())
		require.NoError(t, err)
	}
	p.later(staff.Idle - time.Second)
	require.True(t, there())
	p.later(staff.Idle - time.Second)
	require.True(t, there(), "each use moves the end")
	p.later(staff.Idle)
	require.False(t, there(), "idle")

	signIn()
	for n := 0; n < int(staff.Longest/(6*time.Hour))-1; n++ {
		p.later(6 * time.Hour)
		require.True(t, there())
	}
	p.later(6 * time.Hour)
	require.False(t, there(), "at the longest, however busy")

	signIn()
	require.NoError(t, p.SignOutEverywhere(t.Context(), "dana"))
	require.False(t, there())
	signIn()
	_, err := p.Reset(t.Context(), "boss", "dana")
	require.NoError(t, err)
	require.False(t, there())
	p.later(time.Minute)
	_, err = p.try("dana", phrase, p.code())
	require.ErrorIs(t, err, staff.ErrSignIn, "a reset takes the password away")
	for _, strange := range []string{"", "x", strings.Repeat("x", 5000)} {
		token = strange
		require.False(t, there())
	}
}

func TestRemovedAndChangedAccountsShowAtOnce(t *testing.T) {
	p := newPlace(t)
	boss := p.member("boss", staff.Manager)
	token := p.member("dana", staff.Member)
	require.NoError(t, p.SetRole(t.Context(), "boss", "dana", staff.Viewer))
	me, err := p.Session(t.Context(), token)
	require.NoError(t, err)
	require.Equal(t, staff.Viewer, me.Role)
	require.NoError(t, p.Remove(t.Context(), "boss", "dana"))
	_, err = p.Session(t.Context(), token)
	require.ErrorIs(t, err, staff.ErrNobody)
	require.ErrorIs(t, p.Remove(t.Context(), "boss", "dana"), staff.ErrNoAccount)
	require.ErrorIs(t, p.Remove(t.Context(), "boss", "../boss"), staff.ErrNoAccount)

	var refused staff.Refusal
	require.ErrorAs(t, p.Remove(t.Context(), "boss", "boss"), &refused)
	require.ErrorAs(t, p.SetRole(t.Context(), "boss", "boss", staff.Viewer), &refused)
	require.ErrorAs(t, p.SetRole(t.Context(), "boss", "boss", "owner"), &refused)
	_, err = p.Session(t.Context(), boss)
	require.NoError(t, err)
	p.member("dana", staff.Member)
	_, err = p.Session(t.Context(), token)
	require.ErrorIs(t, err, staff.ErrNobody, "an account of the same name is another account")
}

func TestOneShopsSessionIsNothingToAnother(t *testing.T) {
	s, c := memory.New(), clock.NewStill(noon)
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	fern := &place{T: t, Desk: deskOf(t, s, c, "fernhollow"), clock: c}
	lake := deskOf(t, s, c, "lakeside")
	token := fern.member("dana", staff.Manager)
	_, err := lake.Add(t.Context(), "", "dana", "Another Dana", staff.Viewer)
	require.NoError(t, err)
	_, err = lake.Session(t.Context(), token)
	require.ErrorIs(t, err, staff.ErrNobody)
	link, err := fern.Add(t.Context(), "", "luis", "Luis", staff.Member)
	require.NoError(t, err)
	_, err = lake.Invited(t.Context(), link, "192.0.2.1")
	require.ErrorIs(t, err, staff.ErrLink)
	c.Jump(time.Minute)
	_, err = lake.SignIn(t.Context(), staff.Attempt{Name: "dana", Password: phrase, Code: fern.code(), Address: "192.0.2.1"})
	require.ErrorIs(t, err, staff.ErrSignIn)
}

func TestLinksEnd(t *testing.T) {
	p := newPlace(t)
	choose := func(link, password, code string) error {
		_, _, err := p.SetPassword(t.Context(), staff.Choice{Code: link, Password: password, OneTime: code, Address: "192.0.2.1"})
		return err
	}
	old, err := p.Add(t.Context(), "", "dana", "Dana Whitfield", staff.Member)
	require.NoError(t, err)
	link, err := p.Reset(t.Context(), "", "dana")
	require.NoError(t, err)
	_, err = p.Invited(t.Context(), old, "192.0.2.1")
	require.ErrorIs(t, err, staff.ErrLink, "a reset makes earlier links void")
	s, err := p.Invited(t.Context(), link, "192.0.2.1")
	require.NoError(t, err)
	p.secret = s.Secret
	var refused staff.Refusal
	for _, weak := range []string{"", "short", "aaaaaaaaaaaaaaaa", "dana whitfield", "Fernhollow Tub Supply", strings.Repeat("abcdefgh", 40), "abc\xffdefghijklmnop"} {
		require.ErrorAs(t, choose(link, weak, p.code()), &refused, "%q", weak)
	}
	require.ErrorAs(t, choose(link, phrase, "000000"), &refused)
	require.ErrorIs(t, choose("nothing", phrase, p.code()), staff.ErrLink)
	p.later(staff.LinkLasts)
	require.ErrorIs(t, choose(link, phrase, p.code()), staff.ErrLink)
}

func TestANewPasswordWantsAFreshSignIn(t *testing.T) {
	p := newPlace(t)
	token := p.member("dana", staff.Member)
	me, err := p.Session(t.Context(), token)
	require.NoError(t, err)
	link, err := p.Renew(t.Context(), me)
	require.NoError(t, err)
	p.later(time.Minute)
	next := p.setUp(link)
	_, err = p.Session(t.Context(), token)
	require.ErrorIs(t, err, staff.ErrNobody, "earlier sessions end")
	me, err = p.Session(t.Context(), next)
	require.NoError(t, err)
	p.later(staff.Fresh)
	_, err = p.Renew(t.Context(), me)
	require.ErrorIs(t, err, staff.ErrStale)
}

func TestAccountsAreBounded(t *testing.T) {
	p := newPlace(t)
	var refused staff.Refusal
	for _, c := range []struct{ key, name, role string }{
		{"", "Dana", "staff"}, {"Dana", "Dana", "staff"}, {"1a", "Dana", "staff"}, {"dana", " ", "staff"}, {"dana", "D\nana", "staff"},
		{"dana", strings.Repeat("d", 31), "staff"}, {"dana", "Dana", ""}, {"dana", "Dana", "owner"}, {strings.Repeat("d", 41), "Dana", "staff"},
	} {
		_, err := p.Add(t.Context(), "", c.key, c.name, staff.Role(c.role))
		require.ErrorAs(t, err, &refused, "%v", c)
	}
	for i := range 200 {
		_, err := p.Add(t.Context(), "", "a"+strings.Repeat("b", i/26)+string(rune('a'+i%26)), "Dana", staff.Viewer)
		require.NoError(t, err)
	}
	_, err := p.Add(t.Context(), "", "one-more", "Dana", staff.Viewer)
	require.ErrorAs(t, err, &refused)
	all, err := p.Accounts(t.Context())
	require.NoError(t, err)
	require.Len(t, all, 200)
}

func TestRoles(t *testing.T) {
	require.True(t, staff.Manager.May(staff.Viewer))
	require.True(t, staff.Member.May(staff.Member))
	require.False(t, staff.Viewer.May(staff.Member))
	require.False(t, staff.Member.May(staff.Manager))
	require.False(t, staff.Role("").May(staff.Viewer))
	require.False(t, staff.Role("owner").May(staff.Role("owner")))
	require.False(t, staff.Manager.May(staff.Role("")), "what needs no known role nobody may")
}

func TestKeysOfNames(t *testing.T) {
	for name, want := range map[string]string{
		"Dana Whitfield": "dana-whitfield", " Luis ": "luis", "Zoë O'Neill": "zo-oneill", "4th desk": "th-desk", "日本": "",
	} {
		require.Equal(t, want, staff.KeyFor(name))
	}
}

// failing is a store that breaks off at the n-th document written.
type failing struct {
	staff.Store
	left int
}

var errBroken = errors.New("broken")

func (f *failing) PutDocument(ctx context.Context, shop string, d store.Document, now time.Time) error {
	if f.left--; f.left < 0 {
		return errBroken
	}
	return f.Store.PutDocument(ctx, shop, d, now)
}

func TestNobodyIsLetInByABrokenStore(t *testing.T) {
	s, c := memory.New(), clock.NewStill(noon)
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	p := &place{T: t, Desk: deskOf(t, s, c, "fernhollow"), clock: c}
	p.member("dana", staff.Manager)
	for n := range 4 { // two counts, the account, the session
		c.Jump(time.Hour)
		d := deskOf(t, &failing{s, n}, c, "fernhollow")
		token, err := d.SignIn(t.Context(), staff.Attempt{Name: "dana", Password: phrase, Code: p.code(), Address: "192.0.2.1"})
		require.ErrorIs(t, err, errBroken)
		require.Empty(t, token)
	}
}
