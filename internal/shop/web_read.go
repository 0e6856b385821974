package shop

import (
	"slices"
	"strings"

	"tubhand/internal/shop/field"
)

// web checks the description of a gateway of kind http.
func (c *check) web(path string, k webKeys) *Web {
	w := &Web{PublicURL: strings.TrimSuffix(k.PublicURL, "/"), Answer: c.answer(path+".answer", k.Answer)}
	if k.PublicURL != "" {
		c.address(path+".public_url", k.PublicURL, "where the gateway reaches this server, like https://tubs.fernhollow.example")
	}
	w.Sign = c.sign(path+".signed", k.Signed, w.PublicURL)
	if k.Texts == nil {
		c.bad(path+".texts", "is missing; say where in a callback the fields of a text stand: from, to, body, id")
	} else {
		w.Texts = c.texts(path+".texts", *k.Texts)
	}
	if k.Reports != nil {
		w.Reports = c.reports(path+".reports", *k.Reports, w.Texts)
	}
	if k.Send == nil {
		c.bad(path+".send", "is missing; say how a message is handed over: url, and its fields under json or form")
	} else {
		w.Send = c.send(path+".send", *k.Send, w.PublicURL)
	}
	if w.Reports.ID.Given() && !w.Send.ID.Given() && k.Send != nil {
		c.bad(path+".reports.id", "is the gateway's own id of a message, so send: must say under id: where the gateway tells it; or use key: where it gives {key} back")
	}
	if k.Pictures != nil {
		w.Pictures = c.pictures(path+".pictures", *k.Pictures)
	}
	if w.Sign.How == SignForm && w.Texts.Format == field.JSON {
		c.bad(path+".signed.how", "hmac_url_form signs a form's fields, and texts: comes as json; see how the gateway signs JSON")
	}
	return w
}

func (c *check) answer(path string, k *answerKeys) Answer {
	if k == nil {
		return Answer{Status: 204}
	}
	a := Answer{Status: k.Status, Type: k.Type, Body: k.Body}
	switch {
	case k.Status == 0 && k.Body == "":
		a.Status = 204
	case k.Status == 0:
		a.Status = 200
	case k.Status < 200 || k.Status > 299:
		c.bad(path+".status", "%d does not mean taken; write 200 to 299, or leave it out for 204", k.Status)
	}
	if a.Status == 204 && k.Body != "" {
		c.bad(path+".body", "cannot go with status 204, which has none; write status: 200")
	}
	if len(k.Body) > 4096 {
		c.bad(path+".body", "has %d bytes; use at most 4096", len(k.Body))
	}
	if k.Body != "" && k.Type == "" {
		c.bad(path+".type", "is missing; write the content type of the answer, like application/json")
	}
	if strings.ContainsAny(k.Type, "\r\n") {
		c.bad(path+".type", "has a line end in it; take it out")
	}
	return a
}

// at reads where a value stands.
func (c *check) at(path, s, format string) field.Field {
	f, err := field.Parse(s, format)
	if err != nil {
		c.bad(path, "%v", err)
	}
	return f
}

// each reads a path to each of several things; in a form there is nothing of the kind.
func (c *check) each(path, s, format string) field.Path {
	if s == "" {
		return nil
	}
	if format != field.JSON {
		c.bad(path, "goes with json; a form holds one message")
		return nil
	}
	p, err := field.ParsePath(s)
	switch {
	case err != nil:
		c.bad(path, "%v", err)
	case !p.Spreads():
		c.bad(path, "leads to one value; write [] behind the name of the array, like %s[]", s)
	}
	return p
}

func (c *check) only(path string, m map[string]oneOrMore, format string) []When {
	var out []When
	for _, at := range keys(m) {
		out = append(out, When{At: c.at(path, at, format), Is: c.words(path, m[at])})
	}
	return out
}

func (c *check) texts(path string, k textsKeys) Texts {
	format := c.oneOf(path+".as", k.As, field.JSON, field.Form, field.Query)
	t := Texts{
		Format: format,
		Each:   c.each(path+".each", k.Each, format),
		Only:   c.only(path+".only", k.Only, format),
		From:   c.at(path+".from", k.From, format),
		To:     c.at(path+".to", k.To, format),
		Body:   c.at(path+".body", k.Body, format),
		ID:     c.at(path+".id", k.ID, format),
		Time:   c.at(path+".time", k.Time, format),
		UCS2:   k.Codes == "ucs2_hex",
	}
	if k.Codes != "" {
		c.oneOf(path+".body_as", k.Codes, "text", "ucs2_hex")
	}
	if k.From == "" {
		c.bad(path+".from", "is missing; write where the sender's number stands")
	}
	if k.Body == "" {
		c.bad(path+".body", "is missing; write where the words of the text stand")
	}
	if k.Media != nil {
		t.Media = c.media(path+".pictures", *k.Media, format)
	}
	return t
}

func (c *check) media(path string, k mediaKeys, format string) MediaFields {
	m := MediaFields{
		Each: c.each(path+".each", k.Each, format),
		URL:  c.at(path+".url", k.URL, format),
		Kind: c.at(path+".kind", k.Kind, format),
	}
	if k.URL == "" {
		c.bad(path+".url", "is missing; write where a picture's address stands")
	}
	return m
}

func (c *check) reports(path string, k reportsKeys, texts Texts) Reports {
	format := texts.Format
	if k.As != "" {
		format = c.oneOf(path+".as", k.As, field.JSON, field.Form, field.Query)
	}
	if k.Come != "" {
		c.oneOf(path+".come", k.Come, "to_their_own_address", "with_texts")
	}
	r := Reports{
		Given: true, Format: format, SameURL: k.Come == "with_texts", Tolerant: true,
		Each:  c.each(path+".each", k.Each, format),
		Only:  c.only(path+".only", k.Only, format),
		Key:   c.at(path+".key", k.Key, format),
		ID:    c.at(path+".id", k.ID, format),
		Line:  c.at(path+".line", k.Line, format),
		State: c.at(path+".state", k.State, format),
		Words: c.states(path, k),
	}
	if r.SameURL && format != texts.Format {
		c.bad(path+".as", "is %s, and reports come with the texts, which come as %s; one address takes one format", format, texts.Format)
	}
	if k.Key == "" && k.ID == "" {
		c.bad(path, "must say which message a report is about: key: where the gateway gives {key} back, or id: for its own id")
	}
	if k.Key != "" && k.ID != "" {
		c.bad(path+".id", "and key both tell which message it is; key is the surer one, so take id out")
	}
	if k.State == "" {
		c.bad(path+".state", "is missing; write where the gateway says how the message fared")
	}
	return r
}

// states turns the gateway's words around: from each to what it means.
func (c *check) states(path string, k reportsKeys) map[string]string {
	out := map[string]string{}
	for _, one := range []struct {
		state string
		words oneOrMore
	}{{"sent", k.Sent}, {"delivered", k.Delivered}, {"failed", k.Failed}} {
		for _, word := range c.words(path+"."+one.state, one.words) {
			if other, taken := out[word]; taken {
				c.bad(path+"."+one.state, "%q is under %s, too; a word means one thing", word, other)
			}
			out[word] = one.state
		}
	}
	if len(k.Failed) == 0 {
		c.bad(path+".failed", "is missing; write the words that mean that a message did not arrive, so that a person hears of it")
	}
	return out
}

// when reads one condition on the answer to a request, which is JSON.
func (c *check) when(path string, k *whenKeys) When {
	if k == nil {
		return When{}
	}
	w := When{At: c.at(path+".at", k.At, field.JSON), Is: c.words(path+".is", k.Is)}
	if k.At == "" || len(k.Is) == 0 {
		c.bad(path, "needs at: and is:, like {at: error.code, is: [blocked]}")
	}
	return w
}

func (c *check) pictures(path string, k picturesKeys) Pictures {
	p := Pictures{Fetch: k.Fetch, Auth: c.auth(path+".auth", k.Auth), MaxKB: 2048}
	if k.MaxKB != nil {
		p.MaxKB = *k.MaxKB
		if p.MaxKB < 1 || p.MaxKB > 10240 {
			c.bad(path+".max_kb", "%d is out of range; write 1 to 10240", p.MaxKB)
		}
	}
	for _, h := range k.Hosts {
		host := strings.ToLower(h)
		if !hostForm.MatchString(host) {
			c.bad(path+".hosts", "%q is no host name; write each in full, like files.reedline.example, without https:// and without *", h)
		}
		p.Hosts = append(p.Hosts, host)
	}
	if k.Fetch && len(p.Hosts) == 0 {
		c.bad(path+".hosts", "is missing; pictures are fetched from the hosts that stand here and from no other")
	}
	if slices.Contains([]string{AuthQuery, AuthField}, p.Auth.As) {
		c.bad(path+".auth.as", "%s does not go with pictures; write one of: basic, bearer, header", p.Auth.As)
	}
	return p
}
