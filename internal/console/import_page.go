package console

import (
	"errors"
	"fmt"
	"io"
	"net/http"
	"slices"
	"strings"
	"sync"

	"github.com/gin-gonic/gin"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
)

// importView is the page of an import: the form, what it would do, and what it has done.
type importView struct {
	Columns string
	Most    int
	Text    string // of the file, for the second step
	Read    bool   // a file was read
	New     []importRowView
	There   []importRowView
	Bad     []badLine
	Done    bool
	Added   int
	Failed  []badLine
	Told    bool
	Token   string
	Trouble string
}

type importRowView struct {
	Line                    int
	Name, Number, Tub, Fill string
	e                       enrolled
}

// mostBody is how much the body of a request may have.
func mostBody(g *gin.Context) int64 {
	if strings.HasSuffix(g.FullPath(), "/owners/import") {
		return 2*mostImport + mostForm
	}
	return mostForm
}

func (s *site) importForm(g *gin.Context) { s.showImport(g, http.StatusOK, importView{}) }

func (s *site) showImport(g *gin.Context, status int, v importView) {
	v.Columns, v.Most = "name, number, email, language, gallons (or liters), sanitizer", mostImportLines
	if v.Token == "" {
		v.Token = newToken()
	}
	s.show(g, status, importPage, s.plainFrame(g, "Import owners", v))
}

// importOwners previews a file, or takes it in: the same text comes twice, and is looked at
// anew, so that what is shown before is what is done after.
func (s *site) importOwners(g *gin.Context) {
	text, err := importText(g)
	v := importView{Text: text, Token: g.PostForm("token"), Told: g.PostForm("told") != ""}
	if err == nil {
		err = s.lookThrough(g, &v)
	}
	var wrong fault
	switch {
	case errors.As(err, &wrong):
		s.showImport(g, http.StatusUnprocessableEntity, importView{Trouble: string(wrong)})
		return
	case err != nil:
		s.failed(g, "read an import", err)
		return
	}
	if g.PostForm("step") != "add" {
		v.Token = ""
		s.showImport(g, http.StatusOK, v)
		return
	}
	switch {
	case !tokenForm.MatchString(v.Token):
		v.Token, v.Trouble = "", "The form came without its number, so nothing was done. Send it again."
	case !v.Told:
		v.Trouble = "Tick that all of them have agreed to be written to; nothing was done."
	}
	if v.Trouble != "" {
		s.showImport(g, http.StatusUnprocessableEntity, v)
		return
	}
	s.takeIn(g, &v)
	s.noteAct(g, "imported owners", "", fmt.Sprintf("%d added or filled in, %d failed, %d bad lines", v.Added, len(v.Failed), len(v.Bad)))
	s.showImport(g, http.StatusOK, v)
}

// importText is the file that was chosen, or else the lines that were pasted.
func importText(g *gin.Context) (string, error) {
	if err := g.Request.ParseMultipartForm(2*mostImport + mostForm); err != nil {
		return "", fault("The file is larger than 1 MB, or could not be read. Nothing was done.")
	}
	defer func() { _ = g.Request.MultipartForm.RemoveAll() }()
	if file, _, err := g.Request.FormFile("file"); err == nil {
		defer func() { _ = file.Close() }()
		body, err := io.ReadAll(io.LimitReader(file, mostImport+1))
		if err != nil {
			return "", fault("The file could not be read. Nothing was done.")
		}
		if len(body) > 0 {
			return string(body), nil
		}
	}
	return g.PostForm("text"), nil
}

// lookThrough sorts a file's lines into those that are new, those of owners who are here
// already, and bad ones; of lines of one owner the first counts.
func (s *site) lookThrough(g *gin.Context, v *importView) error {
	lines, bad, err := readImport([]byte(v.Text))
	if err != nil {
		return err
	}
	v.Read, v.Bad = true, bad
	first := map[string]int{}
	for i := range lines {
		l := &lines[i]
		e, err := s.enrolment(&l.newOwner)
		var wrong fault
		if errors.As(err, &wrong) {
			v.Bad = append(v.Bad, badLine{l.Line, string(wrong)})
			continue
		}
		if err != nil {
			return err
		}
		if before, twice := first[e.Address]; twice {
			v.Bad = append(v.Bad, badLine{l.Line, fmt.Sprintf("%s stands in line %d already; keep one of the two", numberWords(e.Address), before)})
			continue
		}
		first[e.Address] = l.Line
		row := importRowView{Line: l.Line, Name: l.Name, Number: numberWords(e.Address), Tub: enrolledTub(&e.Owner), e: e}
		c, err := s.Store.Load(g.Request.Context(), s.Shop.Key, e.Address)
		switch {
		case errors.Is(err, store.ErrNotFound):
			v.New = append(v.New, row)
		case err != nil:
			return err
		default:
			row.Fill = fills(&c, &e.Owner)
			v.There = append(v.There, row)
		}
	}
	slices.SortStableFunc(v.Bad, func(a, b badLine) int { return a.Line - b.Line })
	return nil
}

func enrolledTub(o *conversation.Enrolment) string {
	c := conversation.Conversation{Tub: conversation.Tub{VolumeUSGal: o.VolumeUSGal, Sanitizer: o.Sanitizer}}
	return sizeWords(&c)
}

// fills tells what a line adds to an owner who is here: nothing that is known is overwritten.
func fills(c *conversation.Conversation, o *conversation.Enrolment) string {
	var list []string
	if c.Owner.Name == "" && o.Name != "" {
		list = append(list, "name")
	}
	if c.Tub.VolumeUSGal == 0 && o.VolumeUSGal > 0 {
		list = append(list, "size")
	}
	if c.Tub.Sanitizer == "" && o.Sanitizer != "" {
		list = append(list, "sanitizer")
	}
	return strings.Join(list, ", ")
}

// importersAtOnce is how many lines are taken in at a time: stores write those that wait
// together in one step.
const importersAtOnce = 16

// takeIn puts down every line that can be, and keeps those that could not. What was done by
// an earlier try of the same form is not done again.
func (s *site) takeIn(g *gin.Context, v *importView) {
	rows := v.New
	for _, r := range v.There {
		if r.Fill != "" {
			rows = append(rows, r)
		}
	}
	var mu sync.Mutex
	var wait sync.WaitGroup
	work := make(chan importRowView)
	for range importersAtOnce {
		wait.Go(func() {
			for r := range work {
				_, err := s.enrol(g, r.e, "enrol:"+s.me(g).Key+":"+v.Token+":"+r.e.Address)
				mu.Lock()
				if err != nil {
					s.Log.Error("import an owner", "line", r.Line, "error", err)
					v.Failed = append(v.Failed, badLine{r.Line, r.Number + " could not be written; import the same file again, what is there already stays as it is"})
				} else {
					v.Added++
				}
				mu.Unlock()
			}
		})
	}
	for _, r := range rows {
		work <- r
	}
	close(work)
	wait.Wait()
	slices.SortFunc(v.Failed, func(a, b badLine) int { return a.Line - b.Line })
	v.Done, v.Text = true, ""
}
