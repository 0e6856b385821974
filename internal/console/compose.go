package console

import (
	"net/http"
	"strings"

	"github.com/gin-gonic/gin"

	"tubhand/internal/smstext"
)

// shapeView is what a reply costs as texts, counted by what sends them.
type shapeView struct {
	Units    int    `json:"units"`
	Parts    int    `json:"parts"`
	Encoding string `json:"encoding"`
}

// countText tells how many texts a reply takes: typography is folded where it goes out, and
// a character that takes two places is never cut in two.
func countText(text string) shapeView {
	shape := smstext.Count(smstext.Fold(strings.TrimSpace(strings.ReplaceAll(text, "\r\n", "\n"))))
	return shapeView{Units: shape.Units, Parts: shape.Parts, Encoding: string(shape.Encoding)}
}

// count answers what is being typed with what it costs.
func (s *site) count(g *gin.Context) {
	text := g.PostForm("text")
	if len(text) > 4*mostReply {
		g.Status(http.StatusRequestEntityTooLarge)
		return
	}
	g.JSON(http.StatusOK, countText(text))
}
