package console

import (
	"net/http"
	"net/url"
	"strings"

	"github.com/gin-gonic/gin"

	"tubhand/internal/store"
)

// The pages of owners and tubs.
const (
	ownersPage = "owners"
	addPage    = "owner-add"
	importPage = "import"
	duePage    = "due"
	cardPage   = "card"
)

func ownerPages() []string { return []string{ownersPage, addPage, importPage, duePage, cardPage} }

// ownersAtOnce is how many owners a page lists.
const ownersAtOnce = 50

// ownersView is the list of owners and their tubs.
type ownersView struct {
	Find      string
	Rows      []ownerRow
	Next      string // where the list goes on; "" at its end
	Later     bool   // this is not the beginning
	Export    string
	Total     int64
	MayChange bool
}

// ownerRow is one owner in the list.
type ownerRow struct {
	ID, Name, Number, Also string
	Tub                    string
	Heard                  moment
	Never                  bool
	Due                    string
	DueAt                  moment
	OptedOut, Running      bool
}

func (s *site) owners(g *gin.Context) {
	find := clip(g.Query("find"), mostFind)
	view := s.Store.View(g.Request.Context(), s.Shop.Key)
	cards, next, err := view.Find(find, ownersAtOnce, clip(g.Query("after"), mostFind))
	if err != nil {
		s.readFailed(g, "list owners", err)
		return
	}
	counts, err := view.Counts()
	if err != nil {
		s.failed(g, "count owners", err)
		return
	}
	v := ownersView{Find: find, Later: g.Query("after") != "", Total: counts.Conversations, MayChange: s.mayAct(g), Export: s.base + "owners.csv"}
	if find != "" {
		v.Export += "?" + url.Values{"find": {find}}.Encode()
	}
	for i := range cards {
		v.Rows = append(v.Rows, s.ownerRow(&cards[i]))
	}
	if next != "" {
		q := url.Values{"after": {next}}
		if find != "" {
			q.Set("find", find)
		}
		v.Next = s.base + "owners?" + q.Encode()
	}
	f := s.frame(g, "Owners", v)
	f.Sheet, f.Extra = s.Asset(s.base, "owners.css"), s.Asset(s.base, "board.js")
	s.show(g, http.StatusOK, ownersPage, f)
}

// plainFrame is the frame of a page of owners that is not live.
func (s *site) plainFrame(g *gin.Context, title string, page any) frame {
	f := s.frame(g, title, page)
	f.Live, f.Sheet = "", s.Asset(s.base, "owners.css")
	return f
}

// clip cuts what somebody looks for to so many characters.
func clip(text string, most int) string {
	runes := []rune(strings.TrimSpace(text))
	return string(runes[:min(len(runes), most)])
}

func (s *site) ownerRow(from *store.Card) ownerRow {
	c := &from.State
	row := ownerRow{
		ID: c.ID, Name: nameOf(c), Number: numberWords(c.ID), Tub: sizeWords(c), Heard: s.moment(c.LastIn), Never: c.LastIn.IsZero(),
		OptedOut: c.OptedOut, Running: c.Service != nil,
	}
	if len(c.Owner.Addresses) > 1 {
		var more []string
		for _, a := range c.Owner.Addresses {
			if a != c.ID {
				more = append(more, numberWords(a))
			}
		}
		row.Also = strings.Join(more, ", ")
	}
	if list := listedChores(c); len(list) > 0 {
		row.Due, row.DueAt = choreWords(list[0].Chore), s.moment(list[0].At)
	}
	return row
}

// noteAct writes into the shop's log what was done with owners.
func (s *site) noteAct(g *gin.Context, words, about, detail string) {
	if s.Desk == nil {
		return
	}
	if err := s.Desk.Note(g.Request.Context(), s.me(g).Key, words, about, detail); err != nil {
		s.Log.Error("an act is not in the log", "act", words, "error", err)
	}
}
