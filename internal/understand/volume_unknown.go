package understand

// maybeSize reports whether a number stands in the text that may be the size.
func (in *input) maybeSize() bool {
	for _, a := range in.measuredVolumes(in.amounts(), in.findNotes()) {
		if a.unit == noUnit && inRange(a.value, 40, 9000) && !isYear(a) {
			return true
		}
	}
	return false
}

// anyUnclear reports whether a number stands in the text that may be either of two.
func (in *input) anyUnclear() bool {
	for _, a := range in.amounts() {
		if a.unclear {
			return true
		}
	}
	return false
}

// saysVolumeUnknown wants words of not knowing and none of going to look.
func (in *input) saysVolumeUnknown() bool {
	unknown := false
	for _, n := range in.findNotes() {
		unknown = unknown || n.sign == signUnknown || n.sign == signGuess && !in.hasWord("yet", "todavia", "aun", "have", "havent")
	}
	for i := range in.tokens {
		if in.goesToLook(i) {
			return false
		}
		unknown = unknown || in.knowsNoVolume(i) || in.plateGone(i) || in.nobodyKnows(i)
	}
	return unknown
}

// goesToLook knows "lemme check" and "deje checo".
func (in *input) goesToLook(i int) bool {
	return in.word(i, "lemme", "dejame", "deje", "dejeme", "checar", "check", "look", "ask", "preguntar", "reviso", "preguntarle", "measure", "checo", "pregunto") && !in.word(i-1, "to", "cant", "didnt", "where")
}

// plateGone knows that what would tell the size is lost or cannot be read.
func (in *input) plateGone(i int) bool {
	switch {
	case in.word(i, "sticker", "stickers", "manual", "manuals", "plate", "label", "papers", "paperwork", "papeles", "placa", "etiqueta"):
		return in.word(i+1, "gone", "missing", "lost", "is", "was", "se") && in.hasWord("gone", "missing", "lost", "faded", "borro", "perdio")
	case in.word(i, "llevo", "perdieron", "perdio"):
		return in.hasWord("papeles", "manual", "placa")
	}
	return in.word(i, "peeled", "faded", "worn", "gastada", "gastado", "desgastada", "despintada")
}

// nobodyKnows knows "who knows", "nadie sabe", "beats me" and "you tell me".
func (in *input) nobodyKnows(i int) bool {
	switch {
	case in.word(i, "nadie", "nobody", "noone"):
		return in.word(i+1, "sabe", "knows", "en", "here")
	case in.word(i, "who", "quien"):
		return in.word(i+1, "knows", "sabe")
	case in.word(i, "beats"):
		return in.word(i+1, "me")
	case in.word(i, "you"):
		return in.word(i+1, "tell") && in.word(i+2, "me")
	case in.word(i, "ustedes", "usted"):
		return in.word(i+1, "diganme", "digame")
	case in.word(i, "mas"):
		return in.word(i+1, "remota", "minima")
	}
	return in.word(i, "sepa", "sabra")
}

// knowsNoVolume knows "idk", "no clue", "don't remember", "no encuentro".
func (in *input) knowsNoVolume(i int) bool {
	switch {
	case in.word(i, "dont", "not", "didnt", "never"):
		return in.word(i+1, "know", "sure", "knew", "certain", "remember", "have")
	case in.word(i, "cant", "couldnt", "cannot", "cudnt"):
		return in.word(i+1, "find", "tell", "read", "remember", "say")
	case in.word(i, "no", "ni"):
		return in.word(i+1, "clue", "idea", "se", "sabria", "sabemos", "encuentro", "recuerdo", "tengo", "dice", "viene", "trae") || in.word(i+1, "me") && in.word(i+2, "acuerdo") ||
			in.word(i, "no") && in.word(i+2, "se", "idea", "acuerdo", "encuentro", "encontramos", "sabe", "clue")
	case in.word(i, "havent", "have"):
		return in.word(i+1, "a", "the", "no") && in.word(i+2, "clue", "idea", "foggiest", "faintest")
	}
	return in.word(i, "dunno", "idk", "unknown", "clueless", "ns", "nose", "desconozco")
}
