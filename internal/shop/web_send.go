package shop

import (
	"fmt"
	"regexp"
	"strings"
	"time"

	"tubhand/internal/shop/field"
)

// send checks how a message is handed over.
func (c *check) send(path string, k sendKeys, publicURL string) Send {
	s := Send{
		Method: "POST", URL: c.sendURL(path+".url", k.URL), Headers: k.Headers, Query: k.Query, Form: k.Form,
		KeyHeader: k.KeyHeader, Auth: c.auth(path+".auth", k.Auth), Taken: k.Taken,
		TakenWhen: c.when(path+".taken_when", k.TakenWhen), ID: c.at(path+".id", k.ID, field.JSON),
		LostWhen: c.when(path+".lost_when", k.LostWhen), AgainWhen: c.when(path+".again_when", k.AgainWhen),
		Timeout: 10 * time.Second,
	}
	if k.Method != "" {
		s.Method = c.oneOf(path+".method", k.Method, "POST", "PUT", "GET")
	}
	for i, status := range k.Taken {
		if status < 200 || status > 299 {
			c.bad(fmt.Sprintf("%s.taken[%d]", path, i), "%d does not mean taken in HTTP; write statuses from 200 to 299", status)
		}
	}
	for _, name := range keys(k.Headers) {
		c.header(path+".headers", name)
		if strings.ContainsAny(k.Headers[name], "\r\n") {
			c.bad(path+".headers."+name, "has a line end in it; take it out")
		}
	}
	if k.KeyHeader != "" {
		c.header(path+".key_header", k.KeyHeader)
	}
	c.pacing(path, k, &s)
	c.body(path, k, &s)
	c.placeholders(path, s, publicURL)
	return s
}

// sendURL checks the address; placeholders stand in its path or query.
func (c *check) sendURL(path, s string) string {
	host, _, _ := strings.Cut(strings.TrimPrefix(strings.TrimPrefix(s, "https://"), "http://"), "/")
	if strings.ContainsAny(host, "{}") {
		c.bad(path, "has a placeholder in its host; messages go to one host")
		return s
	}
	c.address(path, placeholder.ReplaceAllString(s, "x"), "the http or https address that takes outbound messages")
	return s
}

func (c *check) pacing(path string, k sendKeys, s *Send) {
	if k.PerSecond != nil {
		s.PerSecond = *k.PerSecond
		if !(s.PerSecond >= 0.01 && s.PerSecond <= 10000) {
			c.bad(path+".per_second", "%g is out of range; write how many messages a second the gateway takes, 0.01 to 10000", s.PerSecond)
		}
	}
	if k.Timeout != "" {
		d, err := time.ParseDuration(k.Timeout)
		if err != nil || d < time.Second || d > 10*time.Second {
			c.bad(path+".timeout", "%q is no time from 1s to 10s; write one like 8s", k.Timeout)
		}
		s.Timeout = d
	}
}

// body checks what the request carries: JSON, a form, or with GET the address alone.
func (c *check) body(path string, k sendKeys, s *Send) {
	switch {
	case k.JSON != nil && k.Form != nil:
		c.bad(path+".form", "and json are both there; a request has one body")
	case s.Method == "GET" && (k.JSON != nil || k.Form != nil):
		c.bad(path+".method", "GET carries no body; write the fields under query")
	case s.Method == "GET" && k.Query == nil && !strings.Contains(k.URL, "{body}"):
		c.bad(path+".query", "is missing; write the fields of the request")
	case s.Method != "GET" && k.JSON == nil && k.Form == nil:
		c.bad(path, "must say what the request carries: fields under json or form, like json: {to: \"{to}\", text: \"{body}\"}")
	}
	if k.JSON != nil {
		s.JSON = c.jsonTree(path+".json", k.JSON, 0)
	}
}

// jsonTree checks a JSON body and gives it as encoding/json has it.
func (c *check) jsonTree(path string, v any, depth int) any {
	if depth > 10 {
		c.bad(path, "is nested more than 10 deep")
		return nil
	}
	switch v := v.(type) {
	case map[string]any:
		out := make(map[string]any, len(v))
		for _, name := range keys(v) {
			out[name] = c.jsonTree(path+"."+name, v[name], depth+1)
		}
		return out
	case []any:
		out := make([]any, len(v))
		for i := range v {
			out[i] = c.jsonTree(fmt.Sprintf("%s[%d]", path, i), v[i], depth+1)
		}
		return out
	case string, bool, nil, int, int64, uint64, float64:
		return v
	}
	c.bad(path, "is nothing that JSON has; write texts, numbers, true, false, lists and mappings")
	return nil
}

var placeholder = regexp.MustCompile(`\{[a-z_]*\}`)

// placeholders checks each one in all texts of a request, and that the message is told.
func (c *check) placeholders(path string, s Send, publicURL string) {
	seen := map[string]bool{}
	look := func(at, text string) {
		for _, p := range placeholder.FindAllString(text, -1) {
			seen[p] = true
			if !strings.Contains(" "+strings.Join(Placeholders(), " ")+" ", " "+p+" ") {
				c.bad(at, "%s is not known; write one of: %s", p, strings.Join(Placeholders(), ", "))
			}
		}
	}
	look(path+".url", s.URL)
	for _, part := range []struct {
		name   string
		fields map[string]string
	}{{"headers", s.Headers}, {"query", s.Query}, {"form", s.Form}} {
		for _, k := range keys(part.fields) {
			look(path+"."+part.name+"."+k, part.fields[k])
		}
	}
	Texted(s.JSON, func(text string) string { look(path+".json", text); return text })
	if s.URL != "" && (s.JSON != nil || s.Form != nil || s.Query != nil) {
		if !seen["{body}"] {
			c.bad(path, "nowhere says {body}: the words of the message would be missing")
		}
		if !seen["{to}"] && !seen["{to_digits}"] {
			c.bad(path, "nowhere says {to} or {to_digits}: the gateway would not know whom to text")
		}
	}
	if seen["{secret}"] != (s.Auth.As == AuthField) {
		c.bad(path+".auth", "{secret} among the fields and auth: {as: field, secret: ...} go together")
	}
	if seen["{report_url}"] && publicURL == "" {
		c.bad(path, "{report_url} needs public_url: beside send, like https://tubs.fernhollow.example")
	}
}

// Texted gives a copy of a JSON tree in which each text was replaced by what fill gives.
func Texted(v any, fill func(string) string) any {
	switch v := v.(type) {
	case map[string]any:
		out := make(map[string]any, len(v))
		for name := range v {
			out[name] = Texted(v[name], fill)
		}
		return out
	case []any:
		out := make([]any, len(v))
		for i := range v {
			out[i] = Texted(v[i], fill)
		}
		return out
	case string:
		return fill(v)
	}
	return v
}

func (c *check) auth(path string, k *authKeys) Auth {
	if k == nil {
		return Auth{}
	}
	a := Auth{As: c.oneOf(path+".as", k.As, AuthBasic, AuthBearer, AuthHeader, AuthQuery, AuthField),
		User: k.User, Name: k.Name, Secret: c.secret(path+".secret", k.Secret)}
	switch {
	case k.As == AuthBasic && k.User == "":
		c.bad(path+".user", "is missing; write the user that the gateway knows")
	case k.As == AuthHeader:
		c.header(path+".name", k.Name)
	case k.As == AuthQuery && k.Name == "":
		c.bad(path+".name", "is missing; write the field of the address")
	}
	return a
}
