package console

import (
	"bytes"
	"context"
	"fmt"
	"net/http"

	"github.com/gin-gonic/gin"
)

// reportsView is the page of reports for a period.
type reportsView struct {
	Period   string
	Query    string // the period in an address
	Days     int
	From     string
	Until    string
	Choices  []int
	Sections []reportSection
}

// reportSection is one report: what it says in plain words, drawings of it, and the
// figures as a table.
type reportSection struct {
	ID, Title string
	Empty     bool
	Says      []string
	Charts    []*chart
	Table     reportTable
	Note      string
}

func (s *site) reports(g *gin.Context) {
	p, sections, ok := s.readReports(g)
	if !ok {
		return
	}
	v := reportsView{
		Period: p.words(), Query: p.query(), Days: p.Days, From: p.first(), Until: p.last(),
		Choices: []int{7, 30, 90}, Sections: sections,
	}
	s.show(g, http.StatusOK, reportsPage, s.tool(g, "Reports", v))
}

// readReports makes all reports of the period that was asked for; where it cannot, it answers.
func (s *site) readReports(g *gin.Context) (p period, sections []reportSection, ok bool) {
	p, trouble := readPeriod(g.Query("days"), g.Query("from"), g.Query("until"), s.Clock.Now().In(s.zone))
	if trouble != "" {
		s.problem(g, http.StatusBadRequest, trouble)
		return p, nil, false
	}
	sections, err := s.makeReports(g.Request.Context(), p)
	if err != nil {
		s.failed(g, "make reports", err)
		return p, nil, false
	}
	return p, sections, true
}

func (s *site) makeReports(ctx context.Context, p period) ([]reportSection, error) {
	view := s.Store.View(ctx, s.Shop.Key)
	tallies, err := view.Tallies(p.first(), p.last())
	if err != nil {
		return nil, fmt.Errorf("read what was counted: %w", err)
	}
	response, err := s.responseReport(p, view)
	if err != nil {
		return nil, err
	}
	return append(s.servicesReport(p, tallies), casesReport(p, tallies), response, s.productsReport(tallies), readingsReport(tallies)), nil
}

// reportCSV gives the figures of one report.
func (s *site) reportCSV(g *gin.Context) {
	p, sections, ok := s.readReports(g)
	if !ok {
		return
	}
	for i := range sections {
		if sections[i].ID != g.Query("of") {
			continue
		}
		var out bytes.Buffer
		if err := sections[i].Table.write(&out); err != nil {
			s.failed(g, "write a report", err)
			return
		}
		g.Header("Content-Disposition", fmt.Sprintf(`attachment; filename="%s-%s-%s-to-%s.csv"`, s.Shop.Key, sections[i].ID, p.first(), p.last()))
		g.Data(http.StatusOK, "text/csv; charset=utf-8", out.Bytes())
		return
	}
	s.problem(g, http.StatusNotFound, "There is no such report.")
}
