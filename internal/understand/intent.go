package understand

import "strings"

// classifyIntent returns what the owner wants; m.Service is set with StartService.
func (r *Reader) classifyIntent(e *evidence, features []uint32, m *Meaning) Intent {
	if r.intent == nil {
		return Other
	}
	sums := make([]int32, len(r.intent.Classes()))
	r.intent.Score(features, sums)
	p := r.intent.Probabilities(sums, len(features))
	best := -1
	for i, class := range r.intent.Classes() {
		if class == string(StopMessages) && !e.in.speaksOfMessages() {
			continue
		}
		if best < 0 || p[i] > p[best] {
			best = i
		}
	}
	name, service, _ := strings.Cut(r.intent.Classes()[best], " ")
	m.Service = service
	return Intent(name)
}

// speaksOfMessages reports whether the text has a word for messages, writing, lists or
// numbers: without one, what the classifier takes for an opt-out ("stop the jets") is none.
func (in *input) speaksOfMessages() bool {
	for i, t := range in.tokens {
		if in.word(i, "dont", "not", "never") && in.word(i+1, "stop", "quit", "unsubscribe", "remove") {
			return false
		}
		if t.IsWord("text", "texts", "texting", "texted", "message", "messages", "messaging", "msg", "msgs", "sms", "email", "emails", "notifications", "reminders", "contact", "contacting",
			"writing", "list", "number", "phone", "spam", "unsubscribe", "consent", "mensaje", "mensajes", "mensajitos", "textos", "textees", "avisos", "recordatorios", "lista", "numero", "escriban",
			"escribirme", "escriba", "contacten", "baja", "suscripcion", "desuscribir", "molesten", "molestar", "communication", "correspondence", "alerts", "opt", "mandarme", "manden", "mande") {
			return true
		}
	}
	return false
}
