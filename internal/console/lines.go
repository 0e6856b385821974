package console

import (
	"strings"
	"time"

	"tubhand/internal/conversation"
	"tubhand/internal/smstext"
	"tubhand/internal/understand"
)

// lineView is a line of the transcript.
type lineView struct {
	ID         string
	Day        string // set on the first line of a day
	At         moment
	Kind       string // in, out, staff, note, page
	By         string
	Text       string
	Understood string
	Delivery   string
	Lost       bool        // it did not reach the owner
	Parts      int         // texts that it goes out as
	Again      bool        // what was understood was not kept: the text was read again for this page, without what was asked then
	Sent       string      // of an owner's text: its time, which names it in a correction
	Fields     []fieldView // what a correction begins with; none: it can't be corrected
	Read       bool        // a reading was taken from it
}

func (c *Console) lines(lines []conversation.Line, conv *conversation.Conversation, log []conversation.LogEntry) []lineView {
	out := make([]lineView, 0, len(lines))
	read := readBy(log)
	day := ""
	for i := range lines {
		l := &lines[i]
		v := lineView{
			ID: l.ID, At: c.moment(l.At), Kind: string(l.Direction), By: c.speaker(l, conv), Text: l.Text,
			Understood: strings.ReplaceAll(l.Understood, "_", " "), Delivery: deliveryWords(l.Delivery),
			Lost: l.Delivery == "failed" || l.Delivery == "dropped",
		}
		if v.At.Day != day {
			day = v.At.Day
			v.Day = day
		}
		if l.Direction == conversation.Out || l.Direction == conversation.Staff {
			v.Parts = countText(l.Text).Parts
		}
		if l.Direction == conversation.In && l.Text != "" && i >= len(lines)-mostRead {
			c.reading(&v, l, conv, read[l.At.UTC()])
		}
		out = append(out, v)
	}
	return out
}

// reading tells what was understood from a text and what a correction would begin with.
func (c *Console) reading(v *lineView, l *conversation.Line, conv *conversation.Conversation, read map[understand.Quantity]string) {
	if v.Understood == "" {
		m := understand.Understand(l.Text, understand.Context{Language: conv.Owner.Language, Asked: understand.AskedNothing})
		v.Understood, v.Again = strings.ReplaceAll(conversation.Gist(m), "_", " "), true
	}
	v.Sent, v.Read = l.At.UTC().Format(time.RFC3339Nano), len(read) > 0
	if v.Read || c.Clock.Now().Sub(l.At) < correctFor && mayBeTest(l.Text, v.Understood) {
		v.Fields = correction(read, conv.Tub.Sanitizer)
	}
}

// mostRead is how many of the last lines are looked at for what was read from them: reading
// a text again and a form for each take their time.
const mostRead = 60

// mayBeTest tells whether a text from which no reading was taken may have told one: it has a
// digit, or was not understood.
func mayBeTest(text, understood string) bool {
	return strings.ContainsAny(text, "0123456789") || strings.HasPrefix(understood, "other") || strings.Contains(understood, "ask back")
}

// correctFor is how long a text from which no reading was taken can be corrected to one: its
// form is not worth a page's room for ever.
const correctFor = 7 * 24 * time.Hour

// gsmPlain and gsmDouble are the characters that take one and two units of a text in
// the 7-bit alphabet, for the counter beside the reply.
var gsmPlain, gsmDouble = alphabet()

// alphabet asks the counter itself: the last character of the alphabet is the euro sign.
func alphabet() (one, two string) {
	for r := rune(1); r <= '\u20ac'; r++ {
		shape := smstext.Count(string(r))
		switch {
		case shape.Encoding != smstext.GSM7:
		case shape.Units == 1:
			one += string(r)
		default:
			two += string(r)
		}
	}
	return one, two
}
