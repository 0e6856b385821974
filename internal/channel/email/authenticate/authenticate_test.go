package authenticate_test

import (
	"bytes"
	"crypto/ed25519"
	"encoding/base64"
	"net"
	"strings"
	"testing"

	"github.com/emersion/go-msgauth/dkim"
	"github.com/stretchr/testify/require"

	"tubhand/internal/channel/email/authenticate"
)

// The key records of RFC 8463, Appendix A.2.
const (
	brisbane = "v=DKIM1; k=ed25519; p=11qYAYKxCrfVS/7TyWQHOg7hcvPapiMlrwIaaPcHURo="
	rsaTest  = "v=DKIM1; k=rsa; p=MIGfMA0GCSqGSIb3DQEBAQUAA4GNADCBiQKBgQDkHlOQoBTzWR" +
		"iGs5V6NpP3idY6Wk08a5qhdR6wy5bdOKb2jLQiY/J16JYi0Qvx/byYzCNb3W91y3FutAC" +
		"DfzwQ/BC/e/8uBsCR+yz1Lxj+PL6lHvqMKrM3rG4hstT5QjvHO9PzoxZyVYLzBfO2EeC3" +
		"Ip3G+2kryOTIKT+l/K4w3QIDAQAB"
)

// RFC 8463, Appendix A.3: both signatures of the published message hold.
func TestPublishedSignatures(t *testing.T) {
	dns := &fakeDNS{txt: map[string][]string{
		"brisbane._domainkey.football.example.com": {brisbane}, "test._domainkey.football.example.com": {rsaTest},
	}}
	raw := sample(t, "rfc8463-a3.eml")
	got := authenticate.Check(t.Context(), dns, raw, "joe@football.example.com", authenticate.Envelope{})
	require.Equal(t, authenticate.Proven, got.Verdict)
	require.Equal(t, []string{"football.example.com", "football.example.com"}, got.DKIM)

	changed := bytes.Replace(raw, []byte("lost the game"), []byte("won the game"), 1)
	got = authenticate.Check(t.Context(), dns, changed, "joe@football.example.com", authenticate.Envelope{})
	require.Equal(t, authenticate.Unproven, got.Verdict)
	require.Empty(t, got.DKIM)

	dns.txt["_dmarc.football.example.com"] = []string{"v=DMARC1; p=reject"}
	got = authenticate.Check(t.Context(), dns, changed, "joe@football.example.com", authenticate.Envelope{})
	require.Equal(t, authenticate.Forged, got.Verdict)
	require.Equal(t, "reject", got.Policy)
}

// signed is a message of ours with signatures of these domains by the key "k".
func signed(t *testing.T, dns *fakeDNS, from string, domains ...string) []byte {
	t.Helper()
	public, private, err := ed25519.GenerateKey(nil)
	require.NoError(t, err)
	raw := []byte("From: " + from + "\r\nTo: hello@fernhollow.example\r\nSubject: hi\r\n\r\nhello\r\n")
	for _, d := range domains {
		var b bytes.Buffer
		require.NoError(t, dkim.Sign(&b, bytes.NewReader(raw), &dkim.SignOptions{Domain: d, Selector: "k", Signer: private}))
		raw = b.Bytes()
		dns.txt["k._domainkey."+d] = []string{"v=DKIM1; k=ed25519; p=" + base64.StdEncoding.EncodeToString(public)}
	}
	return raw
}

func TestVerdicts(t *testing.T) {
	home := authenticate.Envelope{IP: net.ParseIP("192.0.2.10"), Helo: "mx.owner.example", MailFrom: "anna@owner.example"}
	for name, c := range map[string]struct {
		from   string
		signed []string
		txt    map[string]string
		env    authenticate.Envelope
		down   string
		want   authenticate.Verdict
	}{
		"nothing published":           {from: "anna@owner.example", want: authenticate.Unproven},
		"signed by the domain":        {from: "anna@owner.example", signed: []string{"owner.example"}, want: authenticate.Proven},
		"signed by someone else":      {from: "anna@owner.example", signed: []string{"evil.example"}, want: authenticate.Unproven},
		"a parent without any record": {from: "anna@mail.owner.example", signed: []string{"owner.example"}, want: authenticate.Unproven},
		"relaxed: parent signed": {from: "anna@mail.owner.example", signed: []string{"owner.example"},
			txt: map[string]string{"_dmarc.owner.example": "v=DMARC1; p=reject"}, want: authenticate.Proven},
		"strict: parent signed": {from: "anna@mail.owner.example", signed: []string{"owner.example"},
			txt: map[string]string{"_dmarc.owner.example": "v=DMARC1; p=reject; adkim=s"}, want: authenticate.Forged},
		"two tenants of a public suffix": {from: "anna@a.host.example", signed: []string{"b.host.example"},
			txt:  map[string]string{"_dmarc.host.example": "v=DMARC1; p=none; psd=y"},
			want: authenticate.Forged},
		"an organization of its own below another": {from: "anna@unit.owner.example", signed: []string{"owner.example"},
			txt:  map[string]string{"_dmarc.owner.example": "v=DMARC1; p=none", "_dmarc.unit.owner.example": "v=DMARC1; p=none; psd=n"},
			want: authenticate.Forged},
		"SPF of the domain, record there": {from: "anna@owner.example", env: home,
			txt: map[string]string{"owner.example": "v=spf1 ip4:192.0.2.10 -all", "_dmarc.owner.example": "v=DMARC1; p=none"}, want: authenticate.Proven},
		"SPF of the domain, no record": {from: "anna@owner.example", env: home,
			txt: map[string]string{"owner.example": "v=spf1 ip4:192.0.2.10 -all"}, want: authenticate.Unproven},
		"SPF of another domain": {from: "anna@owner.example",
			env:  authenticate.Envelope{IP: net.ParseIP("192.0.2.10"), Helo: "x", MailFrom: "m@evil.example"},
			txt:  map[string]string{"evil.example": "v=spf1 +all", "_dmarc.owner.example": "v=DMARC1; p=quarantine"},
			want: authenticate.Forged},
		"SPF fails": {from: "anna@owner.example", env: home,
			txt: map[string]string{"owner.example": "v=spf1 -all", "_dmarc.owner.example": "v=DMARC1; p=none"}, want: authenticate.Forged},
		"two records are none": {from: "anna@owner.example", txt: map[string]string{"_dmarc.owner.example": "v=DMARC1; p=reject|v=DMARC1; p=none"},
			want: authenticate.Unproven},
		"DMARC does not answer": {from: "anna@owner.example", signed: []string{"owner.example"}, down: "_dmarc.owner.example", want: authenticate.Later},
		"the key does not answer": {from: "anna@owner.example", signed: []string{"owner.example"}, down: "k._domainkey.owner.example",
			txt: map[string]string{"_dmarc.owner.example": "v=DMARC1; p=none"}, want: authenticate.Later},
		"a stranger's key does not answer": {from: "anna@owner.example", signed: []string{"evil.test"}, down: "k._domainkey.evil.test",
			txt: map[string]string{"_dmarc.owner.example": "v=DMARC1; p=none"}, want: authenticate.Forged},
	} {
		t.Run(name, func(t *testing.T) {
			dns := &fakeDNS{txt: map[string][]string{}, down: map[string]bool{c.down: true}}
			for at, record := range c.txt {
				dns.txt[at] = strings.Split(record, "|")
			}
			raw := signed(t, dns, c.from, c.signed...)
			got := authenticate.Check(t.Context(), dns, raw, c.from, c.env)
			require.Equal(t, c.want, got.Verdict, got.Why)
			require.NotEmpty(t, got.Why)
		})
	}
}

func TestWhatTheDomainWants(t *testing.T) {
	for record, want := range map[string]string{
		"v=DMARC1; p=reject": "reject", "v=DMARC1; p=reject; sp=none": "none", "v=DMARC1; p=none; sp=quarantine": "quarantine",
		"v=DMARC1; p=reject; t=y": "quarantine", "v=DMARC1; p=quarantine; t=y": "none", "v=DMARC1": "none", "v=DMARC1; p=odd": "none",
	} {
		dns := &fakeDNS{txt: map[string][]string{"_dmarc.owner.example": {record}}}
		got := authenticate.Check(t.Context(), dns, signed(t, dns, "a@mail.owner.example"), "a@mail.owner.example", authenticate.Envelope{})
		require.Equal(t, authenticate.Forged, got.Verdict)
		require.Equal(t, want, got.Policy, record)
	}
}

// RFC 9989, 4.10: at most eight look-ups a walk, whatever the length of the name.
func TestTheWalkIsShort(t *testing.T) {
	dns := &fakeDNS{txt: map[string][]string{}}
	from := "a@" + strings.Repeat("x.", 40) + "owner.example"
	got := authenticate.Check(t.Context(), dns, signed(t, dns, from), from, authenticate.Envelope{})
	require.Equal(t, authenticate.Unproven, got.Verdict)
	require.Len(t, dns.asked, 8)
	require.Equal(t, "_dmarc.example", dns.asked[7])
	require.Equal(t, "_dmarc.x.x.x.x.x.owner.example", dns.asked[1])
}

func TestARelayOfOurOwnIsBelieved(t *testing.T) {
	const id, anna = "mx.fernhollow.example", "anna@owner.example"
	for _, c := range []struct {
		results []string
		want    authenticate.Verdict
		ok      bool
	}{
		{[]string{"mx.fernhollow.example; dmarc=pass header.from=owner.example"}, authenticate.Proven, true},
		{[]string{"MX.fernhollow.example; dkim=pass header.d=owner.example"}, authenticate.Proven, true},
		{[]string{"mx.fernhollow.example; dmarc=fail header.from=owner.example"}, authenticate.Forged, true},
		{[]string{"mx.fernhollow.example; dmarc=temperror header.from=owner.example"}, authenticate.Later, true},
		{[]string{"mx.fernhollow.example; dmarc=pass header.from=evil.example"}, "", false},
		{[]string{"mx.fernhollow.example; dkim=pass header.d=evil.example"}, "", false},
		{[]string{"mx.evil.example; dmarc=pass header.from=owner.example"}, "", false},
		{[]string{"mx.evil.example; none", "mx.fernhollow.example; dmarc=pass header.from=owner.example"}, "", false},
		{[]string{";;;"}, "", false},
		{nil, "", false},
	} {
		got, ok := authenticate.ByRelay(c.results, id, anna)
		require.Equal(t, c.ok, ok, c.results)
		require.Equal(t, c.want, got.Verdict, c.results)
	}
	_, ok := authenticate.ByRelay([]string{"mx.fernhollow.example; dmarc=pass header.from=owner.example"}, "", anna)
	require.False(t, ok, "no relay is ours unless it is named")
}

// FuzzCheck: whatever a message looks like, nothing is proven where DNS holds no key, and
// checking ends.
func FuzzCheck(f *testing.F) {
	for _, name := range []string{"rfc8463-a3.eml", "plain.eml", "two-authors.eml", "bounce.eml"} {
		f.Add(sample(f, name))
	}
	f.Fuzz(func(t *testing.T, raw []byte) {
		got := authenticate.Check(t.Context(), &fakeDNS{}, raw, "joe@football.example.com", authenticate.Envelope{})
		require.NotEqual(t, authenticate.Proven, got.Verdict)
		require.Empty(t, got.DKIM)
	})
}

// FuzzByRelay: only a field that begins with the relay's own id can prove anything.
func FuzzByRelay(f *testing.F) {
	f.Add("mx.fernhollow.example; dmarc=pass header.from=owner.example")
	f.Add("mx.fernhollow.example 1; dkim=pass (x; y) header.d=owner.example; spf=fail")
	f.Fuzz(func(t *testing.T, field string) {
		out, ok := authenticate.ByRelay([]string{field}, "mx.fernhollow.example", "anna@owner.example")
		if ok && out.Verdict == authenticate.Proven {
			require.Contains(t, strings.ToLower(field), "mx.fernhollow.example")
			require.Contains(t, strings.ToLower(field), "owner.example")
		}
	})
}
