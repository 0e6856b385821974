package field_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/shop/field"
)

const callback = `{"account":{"line":"+15415550100"},"batch":[
	{"id":9007199254740993,"from":{"number":"+15415550142"},"words":"done","ok":true,"none":null,"a.b":"dotted"},
	{"id":"m2","from":{"number":15415550143},"files":[{"u":"x"},{"u":"y"}]}]}`

func place(t *testing.T, item int) *field.Place {
	t.Helper()
	top, err := field.ParseJSON([]byte(callback))
	require.NoError(t, err)
	p, err := field.ParsePath("batch[]")
	require.NoError(t, err)
	return &field.Place{Top: top, Item: p.All(top)[item], Header: http.Header{"X-Id": {"h1"}, "Twice": {"a", "b"}},
		Query: field.Pairs{{Name: "q", Value: "v"}}}
}

func TestValuesAreFoundInJSON(t *testing.T) {
	for _, c := range []struct {
		item     int
		at, want string
	}{
		{0, "id", "9007199254740993"}, // more digits than a float64 keeps
		{0, "from.number", "+15415550142"},
		{1, "from.number", "15415550143"},
		{0, "/account.line", "+15415550100"},
		{1, "/batch[0].words", "done"},
		{1, "files[1].u", "y"},
		{1, "files[2].u", ""},
		{0, "ok", "true"},
		{0, "none", ""},
		{0, "from", ""}, // an object is no text
		{0, `"a.b"`, "dotted"},
		{0, "words.deeper", ""},
		{0, "header:x-id", "h1"},
		{0, "header:x-none", ""},
		{0, "query:q", "v"},
	} {
		f, err := field.Parse(c.at, field.JSON)
		require.NoError(t, err, c.at)
		require.True(t, f.Given())
		got, err := f.Text(place(t, c.item))
		require.NoError(t, err)
		require.Equal(t, c.want, got, c.at)
	}
	twice, err := field.Parse("header:twice", field.JSON)
	require.NoError(t, err)
	_, err = twice.Text(place(t, 0))
	require.EqualError(t, err, "field Twice is there more than once")
}

func TestFormsAreReadAsTheStandardLibraryReadsThem(t *testing.T) {
	for _, raw := range []string{"", "a=1&b=2", "a", "=x", "a=%2B1+2&a=3", "&&a=1&", "%zz", "a=%", "a=1;b=2", "a=%C3%B1", "a==b&c"} {
		want, wrong := url.ParseQuery(raw)
		got, err := field.ParseForm(raw)
		require.Equal(t, wrong != nil, err != nil, raw)
		if wrong != nil {
			require.ErrorIs(t, err, field.ErrForm)
			continue
		}
		require.Equal(t, want, values(got), raw)
	}
}

func values(p field.Pairs) url.Values {
	v := url.Values{}
	for _, one := range p {
		v.Add(one.Name, one.Value)
	}
	return v
}

func TestAFieldThatIsThereTwiceIsRefused(t *testing.T) {
	p, err := field.ParseForm("from=a&x=1&from=b&x=2")
	require.NoError(t, err)
	_, err = p.One("from")
	require.EqualError(t, err, "field from is there more than once")
	got, err := p.One("none")
	require.NoError(t, err)
	require.Empty(t, got)
}

func TestNumberedFields(t *testing.T) {
	f, err := field.Parse("picture{n}", field.Form)
	require.NoError(t, err)
	got, err := f.Numbered("3").Text(&field.Place{Form: field.Pairs{{Name: "picture3", Value: "u"}}})
	require.NoError(t, err)
	require.Equal(t, "u", got)
	require.Equal(t, "picture{n}", f.String())
}

func TestJSONIsOneValue(t *testing.T) {
	for _, bad := range []string{"", "{", "{} {}", "{}x", "nul", strings.Repeat("[", 20000)} {
		_, err := field.ParseJSON([]byte(bad))
		require.ErrorIs(t, err, field.ErrJSON, "%.20s", bad)
	}
}

// A path is read back from what it writes, and leads nowhere without a panic.
func FuzzPath(f *testing.F) {
	for _, s := range []string{"a.b[0].c", "messages[]", "[]", `"x.y".z`, "a..b", "[0", "a[].b[]", "a[65535]"} {
		f.Add(s, callback)
	}
	f.Fuzz(func(t *testing.T, s, body string) {
		p, err := field.ParsePath(s)
		if err != nil {
			return
		}
		again, err := field.ParsePath(p.String())
		require.NoError(t, err, p.String())
		require.Equal(t, p, again)
		if v, err := field.ParseJSON([]byte(body)); err == nil {
			require.LessOrEqual(t, len(p.All(v)), 1000)
			p.One(v)
		}
	})
}

// A form is read as net/url reads it.
func FuzzForm(f *testing.F) {
	f.Add("a=1&b=%2B&c")
	f.Fuzz(func(t *testing.T, raw string) {
		want, wrong := url.ParseQuery(raw)
		got, err := field.ParseForm(raw)
		require.Equal(t, wrong != nil, err != nil)
		if err == nil {
			require.Equal(t, want, values(got))
		}
	})
}
