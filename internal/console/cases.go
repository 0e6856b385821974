package console

import (
	"strings"

	"tubhand/internal/conversation"
	"tubhand/internal/safety"
)

// caseView is a handover that nobody has closed.
type caseView struct {
	ID       string
	Cause    string
	Severity string // as stored; also a class of the style sheet
	Words    string
	Facts    string
	Short    string // the facts, for a glance
	Opened   moment
	Waiting  string
	By       string // who has it; "" nobody yet
	Claimed  moment
	Notes    []remark

	rank int
}

// remark is what one of the staff wrote down about a case.
type remark struct {
	By, Text string
	At       moment
}

func (c *Console) caseView(h *conversation.Handover) caseView {
	v := caseView{
		ID: h.ID, Cause: plain(h.Cause), Severity: h.Severity, Words: severityWords(h.Severity), Facts: h.Facts, Short: glance(h.Facts),
		Opened: c.moment(h.Opened), Waiting: span(c.Clock.Now().Sub(h.Opened)), Claimed: c.moment(h.Claimed),
		rank: safety.Severity(h.Severity).Rank(),
	}
	if h.By != "" {
		v.By = c.staffName(h.By)
	}
	for _, n := range h.Notes {
		v.Notes = append(v.Notes, remark{By: c.staffName(n.By), Text: n.Text, At: c.moment(n.At)})
	}
	return v
}

// glance picks what says most on the board, where the place of the service and the tub's
// state stand beside it anyway: the owner's own words, else how the facts begin.
func glance(facts string) string {
	const own = "they wrote "
	if at := strings.LastIndex(facts, own); at >= 0 {
		return shorten("T"+facts[at+1:], 110)
	}
	return shorten(facts, 110)
}
