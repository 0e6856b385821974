package console

import (
	"strings"
	"time"

	"tubhand/internal/conversation"
)

// timerView is a pending reminder and what may be done with it.
type timerView struct {
	ID, What string
	Due      moment
	Field    string // the time as a form's field has it, in the shop's zone
	Guarded  bool   // it watches over a tub at a dangerous moment
	Page     bool   // it calls staff; taking the case ends it
	NoDrop   string // why it can't be canceled now; ""
	NoNow    string // why it can't happen at once; ""
}

// fieldTime is how a form's date and time is written.
const fieldTime = "2006-01-02T15:04"

func (s *site) timers(conv *conversation.Conversation, reminders []conversation.Reminder) []timerView {
	out := make([]timerView, 0, len(reminders))
	for _, r := range reminders {
		ask := func(act string) string {
			return conversation.CheckTimer(s.Flows, conv, conversation.StaffAction{Act: act, Reminder: r.ID}, s.Clock.Now())
		}
		out = append(out, timerView{
			ID: r.ID, What: reminderWords(r.Name), Due: s.moment(r.Due), Field: r.Due.In(s.zone).Format(fieldTime),
			Guarded: conversation.Guarded(s.Flows, conv, r.Name), Page: strings.HasPrefix(r.Name, "page:"),
			NoDrop: ask(conversation.DropTimer), NoNow: ask(conversation.FireTimer),
		})
	}
	return out
}

// checkTimer completes what a form asks for with a reminder.
func (s *site) checkTimer(a *conversation.StaffAction, at string, conv *conversation.Conversation) error {
	if a.Act == conversation.MoveTimer {
		due, err := time.ParseInLocation(fieldTime, at, s.zone)
		if err != nil {
			return fault("That is no time. Choose a day and a time, then move it.")
		}
		a.At = due.UTC()
	}
	if why := conversation.CheckTimer(s.Flows, conv, *a, s.Clock.Now()); why != "" {
		return fault("Nothing was changed: " + why + ".")
	}
	return nil
}
