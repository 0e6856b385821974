package understand

import "tubhand/internal/understand/words"

// confirm settles "Did you mean 7.4?": a yes returns what was proposed, another number
// of the same kind replaces it. Plain words of yes and no decide; where there are none,
// the intent the classifier saw.
func (in *input) confirm(m *Meaning) {
	if in.ctx.Asked != AskedConfirm || len(in.ctx.Proposed) == 0 {
		return
	}
	same, different := in.compareProposed(m)
	yes, no := in.saysYes(), in.saysNo()
	doubt := in.inDoubt()
	yes = yes && !in.knowsNot()
	switch {
	case different:
		in.takeDifferent(m, yes && !no)
	case same && in.hasYes():
		m.Intent = Yes
		in.takeProposed(m)
	case (m.Intent == No || no) && !yes && (!same || no):
		in.refused(m)
	case doubt && !yes:
		in.takeDoubtful(m)
	default:
		in.takeYes(m, same, yes, no, doubt)
	}
}

// takeYes takes what was proposed where the text agrees, in plain words or in meaning.
func (in *input) takeYes(m *Meaning, same, yes, no, doubt bool) {
	switch {
	case yes && !no && in.hasWord("imperial", "british", "uk") && in.takeImperial(m):
		m.Intent = Answer
	case !yes && m.Intent == Yes && in.asksWhat():
		m.Intent = Help
		m.askBack("that does not answer what was asked")
	case same, yes && m.Intent != StopMessages, m.Intent == Yes, m.Intent == Done && len(in.tokens) <= 4:
		m.Intent = Yes
		in.takeProposed(m)
		if doubt {
			m.askBack("not sure about it")
		}
	}
}

// takeDifferent takes another value than was proposed, unless a plain yes stands beside it.
func (in *input) takeDifferent(m *Meaning, yes bool) {
	if yes && len(in.ctx.Proposed) == 1 && !in.corrects() {
		in.dropAnswers(m)
		m.Intent = Answer
		m.askBack("yes and another number")
		return
	}
	if m.Intent != No {
		m.Intent = answerUnless(m.Intent)
	}
	in.takeAgreed(m)
}

// takeDoubtful settles "I guess so": what was proposed is kept where the words lean to a
// yes, and asked about in any case.
func (in *input) takeDoubtful(m *Meaning) {
	guesses := in.hasWord("maybe", "quizas", "quiza") && in.hasWord("guess", "supongo")
	if !in.knowsNot() && !guesses && in.hasWord("guess", "si", "yes", "probably", "supongo", "yeah", "think") {
		m.Intent = Yes
		in.takeProposed(m)
	} else {
		m.Intent = answerUnless(m.Intent)
		if m.Intent == Answer {
			m.Intent = Other
		}
		in.dropAnswers(m)
	}
	m.askBack("not sure about it")
}

// asksWhat knows "¿mande?" and "what?".
func (in *input) asksWhat() bool {
	return len(in.tokens) <= 4 && in.asksSomething() && in.word(0, "mande", "que", "como", "what", "huh", "cual", "which", "cuanto")
}

// refused takes a no: what was proposed is not so; "no, that's the alkalinity" says
// what the number was.
func (in *input) refused(m *Meaning) {
	if m.Intent != No {
		m.Intent = answerUnless(m.Intent)
		if m.Intent == Answer {
			m.Intent = No
		}
	}
	in.dropAnswers(m)
	if in.takeRenamed(m) || in.takeOtherUnit(m) {
		m.Intent = Answer
		return
	}
	if m.Intent == No && len(m.Readings) == 0 && m.Volume == nil {
		m.Clarify, m.ClarifyWhy = true, "what is it then?"
	}
}

// takeImperial reads "yes but imperial" of a volume proposed in US gallons.
func (in *input) takeImperial(m *Meaning) bool {
	x, ok := in.ctx.Proposed["us_gal"]
	if !ok {
		return false
	}
	f, _ := foundVolume{}.take(inGallons(amount{value: Value{Low: x, High: x}, unit: imperialGallons}))
	m.Volume, m.Proposal, m.Clarify, m.ClarifyWhy = f.volume, nil, false, ""
	return f.volume != nil
}

// takeOtherUnit reads "no, those are litres" of a volume proposed in gallons.
func (in *input) takeOtherUnit(m *Meaning) bool {
	x, ok := in.ctx.Proposed["us_gal"]
	u := in.unitSaid()
	for i := range in.tokens {
		if _, n := in.volumeUnitAt(i); n > 0 && !in.word(i-1, "son", "are", "is", "in", "en", "thats", "was", "its", "eran", "mean", "meant", "not") {
			return false
		}
	}
	if !ok || in.anyNumber() || u == noUnit || u == gallons {
		return false
	}
	f, _ := foundVolume{}.take(inGallons(amount{value: Value{Low: x, High: x}, unit: u}))
	if f.volume == nil {
		return false
	}
	m.Volume, m.Clarify, m.ClarifyWhy = f.volume, false, ""
	return true
}

// takeRenamed gives the one value proposed to the one other quantity named.
func (in *input) takeRenamed(m *Meaning) bool {
	if len(in.ctx.Proposed) != 1 || len(m.Readings) > 0 || in.anyNumber() {
		return false
	}
	named := Quantity("")
	for i := range in.tokens {
		n, ok := in.nameAt(i)
		if !ok || n.loose || in.asks(n.quantity) {
			continue
		}
		if named != "" && named != n.quantity {
			return false
		}
		named = n.quantity
	}
	for _, x := range in.ctx.Proposed {
		if v := (Value{Low: x, High: x}); named != "" && !isAbsurd(named, v) && isTypical(named, v) {
			m.Readings[named] = v
			m.Clarify, m.ClarifyWhy = false, ""
			return true
		}
	}
	return false
}

// dropAnswers takes out what only repeats or contradicts what was proposed.
func (in *input) dropAnswers(m *Meaning) {
	for name := range in.ctx.Proposed {
		if name == "us_gal" {
			m.Volume = nil
			continue
		}
		delete(m.Readings, Quantity(name))
	}
}

// takeAgreed keeps, of several values proposed, those that got a yes of their own:
// "ph yes, alk no its 100".
func (in *input) takeAgreed(m *Meaning) {
	for i := range in.tokens {
		n, ok := in.nameAt(i)
		if !ok || !(in.isYes(n.to) || in.word(n.to, "is", "esta", "was") && in.isYes(n.to+1)) {
			continue
		}
		if _, told := m.Readings[n.quantity]; told {
			continue
		}
		if x, proposed := in.ctx.Proposed[string(n.quantity)]; proposed {
			m.Readings[n.quantity] = Value{Low: x, High: x}
		}
	}
}

func (in *input) isYes(i int) bool {
	return in.word(i, "yes", "yep", "yeah", "yea", "yup", "ya", "si", "sip", "sii", "simon", "correct", "correcto", "correcta", "exact", "exactly", "exacto", "exactamente", "right", "mmhm", "mhm", "mmhmm", "mhmm",
		"bingo", "roger", "affirmative", "afirmativo", "claro", "ok", "okay", "okey", "aja", "ey", "yessir", "yas", "yess", "yesss", "sure", "perfecto", "dale", "andale", "efectivamente", "cierto", "indeed",
		"confirmed", "confirmo", "confirmado", "totally", "absolutely", "definitely", "precisely", "yuppers", "yepp", "yeppers", "obvio", "sep", "fine", "good", "true", "ye", "yeh", "y", "yis", "yus", "mero", "yup", "sii", "siii", "affirm", "positivo", "correctamundo", "correctly", "yuh", "yep", "yas") &&
		!in.word(i-1, "not", "no", "isnt", "nope", "wasnt", "aint", "dont")
}

func (in *input) hasYes() bool {
	for i := range in.tokens {
		if in.word(i, "yes", "yep", "yeah", "si", "yup", "correct", "correcto") && in.isYes(i) {
			return true
		}
	}
	return false
}

// saysYes looks for a plain yes at the start or the end of the text.
func (in *input) saysYes() bool {
	first, last := in.wordsFromTo()
	switch {
	case last < 0:
		return false
	case in.isYes(first) && !(in.word(first, "right", "good", "fine", "sure", "ok", "okay", "ya") && last > first+4):
		return true
	case in.isYes(last) && in.word(last-1, "say", "said", "saying", "decir", "diga", "digo"):
		return false
	case in.isYes(last) && !in.word(last, "right", "good", "sure", "fine", "true", "ya"):
		return true
	}
	return in.believesSo() || in.agreesInWords(first, last)
}

// wordsFromTo returns the first word of the text that is no mere sound, and the last.
func (in *input) wordsFromTo() (first, last int) {
	last = len(in.tokens) - 1
	for last > 0 && !in.isWordAt(last) {
		last--
	}
	for first < last && (!in.isWordAt(first) || in.word(first, "oh", "uh", "um", "ah", "haha", "lol", "hmm", "well", "pues", "ps", "a", "este")) {
		first++
	}
	return first, last
}

// believesSo knows "I think so" and "creo que si".
func (in *input) believesSo() bool {
	for i := range in.tokens {
		if in.word(i, "think", "believe", "guess") && in.word(i+1, "so") && !in.word(i-1, "dont") || in.word(i, "creo", "pienso", "supongo") && in.word(i+1, "que") && in.word(i+2, "si") {
			return true
		}
	}
	return false
}

// agreesInWords knows "that's it", "uh huh", "you got it", "ese mero", "de acuerdo".
func (in *input) agreesInWords(first, last int) bool {
	switch {
	case in.word(first, "thats", "that", "its"):
		return in.word(last, "right", "it", "correct", "one", "true", "good") && last-first <= 4 && !in.saysNo() && !in.word(last-1, "not")
	case in.word(first, "uh", "mm", "mmm"):
		return in.word(first+1, "huh", "hm", "hmm")
	case in.word(first, "you"):
		return in.word(first+1, "got")
	case in.word(first, "ese", "esa", "eso", "asi", "asina"):
		return in.word(first+1, "es", "mero", "mera", "merito")
	}
	return in.word(first, "de") && in.word(first+1, "acuerdo")
}

func (in *input) isWordAt(i int) bool {
	return i >= 0 && i < len(in.tokens) && in.tokens[i].Text != "" && in.tokens[i].Text[0] >= 'a'
}

// saysNo looks for a plain no at the start, or words that what was said is wrong.
func (in *input) saysNo() bool {
	for i := range in.tokens {
		switch {
		case in.endsWithNo(i), in.beginsWithNo(i), in.tokens[i].Kind == words.Emoji && in.tokens[i].Text == "👎":
			return true
		case in.word(i, "isnt", "wasnt", "aint") && in.word(i+1, "it") && (i+2 >= len(in.tokens) || in.mark(i+2, "?!.")):
			return false // "it's what I typed isn't it"
		case in.deniesAt(i):
			return true
		}
	}
	return false
}

// endsWithNo knows "7.4, no" and "jaja no".
func (in *input) endsWithNo(i int) bool {
	if i == 0 || i != len(in.tokens)-1 || !in.word(i, "no", "nope", "nah") {
		return false
	}
	return in.mark(i-1, ",.") || in.word(i, "no") && in.word(i-1, "jaja", "jajaja", "lol")
}

// beginsWithNo looks for a plain no among the first words.
func (in *input) beginsWithNo(i int) bool {
	return i <= 2 && in.word(i, "no", "nope", "nah", "nop", "nel", "negativo", "negative", "nooo", "noo", "noooo", "nopes", "neh", "wrong", "incorrect", "incorrecto") && !in.word(i+1, "doubt", "problem", "worries", "hay", "se", "idea") && !in.word(i-1, "de")
}

// deniesAt knows "not right", "no es", "wrong one", "la vieja".
func (in *input) deniesAt(i int) bool {
	switch {
	case in.word(i, "not", "isnt", "wasnt", "aint"):
		return in.word(i+1, "right", "it", "correct", "what", "that", "even", "close") || in.number(i+1)
	case in.word(i, "no"):
		return in.word(i+1, "es", "era", "son", "fue", "dije", "esta")
	case in.word(i, "old", "other", "wrong"):
		return in.word(i+1, "one", "tub", "number")
	}
	return in.word(i, "la", "el") && in.word(i+1, "vieja", "anterior", "viejo")
}

// inDoubt knows answers that say the owner cannot tell.
func (in *input) inDoubt() bool {
	for i := range in.tokens {
		switch {
		case in.word(i, "a", "vaya", "ve") && in.word(i+1, "saber"), in.word(i, "dunno", "idk", "maybe", "perhaps", "quizas", "quiza"), in.word(i, "no", "ni") && in.word(i+1, "idea", "clue"),
			in.word(i, "not") && in.word(i+1, "sure", "certain", "positive"),
			in.word(i, "couldnt", "cant", "cannot", "dont") && in.word(i+1, "say", "tell", "know", "remember"),
			in.word(i, "hard") && in.word(i+1, "to") && in.word(i+2, "see", "say", "tell", "read"),
			in.word(i, "no") && (in.word(i+1, "se", "recuerdo") || in.word(i+1, "estoy") && in.word(i+2, "seguro", "segura") || in.word(i+1, "me") && in.word(i+2, "acuerdo")),
			in.word(i, "quien", "who") && in.word(i+1, "sabe", "knows"), in.word(i, "tal") && in.word(i+1, "vez"):
			return true
		}
	}
	return false
}

// knowsNot knows answers that leave it open altogether: "who knows, maybe so".
func (in *input) knowsNot() bool {
	for i := range in.tokens {
		if in.word(i, "a", "vaya", "ve") && in.word(i+1, "saber") || in.word(i, "dunno", "idk") || in.word(i, "quien", "who") && in.word(i+1, "sabe", "knows") || in.word(i, "no", "ni") && in.word(i+1, "idea", "clue") {
			return true
		}
	}
	return false
}

// corrects reports whether the text takes back its own words.
func (in *input) corrects() bool {
	for _, n := range in.findNotes() {
		if n.sign == signCorrection {
			return true
		}
	}
	return in.hasWord("but", "pero", "mas", "now", "ahora")
}

// answerUnless keeps an intent that outranks an answer.
func answerUnless(i Intent) Intent {
	switch i {
	case Yes, Done, NotYet, Other, Answer, Undo, HeaterNotHeating, Help, QuestionWhy, Thanks, WrongProduct, WrongNumber:
		return Answer
	}
	return i
}

// compareProposed reports whether the text repeats what was proposed, or says another value.
func (in *input) compareProposed(m *Meaning) (same, different bool) {
	for name, x := range in.ctx.Proposed {
		if name == "us_gal" {
			if m.Volume == nil || m.Volume.Unknown {
				continue
			}
			if near(m.Volume.LowUSGal, x) && near(m.Volume.HighUSGal, x) {
				same = true
			} else {
				different = true
			}
			continue
		}
		v, ok := m.Readings[Quantity(name)]
		switch {
		case !ok || v.Unknown:
		case near(v.Low, x) && near(v.High, x):
			same = true
		default:
			different = true
		}
	}
	return same && !different, different
}

func near(a, b float64) bool { return a-b < 0.006*b+1e-9 && b-a < 0.006*b+1e-9 }

func (in *input) takeProposed(m *Meaning) {
	m.Clarify, m.ClarifyWhy, m.Proposal = false, "", nil
	for name, x := range in.ctx.Proposed {
		if name == "us_gal" {
			if m.Volume == nil || m.Volume.Unknown {
				m.Volume = &Volume{LowUSGal: x, HighUSGal: x}
			}
			continue
		}
		if _, ok := m.Readings[Quantity(name)]; !ok {
			m.Readings[Quantity(name)] = Value{Low: x, High: x}
		}
	}
}
