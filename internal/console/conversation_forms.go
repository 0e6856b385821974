package console

import "html/template"

// formView is what each form of a conversation's page carries: its number, which is the same
// until it is used, and what it is about.
type formView struct{ Key, Token, ID, Act, Handover string }

// lineIn is a line of the transcript with what its form needs.
type lineIn struct {
	Base string
	May  bool
	Line lineView
	Form formView
}

// formWords are the functions of a conversation's templates.
func formWords() template.FuncMap {
	newForm := func(f frame, key, act, handover string) formView {
		page, _ := f.Page.(talkView)
		return formView{Key: key, Token: newToken(), ID: page.ID, Act: act, Handover: handover}
	}
	return template.FuncMap{
		"form": newForm,
		"line": func(f frame, l lineView) lineIn {
			page, _ := f.Page.(talkView)
			in := lineIn{Base: f.Base, May: page.May, Line: l}
			if len(l.Fields) > 0 {
				in.Form = newForm(f, "correct-"+l.ID, "correct", "")
			}
			return in
		},
	}
}
