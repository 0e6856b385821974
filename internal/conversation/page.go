package conversation

import (
	"hash/fnv"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"

	"tubhand/internal/safety"
	"tubhand/internal/smstext"
)

// pageReminder begins the name of a reminder that calls the next person.
const pageReminder = "page:"

// What a shop that sets no times of its own gets. Our decisions.
const (
	usualNext      = 10 * time.Minute
	usualAgain     = 30 * time.Minute
	usualEmergency = 3 * time.Minute
)

// codeLetters leaves out what is mistaken for something else on a small screen.
const codeLetters = "ACDEFGHJKMNPQRTUVWXY34679"

// PageCode makes the four characters that staff reply to take a handover. The same id
// always gives the same code.
func PageCode(handover string) string {
	h := fnv.New32a()
	h.Write([]byte(handover))
	sum := h.Sum32()
	code := make([]byte, 4)
	for i := range code {
		code[i] = codeLetters[sum%uint32(len(codeLetters))]
		sum /= uint32(len(codeLetters))
	}
	return string(code)
}

// page begins calling staff for a handover, or calls again where it has become worse.
// What a technician will see in the queue calls nobody.
func (t *turn) page(h *Handover, worse bool) {
	severity := safety.Severity(h.Severity)
	if severity.Rank() < safety.PersonSoon.Rank() || len(t.w.shop.OnCall) == 0 || h.By != "" {
		return
	}
	i := t.paged(h.ID)
	switch {
	case i < 0:
		t.c.Pages = append(t.c.Pages, Paged{Handover: h.ID})
		i = len(t.c.Pages) - 1
	case !worse:
		return
	}
	t.callNext(i, h)
}

// paged finds the calling for a handover; -1 where there is none.
func (t *turn) paged(handover string) int {
	return slices.IndexFunc(t.c.Pages, func(p Paged) bool { return p.Handover == handover })
}

// callNext calls whoever is next and sets the time after which someone else is. In an
// emergency that is everyone, again and again, until one takes it. Otherwise it is one
// after the other and then everyone; while the shop is closed one person gets word at
// once, and the rest waits for the opening.
func (t *turn) callNext(i int, h *Handover) {
	p := &t.c.Pages[i]
	policy := t.w.shop.Paging
	after := or(policy.Emergency, usualEmergency)
	switch {
	case h.Severity == string(safety.Emergency):
		t.callAll(p, h)
	case !t.open() && len(p.Called) == 0:
		t.callOne(p, h, "page.notice")
		after = t.untilOpen()
	case !t.open():
		after = t.untilOpen()
	case p.All || !t.callOne(p, h, "page.call"):
		t.callAll(p, h)
		after = or(policy.Again, usualAgain)
	default:
		after = or(policy.Next, usualNext)
	}
	t.takeBack(p.Next)
	p.Next = t.set(Reminder{Name: pageReminder + p.Handover, Due: t.now.Add(after)})
}

// callOne calls the first person on duty who has not been called; false when there is
// none left.
func (t *turn) callOne(p *Paged, h *Handover, key string) bool {
	for _, who := range t.w.shop.OnCall {
		if !slices.Contains(p.Called, who.Key) && t.onDuty(who) {
			t.callPerson(p, h, who, key)
			return true
		}
	}
	return false
}

// callAll calls everyone on duty, or everyone where nobody is.
func (t *turn) callAll(p *Paged, h *Handover) {
	p.All = true
	called := false
	for _, who := range t.w.shop.OnCall {
		if t.onDuty(who) {
			t.callPerson(p, h, who, "page.call")
			called = true
		}
	}
	if called {
		return
	}
	for _, who := range t.w.shop.OnCall {
		t.callPerson(p, h, who, "page.call")
	}
}

func (t *turn) callPerson(p *Paged, h *Handover, who Pager, key string) {
	if !slices.Contains(p.Called, who.Key) {
		p.Called = append(p.Called, who.Key)
	}
	words := t.words()
	words.Code, words.Owner, words.Person = h.Code, t.c.Owner.Addresses[0], t.w.shop.StaffName(who.Key)
	words.Cause = strings.ReplaceAll(h.Cause, "_", " ")
	words.Text = shorten(inAlphabet(t.lastHeard()), 90)
	if h.Severity == string(safety.Emergency) {
		words.Cause = "EMERGENCY, " + words.Cause
	}
	t.toStaff(who, key, words)
}

// inAlphabet writes a text in the 7-bit alphabet, letters without the accents that it
// lacks and without what it has nothing for: one accent would halve what fits a page.
// The transcript has the owner's own words.
func inAlphabet(text string) string {
	var b strings.Builder
	for _, r := range smstext.Fold(text) {
		if r == '\n' || r == '\r' {
			r = ' '
		}
		if _, ok := smstext.Septets(string(r)); ok {
			b.WriteRune(r)
			continue
		}
		base, _ := utf8.DecodeRuneInString(norm.NFD.String(string(r)))
		if _, ok := smstext.Septets(string(base)); ok {
			b.WriteRune(base)
		}
	}
	return strings.TrimSpace(b.String())
}

// lastHeard is what the owner wrote in this turn, for a page.
func (t *turn) lastHeard() string {
	if t.ev.Kind != TextIn {
		return ""
	}
	return t.ev.Text
}

// pageDue calls the next person for a handover that nobody has taken.
func (t *turn) pageDue() {
	i := t.paged(strings.TrimPrefix(t.ev.Reminder.Name, pageReminder))
	if i < 0 || t.c.Pages[i].Next.ID != t.ev.Reminder.ID {
		return
	}
	t.c.Pages[i].Next = Pending{}
	if h := t.openByID(t.c.Pages[i].Handover); h != nil && h.By == "" {
		t.callNext(i, h)
	}
}

// pageFailed moves on at once where a page could not be delivered.
func (t *turn) pageFailed() {
	t.note("A page to " + t.w.shop.StaffName(t.ev.Failed.By) + " could not be delivered.")
	for i := range t.c.Pages {
		h := t.openByID(t.c.Pages[i].Handover)
		if h != nil && h.By == "" && strings.Contains(t.ev.Failed.Text, h.Code) {
			t.callNext(i, h)
			return
		}
	}
}

// answered ends the calling for a handover; with a taker the others called are told.
func (t *turn) answered(h Handover, by string) {
	i := t.paged(h.ID)
	if i < 0 {
		return
	}
	p := t.c.Pages[i]
	t.takeBack(p.Next)
	t.c.Pages = slices.Delete(t.c.Pages, i, i+1)
	for _, who := range t.w.shop.OnCall {
		if !slices.Contains(p.Called, who.Key) {
			continue
		}
		words := t.words()
		words.Code, words.Owner, words.Person = h.Code, t.c.Owner.Addresses[0], t.w.shop.StaffName(by)
		key := "page.taken"
		if who.Key == by {
			key = "page.yours"
		}
		t.toStaff(who, key, words)
	}
}

func (t *turn) openByID(id string) *Handover {
	return t.openWhere(func(h Handover) bool { return h.ID == id })
}
