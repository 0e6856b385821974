package console

import (
	"net/http"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
)

// logView is the page of what staff did.
type logView struct {
	Entries []logEntry
	Older   int64 // the number to read on from; 0: there is no more
	Newest  bool
}

type logEntry struct {
	At                      moment
	Who, Act, About, Detail string
	Talk                    string // the conversation that it is about; "" for none
}

// logPageSize is how many entries a page has.
const logPageSize = 100

func (s *site) logPage(g *gin.Context) {
	before, err := strconv.ParseInt(g.DefaultQuery("before", "0"), 10, 64)
	if err != nil || before < 0 {
		s.problem(g, http.StatusBadRequest, "That is no page of the log.")
		return
	}
	list, err := s.Desk.Trail(g.Request.Context(), before, logPageSize)
	if err != nil {
		s.failed(g, "read the log", err)
		return
	}
	v := logView{Newest: before == 0}
	for _, e := range list {
		v.Entries = append(v.Entries, s.logEntry(e))
	}
	if len(list) == logPageSize {
		v.Older = list[len(list)-1].Num
	}
	s.show(g, http.StatusOK, logPage, s.still(g, "Who did what", v))
}

func (s *site) logEntry(e store.AuditEntry) logEntry {
	v := logEntry{At: s.moment(e.At), Who: s.staffName(e.Who), Act: e.Act, About: e.About, Detail: e.Detail}
	if e.Who == "" {
		v.Who = "nobody known"
	}
	if strings.Contains(e.Who, " ") { // no account's key; a command's name
		v.Who = e.Who
	}
	if e.About != "" && (e.About[0] == '+' || strings.Contains(e.About, "@")) {
		v.Talk, v.About = e.About, numberWords(e.About)
	}
	return v
}

// acted writes into the shop's log what somebody did in a conversation. The act is done
// and stands in the transcript by then, so that an error here undoes nothing.
func (s *site) acted(g *gin.Context, id string, a *conversation.StaffAction) {
	if s.Desk == nil {
		return
	}
	words := map[string]string{
		conversation.Claim: "claimed a case", conversation.Reply: "replied", conversation.CloseIt: "closed a case",
		conversation.NoteIt: "wrote a note", conversation.HandBack: "handed back", conversation.StartIt: "started a service",
		conversation.Correct: "corrected a test", conversation.SetFact: "set a fact of the tub", conversation.MoveTimer: "moved a reminder",
		conversation.DropTimer: "canceled a reminder", conversation.FireTimer: "had a reminder at once", conversation.Pause: "took a conversation",
		conversation.Speak: "changed the language",
	}[a.Act]
	if words == "" {
		words = a.Act
	}
	detail := ""
	for _, d := range []string{a.Handover, a.Flow, a.State, a.Reminder, a.Fact, a.Value, a.Reason} {
		if d != "" {
			detail += " " + d
		}
	}
	if err := s.Desk.Note(g.Request.Context(), a.By, words, id, detail); err != nil {
		s.Log.Error("an act is not in the log", "by", a.By, "act", a.Act, "error", err)
	}
}
