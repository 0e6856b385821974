package shop_test

import (
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/shop"
	"tubhand/internal/shop/field"
)

// described is the shop file with a gateway of kind http in it.
var described = func() string {
	src, err := os.ReadFile("../../testdata/shops/reedline.yaml")
	if err != nil {
		panic(err)
	}
	return string(src)
}()

func TestAGatewayIsDescribed(t *testing.T) {
	f, err := shop.Load("reedline.yaml", []byte(described))
	require.NoError(t, err)
	g, ok := f.Gateway("reedline")
	require.True(t, ok)
	require.Equal(t, shop.HTTP, g.Kind)
	w := g.Web
	require.Equal(t, "https://tubs.corner.example", w.PublicURL)
	require.Equal(t, field.JSON, w.Texts.Format)
	require.Equal(t, "messages[]", w.Texts.Each.String())
	require.Equal(t, "sender.number", w.Texts.From.String())
	require.Equal(t, []string{"text"}, w.Texts.Only[0].Is)
	require.True(t, w.Reports.SameURL)
	require.Equal(t, map[string]string{"accepted": "sent", "on_its_way": "sent", "arrived": "delivered",
		"refused": "failed", "unreachable": "failed", "expired": "failed"}, w.Reports.Words)
	require.Equal(t, shop.Answer{Status: 200, Type: "application/json", Body: `{"received":true}`}, w.Answer)
	require.Equal(t, shop.Sign{How: shop.SignBody, Secrets: []shop.Secret{"$REEDLINE_SIGNING_SECRET"}, Header: "X-Reedline-Signature",
		Part: "v1", TimePart: "t", Between: ".", Hash: "sha256", Within: 5 * time.Minute}, w.Sign)
	require.Equal(t, map[string]any{"line": "{from}", "recipients": []any{map[string]any{"number": "{to}"}},
		"content": map[string]any{"words": "{body}"}, "reference": "{key}"}, w.Send.JSON)
	require.Equal(t, 10.0, w.Send.PerSecond)
	require.Equal(t, shop.Auth{As: shop.AuthBearer, Secret: "@/etc/tubhand/reedline.token"}, w.Send.Auth)
	require.Equal(t, []string{"files.reedline.example"}, w.Pictures.Hosts)
}

// Each broken file is the described one with one thing changed.
func TestADescriptionSaysWhatToMend(t *testing.T) {
	for _, c := range []struct{ from, to, want string }{
		{"kind: http", "kind: plain", "kind: plain is described already and takes send_to alone"},
		{"kind: http", "kind: http\n    send_to: http://x.example", "send_to: goes with kind plain"},
		{"https://tubs.corner.example", "tubs.corner.example", "public_url: is no web address; write where the gateway reaches this server"},
		{"as: json\n      each", "as: xml\n      each", "texts.as: is not known; write one of: json, form, query"},
		{"each: messages[]\n      only: {type: text}", "each: messages", "texts.each: leads to one value; write [] behind the name of the array, like messages[]"},
		{"from: sender.number", "from: sender..number", `texts.from: "sender..number" is no path; write names with dots between`},
		{"from: sender.number", "from: sender[].number", "texts.from: has [] in it, which goes under each"},
		{"from: sender.number", "from: sender[x].number", "texts.from: \"sender[x].number\" has no number from 0 on between [ and ]"},
		{"      from: sender.number\n", "", "texts.from: is missing; write where the sender's number stands"},
		{"      body: content.words\n", "", "texts.body: is missing"},
		{"id: id", "id: \"header:\"", "texts.id: names no header; write one like header:X-Message-Id"},
		{"url: link, ", "", "texts.pictures.url: is missing"},
		{"come: with_texts", "come: home", "reports.come: is not known; write one of: to_their_own_address, with_texts"},
		{"come: with_texts", "come: with_texts\n      as: form", "reports.as: is form, and reports come with the texts"},
		{"      key: reference\n", "", "reports: must say which message a report is about"},
		{"key: reference", "key: reference\n      id: x", "reports.id: and key both tell which message it is"},
		{"      state: state\n", "", "reports.state: is missing"},
		{"failed: [refused, unreachable, expired]", "failed: [Arrived]", `reports.failed: "arrived" is under delivered, too`},
		{"failed: [refused, unreachable, expired]", "failed: []", "reports.failed: is missing; write the words that mean"},
		{"status: 200,", "status: 301,", "answer.status: 301 does not mean taken; write 200 to 299"},
		{"status: 200,", "status: 204,", "answer.body: cannot go with status 204"},
		{"type: application/json, ", "", "answer.type: is missing"},
		{"how: hmac_body", "how: magic", "signed.how: is not known; write one of: hmac_body, hmac_url_form, standard_webhooks, ed25519, basic, shared_secret, none"},
		{"how: hmac_body", "how: none", "signed.secret: does not go with how: none; take it out"},
		{"how: hmac_body", "how: basic", "signed.user: is missing"},
		{"$REEDLINE_SIGNING_SECRET", "hunter2-in-clear", "signed.secret: is no reference to a secret; write $NAME for an environment variable or @FILE"},
		{"      part: v1\n", "", "signed.part: is missing; where the time is a part"},
		{"hash: sha256", "hash: md5", "signed.hash: is not known; write one of: sha1, sha256, sha512"},
		{"within: 5m", "within: 5d", "signed.within: \"5d\" is no time from 10s to 1h"},
		{"header: X-Reedline-Signature", "header: X Reedline", "signed.header: is no name of a header"},
		{"https://api.reedline.example/v3/messages", "https://{to}.example/", "send.url: has a placeholder in its host"},
		{"https://api.reedline.example/v3/messages", "https://u:p@api.reedline.example/", "send.url: has a password in it"},
		{"as: bearer", "as: cookie", "send.auth.as: is not known; write one of: basic, bearer, header, query, field"},
		{"as: bearer", "as: field", "send.auth: {secret} among the fields and auth"},
		{"{words: \"{body}\"}", "{words: hi}", "send: nowhere says {body}"},
		{"[{number: \"{to}\"}]", "[]", "send: nowhere says {to} or {to_digits}"},
		{"\"{key}\"", "\"{keys}\"", "send.json: {keys} is not known; write one of: {from}, {to}"},
		{"taken: [202]", "taken: [302]", "send.taken[0]: 302 does not mean taken"},
		{"{at: error.code, is:", "{is:", "send.lost_when: needs at: and is:"},
		{"per_second: 10", "per_second: 0", "send.per_second: 0 is out of range"},
		{"hosts: [files.reedline.example]", "hosts: [\"*.reedline.example\"]", `pictures.hosts: "*.reedline.example" is no host name`},
		{"fetch: false, hosts: [files.reedline.example]", "fetch: true", "pictures.hosts: is missing; pictures are fetched from the hosts that stand here"},
		{"texts:\n      as: json", "texts:\n      color: red\n      as: json", `unknown field "color"`},
	} {
		broken := strings.Replace(described, c.from, c.to, 1)
		require.NotEqual(t, described, broken, c.from)
		_, err := shop.Load("r.yaml", []byte(broken))
		require.ErrorContains(t, err, c.want)
		require.Regexp(t, `(?m)^r\.yaml:\d+:\d+: `, err.Error())
		require.NotContains(t, err.Error(), "hunter2", "a secret is not shown around")
	}
}

func TestWhatIsMissingAltogether(t *testing.T) {
	_, err := shop.Load("r.yaml", []byte(strings.Replace(small, `{kind: plain, send_to: "https://gateway.example/out"}`, "{kind: http}", 1)))
	for _, want := range []string{"gateways.door.texts: is missing", "gateways.door.send: is missing", "gateways.door.signed: is missing; say how a callback proves whose it is"} {
		require.ErrorContains(t, err, want)
	}
}

func TestSecretsAreReadFromWhereTheyAreKept(t *testing.T) {
	v := shop.Vault{
		Env: func(name string) string { return map[string]string{"A": " s3cret\n"}[name] },
		File: func(name string) ([]byte, error) {
			if name == "/x" {
				return []byte("from a file\n"), nil
			}
			return nil, os.ErrNotExist
		},
	}
	for ref, want := range map[shop.Secret]string{"$A": "s3cret", "@/x": "from a file"} {
		got, err := ref.Read(v)
		require.NoError(t, err)
		require.Equal(t, want, string(got))
	}
	_, err := shop.Secret("$B").Read(v)
	require.ErrorContains(t, err, "there is nothing in $B")
	_, err = shop.Secret("@/y").Read(v)
	require.ErrorIs(t, err, os.ErrNotExist)
	_, err = shop.Secret("clear").Read(v)
	require.Error(t, err)
	require.NotContains(t, err.Error(), "clear")
}
