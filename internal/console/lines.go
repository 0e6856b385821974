package console

import (
	"strings"

	"tubhand/internal/conversation"
	"tubhand/internal/smstext"
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
	Lost       bool // it did not reach the owner
	Parts      int  // texts that it goes out as
}

func (c *Console) lines(lines []conversation.Line, conv *conversation.Conversation) []lineView {
	out := make([]lineView, 0, len(lines))
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
			v.Parts = smstext.Count(l.Text).Parts
		}
		out = append(out, v)
	}
	return out
}

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
