package understand

import (
	"strings"

	"tubhand/internal/understand/cue"
	"tubhand/internal/understand/words"
)

// isOptOutWord knows the words that mean opt-out when they are the whole text: the
// seven of 47 CFR 64.1200(a)(10), STOPALL, and what Spanish (ALTO is asked for by
// carrier rules, the others are common practice, no source) and French owners send.
func isOptOutWord(phrase string) bool {
	switch phrase {
	case "stop", "quit", "end", "revoke", "opt out", "cancel", "unsubscribe", "stopall", "stop all", "optout", "opt me out",
		"stop it", "stop now", "stop stop", "stop stop stop", "stop texting", "stop messages", "unsub", "remove", "remove me",
		"alto", "parar", "cancelar", "baja", "detener", "salir", "no mas", "basta", "fin", "terminar", "detente", "detenganse", "paren",
		"parenle", "parele", "ya parenle", "ya paren", "ya basta", "alto ya", "ya alto", "cancela", "cancele", "cancelen", "cancelado",
		"revocar", "desuscribir", "desuscribirme", "darme de baja", "dar de baja", "dame de baja", "borrar", "borrenme", "borreme", "borrame", "quitenme", "quiteme", "saquenme", "saqueme", "eliminar", "arret", "stopp",
		"deactivate", "discontinue", "desist", "cease and desist", "leave me alone", "deten", "detenga", "detengan", "finalizar", "parad", "para ya":
		return true
	}
	return false
}

// filler words may stand beside an opt-out word without making it part of a sentence.
func isFiller(word string) bool {
	switch word {
	case "please", "pls", "plz", "por", "favor", "porfavor", "porfa", "now", "ya", "thanks", "thank", "you", "gracias", "ok", "okay",
		"the", "just", "hi", "hello", "hola", "sir", "maam", "sorry", "everything", "i", "said", "dije", "todo", "porfis", "immediately", "already":
		return true
	}
	return false
}

// isOptOut reports whether the text is one of the legal words, which win whatever is
// under way.
func (in *input) isOptOut() bool { return isBareOptOut(in.bare()) && !in.nothingBut("?") }

// wish tells whether the plain sentences among the cues wish the messages to end
// (StopMessages) or to come back (ResumeMessages); empty for neither.
func (in *input) wish(hits []cue.Hit) Intent {
	wish := Intent("")
	for _, h := range hits {
		switch {
		case in.isReported(h):
		case h.Pattern.Label == "start":
			return ResumeMessages
		default:
			wish = StopMessages
		}
	}
	return wish
}

// nothingBut reports whether the text's signs include a question mark: "stop?" asks.
func (in *input) nothingBut(sign string) bool {
	return strings.Contains(in.text, sign) && len(in.bare()) > 1
}

func isBareOptOut(bare []string) bool {
	if len(bare) == 0 || len(bare) > 7 {
		return false
	}
	if isOptOutWord(strings.Join(bare, " ")) {
		return true
	}
	kept := make([]string, 0, len(bare))
	for _, w := range bare {
		if !isFiller(w) {
			kept = append(kept, w)
		}
	}
	phrase := strings.Join(kept, " ")
	return isOptOutWord(phrase) || isMisspelt(phrase)
}

// isMisspelt forgives one slip in the legal words of five letters and more.
func isMisspelt(phrase string) bool {
	for _, w := range []string{"unsubscribe", "revoke", "cancel", "cancelar", "stopall"} {
		if len(phrase) >= 5 && len(w) >= 6 && words.Distance(phrase, w, 1) <= 1 {
			return true
		}
	}
	switch phrase {
	case "stahp", "stawp", "stap", "sttop", "sotp", "stpo", "stoop", "stop p", "unsubcribe", "unsuscribe", "unsubscibe", "s t o p", "quitt", "qiut", "cancell", "cansel", "canselar":
		return true
	}
	return false
}

// wantsMessages reports whether the text asks that the messages go on: "don't take me off
// the list", "no deje de mandarme los avisos". "Why don't you stop" asks for the end.
func (in *input) wantsMessages() bool {
	for i := range in.tokens {
		if !in.word(i, "dont", "not", "never", "no") || in.word(i-1, "why", "if", "for") || in.word(i-1, "did", "do", "does") && in.word(i-2, "why") {
			continue
		}
		k := i + 1
		for k < i+4 && in.word(k, "you", "u", "ever", "please", "me", "nos", "se", "les", "want", "to", "wanna", "let", "it", "vayan", "vaya", "a", "quiero", "que") {
			k++
		}
		if in.endsMessagesAt(k) {
			return true
		}
	}
	for i := range in.tokens {
		if in.word(i, "want", "like", "keep", "need") && in.word(i+1, "the", "these", "your", "my", "getting") && in.word(i+2, "texts", "messages", "reminders") && !in.word(i-1, "dont", "not", "no", "longer", "never", "doesnt") {
			return true
		}
	}
	return false
}

// endsMessagesAt reports whether words that end messages stand at token k: "stop
// texting", "take me off", "dejen", "den de baja".
func (in *input) endsMessagesAt(k int) bool {
	switch {
	case in.word(k, "stop", "quit", "cancel"):
		return in.word(k+1, "sending", "texting", "messaging", "the", "my", "me", "writing", "reminding", "now")
	case in.word(k, "take", "get"):
		return in.word(k+1, "me", "us", "this", "my") && in.word(k+2, "off", "out")
	case in.word(k, "den", "dar", "doy", "darme"):
		return in.hasWord("baja")
	}
	return in.word(k, "unsubscribe", "remove", "drop", "delete", "deje", "dejen", "dejes", "dejar", "quiten", "quites", "saquen", "borren", "cancelen", "paren")
}

// isReported reports whether a hit lies in a quotation ("it says reply STOP to end
// messages") or in a report of what happened by accident.
func (in *input) isReported(h cue.Hit) bool {
	from := max(0, h.Start-4)
	for _, a := range in.atoms[from:h.Start] {
		switch a {
		case "reply", "says", "said", "responda", "dice", "respond":
			return true
		}
	}
	return false
}
