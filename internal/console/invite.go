package console

import (
	"net/http"
	"slices"

	"github.com/gin-gonic/gin"
)

// cardView is a card to print: who texts it agrees, and begins by doing so.
type cardView struct {
	Shop, Number, Phone string
	Word, Wording       string
	Words               []string // to choose from
	Standard            bool     // the wording is ours: the shop file prints none
}

// defaultWord begins a flush where the shop file has no printed words.
const defaultWord = "FLUSH"

func (s *site) cardPage(g *gin.Context) {
	v := cardView{Shop: s.Shop.Name, Number: numberWords(s.Shop.Line), Phone: s.Shop.Phone, Words: s.startWords()}
	v.Word = g.Query("word")
	if !slices.Contains(v.Words, v.Word) {
		v.Word = defaultWord
		if len(v.Words) > 0 {
			v.Word = v.Words[0]
		}
	}
	v.Wording = s.Shop.Consent.Printed[v.Word]
	v.Standard = v.Wording == ""
	s.show(g, http.StatusOK, cardPage, s.plainFrame(g, "A card to print", v))
}
