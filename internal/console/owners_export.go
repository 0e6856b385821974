package console

import (
	"encoding/csv"
	"net/http"
	"strconv"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"tubhand/internal/conversation"
)

// exportColumns are the heads of an export; what import reads is among them.
func exportColumns() []string {
	return []string{"name", "number", "email", "language", "gallons", "sanitizer", "last_heard", "opted_out", "test_due", "filters_due", "flush_due", "refill_due"}
}

// exportOwners writes owners as CSV (RFC 4180), those begun last first: all, or those that
// are looked for.
func (s *site) exportOwners(g *gin.Context) {
	view := s.Store.View(g.Request.Context(), s.Shop.Key)
	find := clip(g.Query("find"), mostFind)
	const page = 500
	cards, next, err := view.Find(find, page, "")
	if err != nil {
		s.failed(g, "export owners", err)
		return
	}
	s.noteAct(g, "exported owners", "", find)
	g.Header("Content-Type", "text/csv; charset=utf-8")
	g.Header("Content-Disposition", `attachment; filename="owners.csv"`)
	g.Status(http.StatusOK)
	out := csv.NewWriter(g.Writer)
	out.UseCRLF = true
	write := func(row []string) error {
		for i := range row {
			row[i] = inert(row[i])
		}
		return out.Write(row)
	}
	err = write(exportColumns())
	for err == nil {
		for i := range cards {
			if err = write(s.exportRow(&cards[i].State)); err != nil {
				break
			}
		}
		if next == "" || err != nil {
			break
		}
		cards, next, err = view.Find(find, page, next)
	}
	out.Flush()
	if err != nil { // what has gone out can't be taken back: the connection breaks, so that nobody takes it for all
		s.Log.Error("console", "doing", "export owners", "error", err)
		panic(http.ErrAbortHandler)
	}
}

func (s *site) exportRow(c *conversation.Conversation) []string {
	row := make([]string, len(exportColumns()))
	row[0] = c.Owner.Name
	for _, a := range c.Owner.Addresses {
		at := 1
		if conversation.MediumOf(a) == conversation.ByMail {
			at = 2
		}
		if row[at] == "" {
			row[at] = numberWords(a)
		}
	}
	row[3], row[5] = c.Owner.Language, c.Tub.Sanitizer
	if c.Tub.VolumeUSGal > 0 {
		row[4] = strconv.FormatFloat(c.Tub.VolumeUSGal, 'f', 0, 64)
	}
	row[6] = s.dayOf(c.LastIn)
	row[7] = strconv.FormatBool(c.OptedOut)
	at := map[conversation.Chore]int{conversation.ChoreTest: 8, conversation.ChoreFilters: 9, conversation.ChoreFlush: 10, conversation.ChoreRefill: 11}
	for _, d := range conversation.DueChores(c) {
		if column, there := at[d.Chore]; there {
			row[column] = s.dayOf(d.At)
		}
	}
	return row
}

func (s *site) dayOf(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.In(s.zone).Format(time.DateOnly)
}

// inert keeps a spreadsheet from taking a value for a formula: what begins like one gets an
// apostrophe, which import takes off again.
func inert(value string) string {
	if value != "" && strings.ContainsRune("=+-@\t\r", rune(value[0])) {
		return "'" + value
	}
	return value
}
