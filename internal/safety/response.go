package safety

import "strings"

// answer is what an owner is told about a hazard. First holds the life-saving action
// and, in an emergency, the number; it must fit the first part of a long SMS. In all
// three, {Call} or {call}, {advice} and {Listen} stand for the numbers of the region.
type answer struct {
	hazard   Hazard
	severity Severity
	first    string
	then     string
	again    string // when the same is raised again
}

// Response is what the owner gets at once about a hazard: text the first time, again
// when the same hazard is raised again the same day. Language is "es" for Spanish
// (usted), anything else is US English. Both are GSM 7-bit; text is at most two SMS
// parts and again one. An emergency opens with what saves life, then the number.
//
// It is empty only for NoSeverity. A severity that the hazard cannot have, and a hazard
// that is not known, get the next worse answer there is, at last a general one.
func Response(h Hazard, s Severity, lang string, lines Lines) (text, again string) {
	if s.Rank() == 0 {
		return "", ""
	}
	spanish := lang == "es"
	answers := englishAnswers
	if spanish {
		answers = spanishAnswers
	}
	found := choose(answers, h, s)
	call := lines.call(spanish)
	fill := strings.NewReplacer(
		"{Call}", call, "{call}", lowerFirst(call),
		"{advice}", lines.advice(spanish),
		"{Listen}", lines.listen(spanish))
	return fill.Replace(found.first + " " + found.then), fill.Replace(found.again)
}

// choose picks the answer to the hazard that is as severe, else the mildest that is
// more severe; else the general answer, which is filed under NoHazard.
func choose(answers []answer, h Hazard, s Severity) answer {
	var found answer
	for _, a := range answers {
		if a.hazard != h || a.severity.Rank() < s.Rank() {
			continue
		}
		if found.first == "" || a.severity.Rank() < found.severity.Rank() {
			found = a
		}
	}
	if found.first == "" && h != NoHazard {
		return choose(answers, NoHazard, s)
	}
	return found
}

// lowerFirst writes an order, which begins with a plain letter, inside a sentence.
func lowerFirst(order string) string { return strings.ToLower(order[:1]) + order[1:] }
