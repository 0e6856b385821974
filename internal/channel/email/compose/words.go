package compose

import (
	"fmt"
	"html/template"
	"strings"
)

// said is what e-mail says around a text, in a language.
type said struct {
	Above   string // what replies are told apart from quotations by
	Product string
	Measure string
	Why     string
	Foot    string // how to come to a person, and how to leave
	Staff   string // the foot of what goes to staff
}

var english = said{
	Above: "-- reply above this line --", Product: "What", Measure: "How much", Why: "Why",
	Foot:  "Reply PERSON for someone from the shop, STOP to get no more messages.",
	Staff: "Reply above the line with the code to take it.",
}

var spanish = said{
	Above: "-- responda arriba de esta línea / reply above this line --", Product: "Producto", Measure: "Cantidad", Why: "Por qué",
	Foot:  "Responda PERSONA para hablar con alguien de la tienda, STOP para ya no recibir mensajes.",
	Staff: "Responda arriba de la línea con el código para tomarlo.",
}

func (m *Message) said() *said {
	if m.Language == "es" {
		return &spanish
	}
	return &english
}

// foot is what stands under every message.
func (m *Message) foot() []string {
	s := m.said()
	lines := []string{m.Shop + ", " + m.Phone}
	if m.Postal != "" {
		lines = append(lines, m.Postal)
	}
	switch {
	case m.Staff:
		return append(lines, s.Staff)
	case m.LeaveMail == "" && m.LeaveURL == "":
		return lines
	}
	return append(lines, s.Foot)
}

// plain is the message as text, complete in itself.
func (m *Message) plain() string {
	var b strings.Builder
	b.WriteString(m.said().Above + "\n\n" + m.Text + "\n")
	for _, d := range m.Doses {
		fmt.Fprintf(&b, "\n- %s: %s", d.Product, d.Measure)
		if d.Why != "" {
			b.WriteString(". " + d.Why)
		}
	}
	if len(m.Doses) > 0 {
		b.WriteString("\n")
	}
	b.WriteString("\n-- \n" + strings.Join(m.foot(), "\n") + "\n")
	return b.String()
}

// page is the message as HTML.
func (m *Message) page(pages *template.Template) (string, error) {
	var b strings.Builder
	data := struct {
		*said
		Language   string
		Subject    string
		Paragraphs []string
		Doses      []Dose
		Reasons    bool
		Picture    *Picture
		Feet       []string
	}{
		said: m.said(), Language: m.Language, Subject: m.Subject, Doses: m.Doses, Picture: m.Picture, Feet: m.foot(),
		Paragraphs: strings.Split(m.Text, "\n\n"),
	}
	for _, d := range m.Doses {
		data.Reasons = data.Reasons || d.Why != ""
	}
	if err := pages.ExecuteTemplate(&b, "message", data); err != nil {
		return "", fmt.Errorf("compose: %w", err)
	}
	return b.String(), nil
}
