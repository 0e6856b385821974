package console_test

import (
	"bytes"
	"context"
	"encoding/csv"
	"fmt"
	"html"
	"log/slog"
	"mime/multipart"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/console"
	"tubhand/internal/conversation"
	"tubhand/internal/shop"
	"tubhand/internal/turn"
	"tubhand/internal/understand"
	"tubhand/internal/wording"
	"tubhand/templates"
)

// realTurns has turns decided as they are at a shop.
func realTurns(t testing.TB) func(*console.Options) {
	t.Helper()
	words, err := wording.Load(templates.FS)
	require.NoError(t, err)
	return func(o *console.Options) {
		world, err := conversation.NewWorld(*o.Shop, o.Flows, words)
		require.NoError(t, err)
		o.Runner = turn.New(turn.Config{Store: o.Store, Shops: map[string]turn.Decider{o.Shop.Key: world}, Clock: o.Clock, Log: slog.New(slog.DiscardHandler)})
	}
}

func tokenOf(t testing.TB, page string) string {
	t.Helper()
	found := regexp.MustCompile(`name="token" value="([^"]+)"`).FindStringSubmatch(page)
	require.Len(t, found, 2, "the page has no form")
	return found[1]
}

func (d *desk) load(address string) conversation.Conversation {
	d.Helper()
	c, err := d.store.Load(context.Background(), "fernhollow", address)
	require.NoError(d, err)
	return c
}

func (d *desk) said(id string) string {
	d.Helper()
	lines, err := d.store.View(context.Background(), "fernhollow").Transcript(id, 100)
	require.NoError(d, err)
	var out []string
	for _, l := range lines {
		if l.Send {
			out = append(out, l.Text)
		}
	}
	return strings.Join(out, "\n")
}

func TestAddingAnOwner(t *testing.T) {
	d := newDesk(t, realTurns(t))
	_, page, _ := d.get("/staff/owners/add")
	form := url.Values{"token": {tokenOf(t, page)}, "name": {"Ada Lindqvist"}, "number": {"(541) 555-0142"}, "language": {"es"}, "size": {"1,420"},
		"unit": {"liters"}, "sanitizer": {"bromine"}, "invite": {"yes"}}
	status, page, _ := d.post("/staff/owners/add", form)
	require.Equal(t, http.StatusUnprocessableEntity, status)
	require.Contains(t, words(page), "Ask the owner first")
	require.Contains(t, page, `value="Ada Lindqvist"`, "what was typed is still there")

	form.Set("told", "yes")
	for range 2 { // a form that is sent twice acts once
		status, _, header := d.post("/staff/owners/add", form)
		require.Equal(t, http.StatusSeeOther, status)
		require.Equal(t, "/staff/conversation?with=%2B15415550142", header.Get("Location"))
	}
	c := d.load("+15415550142")
	require.Equal(t, int64(1), c.Version)
	require.Equal(t, "Ada Lindqvist", c.Owner.Name)
	require.Equal(t, "es", c.Owner.Language)
	require.Equal(t, "America/Los_Angeles", c.Owner.TimeZone)
	require.InDelta(t, 375.1, c.Tub.VolumeUSGal, 0.1)
	require.Equal(t, "bromine", c.Tub.Sanitizer)
	require.Equal(t, conversation.ByStaff, c.Consent.Record[0].How)
	require.Equal(t, "dana", c.Consent.Record[0].By)
	require.Contains(t, d.said(c.ID), "Fernhollow Tub Supply", "invited")

	_, page, _ = d.get("/staff/owners")
	require.Contains(t, words(page), "Ada Lindqvist (541) 555-0142 375 US gal, bromine Has not written yet")
}

func TestAnOwnerWhoCannotBeAdded(t *testing.T) {
	d := newDesk(t, realTurns(t))
	_, page, _ := d.get("/staff/owners/add")
	for want, change := range map[string]url.Values{
		"neither a number nor an e-mail address":      {"number": {""}},
		"write it with its area code":                 {"number": {"555-0142"}},
		"not a phone number":                          {"number": {"1-800-TUB-HAND"}},
		"write it as name@place.example":              {"number": {""}, "mail": {"nobody"}},
		"write digits only, such as 375":              {"size": {"big"}},
		"no tub holds 9000 gallons":                   {"size": {"9000"}},
		"no tub holds 20 liters":                      {"size": {"20"}, "unit": {"liters"}},
		"no tub holds NaN":                            {"size": {"NaN"}},
		`the sanitizer "salt" is not known`:           {"sanitizer": {"salt"}},
		`the language "fr" is not known; write en or`: {"language": {"fr"}},
		"longer than 60 characters":                   {"name": {strings.Repeat("x", 61)}},
		"came without its number":                     {"token": {"short"}},
	} {
		form := url.Values{"token": {tokenOf(t, page)}, "number": {"(541) 555-0142"}, "told": {"yes"}, "language": {"en"}, "unit": {"gallons"}}
		for k, v := range change {
			form[k] = v
		}
		status, answer, _ := d.post("/staff/owners/add", form)
		require.Equal(t, http.StatusUnprocessableEntity, status, want)
		require.Contains(t, html.UnescapeString(words(answer)), want)
	}
	_, err := d.store.Load(context.Background(), "fernhollow", "+15415550142")
	require.Error(t, err, "nothing was written")
}

func TestOwnersInPages(t *testing.T) {
	d := newDesk(t)
	for i := range 120 {
		d.put(conversation.Conversation{ID: fmt.Sprintf("+1541555%04d", i), Owner: conversation.Owner{Name: fmt.Sprintf("Owner %d <b>", i)}}, conversation.Effects{})
	}
	next, seen := "/staff/owners", 0
	for range 5 {
		_, page, _ := d.get(next)
		seen += strings.Count(page, `class="owner"`)
		require.NotContains(t, page, "<b>Owner 1 <b>", "names are text")
		link := regexp.MustCompile(`href="([^"]+)">Those before`).FindStringSubmatch(page)
		if link == nil {
			break
		}
		next = html.UnescapeString(link[1])
	}
	require.Equal(t, 120, seen)
	_, page, _ := d.get("/staff/owners?find=owner+77")
	require.Equal(t, 1, strings.Count(page, `class="owner"`))
	status, _, _ := d.get("/staff/owners?after=nowhere")
	require.Equal(t, http.StatusBadRequest, status)
}

// send posts an import.
func (d *desk) send(fields map[string]string, file string) (int, string) {
	d.Helper()
	var body bytes.Buffer
	w := multipart.NewWriter(&body)
	for k, v := range fields {
		require.NoError(d, w.WriteField(k, v))
	}
	if file != "" {
		part, err := w.CreateFormFile("file", "owners.csv")
		require.NoError(d, err)
		_, err = part.Write([]byte(file))
		require.NoError(d, err)
	}
	require.NoError(d, w.Close())
	answer, err := d.browser.Post(d.server.URL+"/staff/owners/import", w.FormDataContentType(), &body)
	require.NoError(d, err)
	status, page, _ := read(d, answer)
	return status, page
}

const list = "\ufeffName,Number,Gallons,Sanitizer,Language,Shoe size\r\n" +
	"Ada Lindqvist,(541) 555-0142,375,chlorine,en,9\r\n" +
	"Walt Greer,555-0143,410,chlorine,en,9\r\n" +
	"\"Okafor, June\",+1 541 555 0144,,,es,\r\n" +
	",,,,,\r\n" +
	"Ada again,541.555.0142,400,bromine,,\r\n" +
	"Theo,'+15415550145,80000,chlorine,,\r\n" +
	"Marisol,541-555-0146,300,bromine,en,\r\n"

func TestImport(t *testing.T) {
	d := newDesk(t, realTurns(t))
	d.put(conversation.Conversation{ID: "+15415550146", Owner: conversation.Owner{Name: "Marisol Vega", Addresses: []string{"+15415550146"}}, LastIn: d.clock.Now(),
		Tub: conversation.Tub{VolumeUSGal: 250, VolumeBy: "owner"}}, conversation.Effects{})
	status, page := d.send(nil, list)
	require.Equal(t, http.StatusOK, status)
	text := html.UnescapeString(words(page))
	require.Contains(t, text, `Line 3: the number "555-0143" can't be used`)
	require.Contains(t, text, "Line 6: (541) 555-0142 stands in line 2 already; keep one of the two")
	require.Contains(t, text, "Line 7: no tub holds 80000 gallons")
	require.Contains(t, text, "New 2")
	require.Contains(t, text, "8 Marisol (541) 555-0146 sanitizer")
	require.Equal(t, int64(1), d.count(), "nothing is done yet")

	fields := map[string]string{"step": "add", "token": tokenOf(t, page), "text": list}
	status, page = d.send(fields, "")
	require.Equal(t, http.StatusUnprocessableEntity, status)
	require.Contains(t, words(page), "Tick that all of them have agreed")
	require.Equal(t, int64(1), d.count())

	fields["told"] = "yes"
	for range 2 {
		status, page = d.send(fields, "")
		require.Equal(t, http.StatusOK, status)
		require.Contains(t, words(page), "owners were added or filled in 3 bad lines were left out")
	}
	require.Equal(t, int64(3), d.count())
	june := d.load("+15415550144")
	require.Equal(t, []any{"Okafor, June", "es", 0.0}, []any{june.Owner.Name, june.Owner.Language, june.Tub.VolumeUSGal})
	require.Empty(t, d.said("+15415550144"), "nobody is written to")
	marisol := d.load("+15415550146")
	require.Equal(t, []any{"Marisol Vega", 250.0, "owner", "bromine"}, []any{marisol.Owner.Name, marisol.Tub.VolumeUSGal, marisol.Tub.VolumeBy, marisol.Tub.Sanitizer}, "what was told stays")
	require.Equal(t, int64(2), marisol.Version)
}

func (d *desk) count() int64 {
	d.Helper()
	n, err := d.store.View(context.Background(), "fernhollow").Counts()
	require.NoError(d, err)
	return n.Conversations
}

func TestAFileThatCannotBeImported(t *testing.T) {
	d := newDesk(t, realTurns(t))
	for want, file := range map[string]string{
		"nothing in it yet":              "\n \n",
		"is not UTF-8":                   "name,number\nJos\xe9,5415550142\n",
		"must name the columns":          "Ada,(541) 555-0142\n",
		"columns are called number":      "number,number\n1,2\n",
		"Keep one of them":               "number,gallons,liters\n1,2,3\n",
		"larger than 1 MB":               "number\n" + strings.Repeat("x", 1<<20),
		"what follows was not read":      "number\n5415550142\n\"5415550143\n5415550144\n",
		"only 2000 lines":                "number\n" + strings.Repeat("x\n", 2001),
		"Line 2: there is neither":       "number,name\n,Ada\n",
		"(541) 555-0142 375 US gal, chl": "name;number;gallons;sanitizer\nAda;5415550142;375;Chlorine\n",
	} {
		_, page := d.send(nil, file)
		require.Contains(t, html.UnescapeString(words(page)), want)
	}
	require.Zero(t, d.count())
}

func TestExportIsInertAndComesBack(t *testing.T) {
	d := newDesk(t, realTurns(t))
	d.put(conversation.Conversation{ID: "+442079460000", Owner: conversation.Owner{Name: `=HYPERLINK("http://bad.example","x")`, Addresses: []string{"+442079460000", "ada@owner.example"}},
		Tub: conversation.Tub{VolumeUSGal: 375, Readings: map[understand.Quantity]conversation.Measured{understand.PH: {At: d.clock.Now()}}}}, conversation.Effects{})
	for i := range 600 {
		d.put(conversation.Conversation{ID: fmt.Sprintf("+1541555%04d", i), Owner: conversation.Owner{Name: "-1+1"}}, conversation.Effects{})
	}
	status, text, header := d.get("/staff/owners.csv")
	require.Equal(t, http.StatusOK, status)
	require.Contains(t, header.Get("Content-Disposition"), "attachment")
	rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 602)
	require.Equal(t, []string{`'=HYPERLINK("http://bad.example","x")`, "'+442079460000", "ada@owner.example", "", "375", "", "", "false", "2026-06-20", "", "", ""}, rows[601])
	for _, row := range rows {
		for _, cell := range row {
			require.False(t, cell != "" && strings.ContainsRune("=+-@\t\r", rune(cell[0])), "%q is a formula to a spreadsheet", cell)
		}
	}
	_, page := d.send(nil, text)
	require.NotContains(t, page, "Bad lines", "an export is an import")
	_, found, _ := d.get("/staff/owners.csv?find=2079460000")
	require.Equal(t, 2, strings.Count(found, "\r\n"))
}

func TestTheCard(t *testing.T) {
	printing := func(words map[string]string) func(*console.Options) {
		return func(o *console.Options) {
			copied := *o.Shop
			copied.Consent.Printed = words
			o.Shop = &copied
		}
	}
	_, page, _ := newDesk(t, printing(map[string]string{"TUB7": "By texting TUB7 you agree to be bored.", "TUB8": "Another."})).get("/staff/owners/card?word=nonsense")
	require.Contains(t, words(page), "Text TUB7 to "+numberOf(shop.Demo().Shop.Line))
	require.Contains(t, words(page), "you agree to be bored")
	_, page, _ = newDesk(t, printing(nil)).get("/staff/owners/card")
	require.Contains(t, words(page), "Text FLUSH to ")
	require.Contains(t, words(page), "STOP to end", "the usual words, where the shop has none")
}

func numberOf(e164 string) string { return fmt.Sprintf("(%s) %s-%s", e164[2:5], e164[5:8], e164[8:]) }

func TestWhatIsDue(t *testing.T) {
	d := newDesk(t)
	now := d.clock.Now()
	tested := func(ago time.Duration) map[understand.Quantity]conversation.Measured {
		return map[understand.Quantity]conversation.Measured{understand.PH: {At: now.Add(-ago)}}
	}
	const day = 24 * time.Hour
	d.put(conversation.Conversation{ID: "+15415550142", Owner: conversation.Owner{Name: "Ada"}, Tub: conversation.Tub{Readings: tested(9 * day)}}, conversation.Effects{})
	d.put(conversation.Conversation{ID: "+15415550143", Owner: conversation.Owner{Name: "Walt"}, Tub: conversation.Tub{LastFlush: now.Add(-110 * day), Readings: tested(1 * day)}}, conversation.Effects{})
	_, page, _ := d.get("/staff/due")
	text := words(page)
	require.Contains(t, text, "Overdue 1 Thu Jun 11 Test : Ada", "and filters that have been due for months are nobody's")
	require.Contains(t, text, "Next week, from Mon Jun 15 1 Fri Jun 19 Test : Walt")
	require.Contains(t, text, "Week of Mon Jun 22 1 Tue Jun 23 Flush : Walt")
	_, page, _ = d.get("/staff/due?chore=flush")
	require.NotContains(t, page, ">Ada<")
}
