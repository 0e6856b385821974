package console

import (
	"net/http"

	"github.com/gin-gonic/gin"

	"tubhand/internal/shop"
)

// settingsView is what was understood of the shop file. The file is the truth: the page
// changes nothing.
type settingsView struct {
	Known    bool
	Sections []settingsSection
	Warnings []string
}

type settingsSection struct {
	About string
	Says  []string
}

func (s *site) settings(g *gin.Context) {
	var v settingsView
	if s.Settings != nil {
		v = newSettings(s.Settings())
	}
	s.show(g, http.StatusOK, settingsPage, s.tool(g, "The shop as understood", v))
}

func newSettings(sum shop.Summary) settingsView {
	v := settingsView{Known: true, Warnings: sum.Warnings}
	for _, section := range sum.Understood {
		v.Sections = append(v.Sections, settingsSection{About: plain(section.About), Says: section.Says})
	}
	return v
}
