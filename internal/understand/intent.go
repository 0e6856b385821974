package understand

import "strings"

// Shares of belief from which a wish about the messages themselves is one. Nobody who
// means the jets is silenced for a little doubt, and nobody who asks to be left alone is
// written to again for one.
const (
	plainWish = 0.60 // where no word of messages stands
	cuedWish  = 0.02 // where a cue says so as well
)

// chooseIntent takes the likeliest intent; m.Service is set with StartService.
func (r *Reader) chooseIntent(e *evidence, shares []float64, m *Meaning) Intent {
	wish := e.in.wish(e.wishes)
	if wish == StopMessages && e.in.wantsMessages() {
		wish = ""
	}
	best := -1
	for i, class := range r.model.Classes(askIntent) {
		if class == string(wish) && shares[i] >= cuedWish {
			return wish
		}
		if class == string(StopMessages) && wish == "" && (e.in.wantsMessages() || !e.in.speaksOfMessages() && (shares[i] < plainWish || e.in.speaksOfMachine())) || class == string(ResumeMessages) && wish == StopMessages {
			continue
		}
		if best < 0 || shares[i] > shares[best] {
			best = i
		}
	}
	name, service, _ := strings.Cut(r.model.Classes(askIntent)[best], " ")
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
		if in.word(i, "baja") && in.word(i-1, "de", "dar") {
			return true
		}
		if t.IsWord("text", "texts", "texting", "texted", "message", "messages", "messaging", "msg", "msgs", "sms", "email", "emails", "notifications", "reminders", "contact", "contacting",
			"writing", "list", "number", "phone", "spam", "unsubscribe", "consent", "mensaje", "mensajes", "mensajitos", "textos", "textees", "avisos", "recordatorios", "lista", "numero", "escriban",
			"escribirme", "escriba", "contacten", "suscripcion", "desuscribir", "molesten", "molestar", "communication", "correspondence", "alerts", "opt", "mandarme", "manden", "mande") {
			return true
		}
	}
	return false
}

// speaksOfMachine reports whether the text names a part of the tub or of the work on it:
// "parar los chorros?" is about those.
func (in *input) speaksOfMachine() bool {
	return in.hasWord("pump", "pumps", "jets", "jet", "foam", "heater", "filters", "filter", "cover", "timer", "headrests", "breaker", "hose", "water", "drain", "soak", "flush", "cleaning", "chlorine", "alkalinity", "ph",
		"bomba", "chorros", "jets", "espuma", "calentador", "filtros", "filtro", "tapa", "manguera", "agua", "lavado", "limpieza", "alcalinidad", "cloro", "dureza", "temperatura", "cita", "appointment")
}
