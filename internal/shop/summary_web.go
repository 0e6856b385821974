package shop

import (
	"fmt"
	"maps"
	"net/url"
	"slices"
	"strings"

	"tubhand/internal/shop/field"
)

// about tells what was understood of a gateway.
func (g Gateway) about(mine bool) Section {
	w := g.Web
	says := []string{fmt.Sprintf("callbacks with texts come to %s, as %s", w.address("/in/sms/"+g.Name), formatInWords(w.Texts.Format)), w.textsInWords()}
	says = append(says, "signed: "+w.Sign.inWords())
	if w.Reports.Given {
		says = append(says, w.reportsInWords(g.Name))
	}
	says = append(says, w.answerInWords(), w.Send.inWords(), w.picturesInWords())
	about := "gateway " + g.Name + " (" + g.Kind + ")"
	if mine {
		about += ", which carries what the shop says"
	}
	return Section{about, says}
}

func (w *Web) address(path string) string {
	if w.PublicURL == "" {
		return "this server's " + path
	}
	return w.PublicURL + path
}

func formatInWords(format string) string {
	return map[string]string{field.JSON: "JSON", field.Form: "form fields", field.Query: "fields of the address (GET)"}[format]
}

func (w *Web) textsInWords() string {
	t := &w.Texts
	var parts []string
	if t.Each != nil {
		parts = append(parts, "each of "+t.Each.String())
	}
	for _, o := range t.Only {
		parts = append(parts, "where "+o.At.String()+" is "+strings.Join(o.Is, " or "))
	}
	for _, one := range []struct {
		name  string
		at    field.Field
		lacks string
	}{{"from", t.From, ""}, {"to", t.To, "to the shop's line"}, {"body", t.Body, ""},
		{"id", t.ID, "no id: a repeat is known by its words and time"}, {"time", t.Time, ""}, {"picture", t.Media.URL, ""}} {
		if one.at.Given() {
			parts = append(parts, one.name+" from "+one.at.String())
		} else if one.lacks != "" {
			parts = append(parts, one.lacks)
		}
	}
	return "a text: " + strings.Join(parts, ", ")
}

func (s Sign) inWords() string {
	window := ", a time at most " + s.Within.String() + " off"
	if !s.Timed() {
		window = ""
	}
	where := "header " + s.Header
	if s.Part != "" {
		where += ", part " + s.Part
	}
	switch s.How {
	case SignBody:
		over := "the body"
		if s.Timed() {
			over = fmt.Sprintf("the time, %q and the body", s.Between)
		}
		return fmt.Sprintf("HMAC-%s over %s in %s%s", strings.ToUpper(s.Hash), over, where, window)
	case SignForm:
		return fmt.Sprintf("HMAC-%s over the address and the form's fields in %s", strings.ToUpper(s.Hash), where)
	case SignStandard:
		return "Standard Webhooks" + window
	case SignEd25519:
		return "Ed25519 in " + where + window
	case SignBasic:
		return "no, a password comes along (Basic, user " + s.User + ")"
	case SignShared:
		if s.Query != "" {
			return "no, a secret comes along in the address, field " + s.Query
		}
		return "no, a secret comes along in " + where
	}
	return "no; open to anyone who knows the address"
}

func (w *Web) reportsInWords(name string) string {
	r := &w.Reports
	at := w.address("/in/status/" + name)
	if r.SameURL {
		at = "the same address"
	}
	which := "our key from " + r.Key.String()
	if r.ID.Given() {
		which = "the gateway's id from " + r.ID.String()
	}
	var words []string
	for _, state := range []string{"sent", "delivered", "failed"} {
		var list []string
		for _, word := range slices.Sorted(maps.Keys(r.Words)) {
			if r.Words[word] == state {
				list = append(list, word)
			}
		}
		if len(list) > 0 {
			words = append(words, strings.Join(list, "/")+" means "+state)
		}
	}
	return fmt.Sprintf("delivery reports come to %s: %s, state from %s; %s", at, which, r.State, strings.Join(words, ", "))
}

func (w *Web) answerInWords() string {
	if w.Answer.Body == "" {
		return fmt.Sprintf("a callback that was taken is answered %d without a body", w.Answer.Status)
	}
	return fmt.Sprintf("a callback that was taken is answered %d with %s: %s", w.Answer.Status, w.Answer.Type, w.Answer.Body)
}

func (s Send) inWords() string {
	out := fmt.Sprintf("messages go out by %s %s", s.Method, s.URL)
	switch {
	case s.JSON != nil:
		out += " as JSON"
	case s.Form != nil:
		out += " as a form"
	}
	if s.Auth.As != AuthNone {
		out += ", authorized by " + s.Auth.As
	}
	if s.keyed() {
		out += ", with a key that tells repeats"
	}
	if s.PerSecond > 0 {
		out += fmt.Sprintf(", at most %g a second", s.PerSecond)
	}
	return out
}

func (w *Web) picturesInWords() string {
	switch {
	case !w.Texts.Media.URL.Given():
		return "pictures are not looked for"
	case w.Pictures.Fetch:
		return "pictures are fetched from " + strings.Join(w.Pictures.Hosts, ", ") + " and nowhere else"
	}
	return "that a picture came is noted for staff; none is fetched"
}

// keyed tells whether a request carries our key.
func (s Send) keyed() bool {
	found := s.KeyHeader != "" || strings.Contains(s.URL, "{key}")
	look := func(text string) string { found = found || strings.Contains(text, "{key}"); return text }
	for _, m := range []map[string]string{s.Headers, s.Query, s.Form} {
		for _, v := range m {
			look(v)
		}
	}
	Texted(s.JSON, look)
	return found
}

// warnings tells what of a gateway is allowed and should be known.
func (g Gateway) warnings(v Vault) (out []string) {
	w := g.Web
	add := func(format string, args ...any) {
		out = append(out, "gateway "+g.Name+": "+fmt.Sprintf(format, args...))
	}
	switch w.Sign.How {
	case SignNone:
		add("its callbacks are not signed: whoever knows the address can text in any owner's name; let only the gateway reach it")
	case SignBasic, SignShared:
		add("a secret comes along with each callback: whoever reads one can post others, so take them over https alone")
	}
	if w.Sign.How == SignShared && w.Sign.Query != "" {
		add("its secret stands in the address, which proxies write to their logs")
	}
	if w.Sign.How != SignNone && !w.Sign.Timed() {
		add("no time is signed: a callback that somebody caught can be played again, and is only known for a repeat for three days and by its id")
	}
	for _, f := range w.uncovered() {
		add("%s is not covered by its signature: whoever caught one callback can post it again with another one", f)
	}
	if u, err := url.Parse(w.PublicURL); err == nil && u.Scheme == "http" && !loopback(u.Hostname()) {
		add("its callbacks come over http: whoever is on the way reads them; put a certificate before this server")
	}
	if !w.Texts.ID.Given() {
		add("its texts have no id: the same words twice in a minute count as one text")
	}
	if !w.Reports.Given {
		add("it reports nothing: a message that it took and lost goes unnoticed")
	}
	if !w.Send.keyed() {
		add("a request carries no {key}: where an answer gets lost, the owner gets the text twice")
	}
	if u, err := url.Parse(w.Send.URL); err == nil && u.Scheme == "http" && !loopback(u.Hostname()) {
		add("messages go out over http: whoever is on the way reads them; write https")
	}
	for _, s := range g.secrets() {
		if _, err := s.Read(v); err != nil {
			add("not there for whoever runs this: %v", err)
		}
	}
	return out
}

// uncovered lists the fields that count and stand where the signature does not reach.
func (w *Web) uncovered() (out []string) {
	for _, one := range []struct {
		name string
		at   field.Field
	}{{"from", w.Texts.From}, {"to", w.Texts.To}, {"body", w.Texts.Body}, {"id", w.Texts.ID}, {"time", w.Texts.Time},
		{"reports.key", w.Reports.Key}, {"reports.id", w.Reports.ID}, {"reports.state", w.Reports.State}} {
		place := one.at.String()
		header, query := strings.HasPrefix(place, "header:"), strings.HasPrefix(place, "query:")
		var bare bool
		switch w.Sign.How {
		case SignBody, SignEd25519:
			bare = header || query
		case SignForm:
			bare = header
		case SignStandard:
			bare = query || header && place != "header:Webhook-Id"
		}
		if bare {
			out = append(out, one.name+" in "+place)
		}
	}
	return out
}

func loopback(host string) bool {
	return host == "localhost" || host == "::1" || strings.HasPrefix(host, "127.")
}

// secrets are all that the description names.
func (g Gateway) secrets() []Secret {
	out := slices.Clone(g.Web.Sign.Secrets)
	for _, a := range []Auth{g.Web.Send.Auth, g.Web.Pictures.Auth} {
		if a.As != AuthNone {
			out = append(out, a.Secret)
		}
	}
	return out
}
