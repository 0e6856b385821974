package console

import (
	"crypto/rand"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/gin-gonic/gin"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
)

// The most characters of a reply, and of an outcome or a note.
const (
	mostReply   = 900
	mostOutcome = 300
)

// tokenForm is what a form's token looks like. It is made where the form is shown and
// becomes the dedupe mark, so that a form sent twice acts once.
var tokenForm = regexp.MustCompile(`^[A-Za-z0-9]{16,64}$`)

func newToken() string { return rand.Text() }

// fault is what is wrong with a form: a sentence for the person who sent it.
type fault string

// Error implements error.
func (f fault) Error() string { return string(f) }

// act turns a form into a staff event and has it handled as a turn.
func (s *site) act(g *gin.Context) {
	event, err := s.staffEvent(g)
	var wrong fault
	switch {
	case errors.As(err, &wrong):
		s.problem(g, http.StatusUnprocessableEntity, string(wrong))
		return
	case errors.Is(err, store.ErrNotFound):
		s.problem(g, http.StatusNotFound, "There is no conversation with that number at this shop.")
		return
	case err != nil:
		s.failed(g, "read a conversation", err)
		return
	}
	err = s.Runner.Handle(g.Request.Context(), s.Shop.Key, event)
	if err != nil && !errors.Is(err, store.ErrDuplicate) {
		s.failed(g, "handle a staff action", err)
		return
	}
	if event.Staff.Act == conversation.Reply && !s.said(g, &event) {
		s.problem(g, http.StatusConflict, "What you sent from here before went out after all, so these other words did not: see the transcript, then send them again.")
		return
	}
	s.present.writes(event.From, event.Staff.By, time.Time{})
	if err == nil {
		s.acted(g, event.From, &event.Staff)
	}
	g.Redirect(http.StatusSeeOther, s.talkPath(g.PostForm("conversation")))
}

// said looks whether a reply stands in the transcript. A form that is sent again, since its
// answer got lost, acts once; where its words were changed in between, the new ones have not
// gone out, and whoever wrote them has to know.
func (s *site) said(g *gin.Context, event *conversation.Event) bool {
	lines, err := s.Store.View(g.Request.Context(), s.Shop.Key).Transcript(event.From, lookBack)
	if err != nil {
		return true // it is committed; that it can't be shown is told by the page
	}
	return slices.ContainsFunc(lines, func(l conversation.Line) bool {
		return l.By == event.Staff.By && l.Text == event.Staff.Text || l.Direction == conversation.Note && strings.HasSuffix(l.Text, event.Staff.Text)
	})
}

// lookBack is how many of the last lines a reply is looked for in.
const lookBack = 60

func (s *site) talkPath(id string) string {
	return s.base + "conversation?with=" + url.QueryEscape(id)
}

// staffEvent reads and checks a form. Its error is a fault when the form is wrong.
func (s *site) staffEvent(g *gin.Context) (conversation.Event, error) {
	if err := g.Request.ParseForm(); err != nil {
		return conversation.Event{}, fault("That was too long or could not be read, so nothing was done.")
	}
	token := g.PostForm("token")
	if !tokenForm.MatchString(token) {
		return conversation.Event{}, fault("The form came without its number, so nothing was done. Reload the page and try again.")
	}
	conv, err := s.Store.View(g.Request.Context(), s.Shop.Key).Conversation(g.PostForm("conversation"))
	if err != nil {
		return conversation.Event{}, err
	}
	me := s.me(g)
	action := conversation.StaffAction{
		Act: g.PostForm("act"), By: me.Key, Name: me.Name, Handover: g.PostForm("handover"),
		Text: strings.TrimSpace(g.PostForm("text")), State: g.PostForm("state"), Flow: g.PostForm("flow"),
		Fact: g.PostForm("fact"), Value: strings.TrimSpace(g.PostForm("value")), Reason: strings.TrimSpace(g.PostForm("reason")),
		Reminder: g.PostForm("reminder"),
	}
	if err := s.check(&action, g.Request.PostForm, &conv); err != nil {
		return conversation.Event{}, err
	}
	return conversation.Event{
		ID: "staff:" + me.Key + ":" + token, Kind: conversation.StaffAct, From: conv.ID,
		To: s.Shop.Line, Gateway: s.Shop.Gateway, Staff: action,
	}, nil
}

// check looks at what a form asks for. What another member of staff has done meanwhile
// is for Decide to settle; here only what could never be right is turned away.
func (s *site) check(a *conversation.StaffAction, form url.Values, conv *conversation.Conversation) error {
	if !utf8.ValidString(a.Text + a.Value + a.Reason) {
		return fault("The text has broken characters in it, so nothing was sent.")
	}
	switch a.Act {
	case conversation.Claim:
		return nil
	case conversation.Correct:
		return checkReadings(a, form)
	case conversation.SetFact:
		return checkFact(a)
	case conversation.MoveTimer, conversation.DropTimer, conversation.FireTimer:
		return s.checkTimer(a, form.Get("at"), conv)
	case conversation.Pause:
		return checkLength(a.Reason, mostOutcome)
	case conversation.Speak:
		if !slices.ContainsFunc(languages(""), func(l choiceView) bool { return l.Value == a.Value }) {
			return fault("There are no texts in that language.")
		}
		return nil
	case conversation.Reply:
		return checkReply(a.Text)
	case conversation.CloseIt:
		if a.Text == "" {
			return fault("Say in a few words how it ended, then close it.")
		}
		return checkLength(a.Text, mostOutcome)
	case conversation.NoteIt:
		if a.Text == "" {
			return fault("There is nothing written down yet.")
		}
		return checkLength(a.Text, mostOutcome)
	case conversation.HandBack:
		if err := checkLength(a.Text, mostOutcome); err != nil {
			return err
		}
		return s.checkState(a.State, conv.Service)
	case conversation.StartIt:
		if _, ok := s.Flows.Flow(a.Flow); !ok {
			return fault("There is no service of that name.")
		}
		return nil
	}
	return fault("The form asked for something that this page cannot do.")
}

// checkFact: a fact is changed only for a reason that others can read.
func checkFact(a *conversation.StaffAction) error {
	if wrong := conversation.CheckFact(a.Fact, a.Value); wrong != "" {
		return fault(wrong + " Nothing was changed.")
	}
	if a.Reason == "" {
		return fault("Say in a few words why, for whoever wonders later. Nothing was changed.")
	}
	return checkLength(a.Reason, mostOutcome)
}

func checkReply(text string) error {
	if text == "" {
		return fault("There is no text to send yet.")
	}
	return checkLength(text, mostReply)
}

func checkLength(text string, most int) error {
	if n := utf8.RuneCountInString(text); n > most {
		return fault(fmt.Sprintf("That is %d characters long; at most %d fit. Nothing was sent.", n, most))
	}
	return nil
}

// checkState: a hand-back goes on where it was, or at a state of the running flow.
func (s *site) checkState(state string, service *conversation.Service) error {
	if state == "" {
		return nil
	}
	if service != nil {
		if f, ok := s.Flows.Flow(service.Flow); ok {
			if _, ok := f.State(state); ok {
				return nil
			}
		}
	}
	return fault("The service has no such step any more. Reload the page and choose again.")
}
