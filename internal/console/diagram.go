package console

import (
	"net/url"

	"tubhand/internal/conversation"
)

// diagramView is the running flow's diagram: a picture with the present step marked, and the
// same in words.
type diagramView struct {
	Title, Picture, Page string
	Now                  string
	Steps                []diagramStep
}

// diagramStep is a step of the flow in words.
type diagramStep struct {
	Words, Asks string
	Now         bool
}

func (s *site) diagram(conv *conversation.Conversation) *diagramView {
	if conv.Service == nil {
		return nil
	}
	f, ok := s.Flows.Flow(conv.Service.Flow)
	if !ok {
		return nil
	}
	query := "?name=" + url.QueryEscape(f.Name)
	v := &diagramView{
		Title: f.Title, Now: plain(conv.Service.State),
		Picture: s.base + "flow/picture" + query + "&here=" + url.QueryEscape(conv.Service.State), Page: s.base + "flow" + query,
	}
	for _, state := range f.States {
		v.Steps = append(v.Steps, diagramStep{Words: plain(state.Name), Asks: askWords(state.Ask), Now: state.Name == conv.Service.State})
	}
	return v
}
