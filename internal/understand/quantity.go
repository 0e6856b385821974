package understand

import (
	"strings"
	"sync"

	"tubhand/internal/understand/words"
)

// name is a quantity named in a text, at tokens [from,to).
type name struct {
	quantity Quantity
	from, to int
	loose    bool // "total" or "free" alone, which need chlorine near by
}

// nameAt finds the longest quantity name that begins at token i. Names are looked for
// once and kept.
func (in *input) nameAt(i int) (name, bool) {
	if i < 0 || i >= len(in.tokens) {
		return name{}, false
	}
	if in.named == nil {
		in.named = make([]name, len(in.tokens))
		for k := range in.tokens {
			in.named[k], _ = in.findName(k)
		}
	}
	return in.named[i], in.named[i].to > 0
}

// nameStarts are the words that quantity names begin with, gathered once.
var nameStarts = sync.OnceValue(func() map[string]bool {
	out := map[string]bool{}
	for phrase := range quantityNames {
		first, _, _ := strings.Cut(phrase, " ")
		out[first] = true
	}
	return out
})

func (in *input) findName(i int) (name, bool) {
	if t := in.tokens[i]; t.Kind != words.Word || !nameStarts()[t.Text] && !nameStarts()[strings.TrimSuffix(t.Text, "s")] && len(t.Text) < 6 && t.Text != "po" {
		return name{}, false
	}
	if in.word(i, "po") && in.number(i+1) && in.tokens[i+1].Glued && in.tokens[i+1].Value == 4 {
		return name{quantity: Phosphate, from: i, to: i + 2}, true
	}
	for n := min(4, len(in.tokens)-i); n >= 1; n-- {
		phrase, ok := joinWords(in.tokens[i : i+n])
		if !ok {
			continue
		}
		if in.isNoName(phrase, i) {
			continue
		}
		if strings.HasSuffix(phrase, "s") && strings.Contains(in.tokens[i].Raw, "'") {
			phrase = strings.TrimSuffix(phrase, "s")
		}
		if phrase == "ppb" && in.otherName() {
			return name{}, false
		}
		if q, ok := quantityNames[phrase]; ok {
			return name{quantity: q, from: i, to: i + n, loose: isLoose(phrase)}, true
		}
	}
	if q, ok := misspeltQuantity(in.tokens[i].Text); ok {
		return name{quantity: q, from: i, to: i + 1}, true
	}
	return name{}, false
}

// isNoName knows "hard to read" and "ta en", which are no names of quantities.
func (in *input) isNoName(phrase string, i int) bool {
	switch phrase {
	case "hard":
		return in.word(i+1, "to")
	case "ta":
		return in.word(i+1, "en", "bien", "muy", "re", "bueno", "caliente", "fria", "lista", "listo", "todo", "que", "mas")
	}
	return false
}

// otherName reports whether a quantity is named elsewhere, so that "ppb" is but a unit.
func (in *input) otherName() bool {
	for i := range in.tokens {
		if in.word(i, "ppb") {
			continue
		}
		if _, ok := in.findName(i); ok {
			return true
		}
	}
	return false
}

// joinWords joins the tokens' words with spaces; "p.h." reads "p h".
func joinWords(tokens []words.Token) (string, bool) {
	phrase := ""
	for i, t := range tokens {
		if t.IsMark(".-") && i > 0 && len(tokens[i-1].Text) == 1 && tokens[i-1].Kind == words.Word {
			continue
		}
		if t.Kind != words.Word {
			return "", false
		}
		if phrase != "" {
			phrase += " "
		}
		phrase += t.Text
	}
	return phrase, true
}

func isLoose(phrase string) bool {
	switch phrase {
	case "hard", "calc", "th", "gh", "alc", "br", "stab", "total", "free", "libre", "frees", "totals", "combined", "combinado", "sal", "acid", "salt", "cal", "ca", "ch", "ta", "cc", "tc":
		return true
	}
	return false
}

// quantityNames is never changed. Dictation's favourite mishearings are listed with
// the words they stand for.
var quantityNames = map[string]Quantity{
	"chlorine": FreeChlorine, "chlorines": FreeChlorine, "cl": FreeChlorine, "fc": FreeChlorine, "f c": FreeChlorine, "fcl": FreeChlorine,
	"chlor": FreeChlorine, "free chlorine": FreeChlorine, "free chlor": FreeChlorine, "free cl": FreeChlorine, "free": FreeChlorine,
	"frees": FreeChlorine, "free available chlorine": FreeChlorine, "fac": FreeChlorine, "available chlorine": FreeChlorine, "clorine": FreeChlorine,
	"cloro": FreeChlorine, "cloro libre": FreeChlorine, "libre": FreeChlorine, "el libre": FreeChlorine, "color libre": FreeChlorine, "sanitizer": FreeChlorine,
	"chlorine free": FreeChlorine, "chlorine level": FreeChlorine, "florine": FreeChlorine, "chloreen": FreeChlorine, "klorine": FreeChlorine,
	"free chloride": FreeChlorine, "cloro residual": FreeChlorine, "cholrine": FreeChlorine, "chlorin": FreeChlorine, "chloro": FreeChlorine,
	"total chlorine": TotalChlorine, "total chlor": TotalChlorine, "total cl": TotalChlorine, "tc": TotalChlorine, "t c": TotalChlorine, "tcl": TotalChlorine,
	"total": TotalChlorine, "totals": TotalChlorine, "cloro total": TotalChlorine, "chlorine total": TotalChlorine,
	"combined chlorine": CombinedChlorine, "combined": CombinedChlorine, "cc": CombinedChlorine, "chloramines": CombinedChlorine,
	"chloramine": CombinedChlorine, "cloro combinado": CombinedChlorine, "cloraminas": CombinedChlorine, "combinado": CombinedChlorine,
	"combined cl": CombinedChlorine, "c c": CombinedChlorine,
	"bromine": Bromine, "brom": Bromine, "br": Bromine, "bromo": Bromine, "bromide": Bromine, "total bromine": Bromine, "bro mean": Bromine,
	"bromin": Bromine, "bromine level": Bromine, "broming": Bromine, "free bromine": Bromine, "bromo total": Bromine,
	"ph": PH, "p h": PH, "ph level": PH, "pee h": PH, "p age": PH, "phh": PH, "pe hache": PH, "peh": PH, "pee aitch": PH, "ph balance": PH, "potencial": PH, "p hache": PH, "phs": PH, "peache": PH, "acidity": PH, "acidez": PH, "pehache": PH,
	"alkalinity": TotalAlkalinity, "total alkalinity": TotalAlkalinity, "alk": TotalAlkalinity, "ta": TotalAlkalinity, "t a": TotalAlkalinity,
	"tot alk": TotalAlkalinity, "total alk": TotalAlkalinity, "alka": TotalAlkalinity, "alky": TotalAlkalinity, "alca": TotalAlkalinity, "alc": TotalAlkalinity,
	"alkaline": TotalAlkalinity, "talk": TotalAlkalinity, "alkalin": TotalAlkalinity, "alcalinidad": TotalAlkalinity, "alcalinidad total": TotalAlkalinity,
	"alcalina": TotalAlkalinity, "out clean it e": TotalAlkalinity, "alkalinities": TotalAlkalinity, "talc": TotalAlkalinity, "alkali": TotalAlkalinity, "al kalinity": TotalAlkalinity, "al k": TotalAlkalinity,
	"alkanility": TotalAlkalinity, "tac": TotalAlkalinity,
	"hardness": CalciumHardness, "calcium hardness": CalciumHardness, "calcium": CalciumHardness, "ch": CalciumHardness, "total hardness": CalciumHardness,
	"hard": CalciumHardness, "calc": CalciumHardness, "cal": CalciumHardness, "ca": CalciumHardness, "dureza": CalciumHardness, "dureza calcica": CalciumHardness, "dureza de calcio": CalciumHardness,
	"calcio": CalciumHardness, "dureza total": CalciumHardness, "th": CalciumHardness, "c h": CalciumHardness, "water hardness": CalciumHardness, "heartness": CalciumHardness, "gh": CalciumHardness, "hardiness": CalciumHardness,
	"cyanuric acid": CyanuricAcid, "cyanuric": CyanuricAcid, "cya": CyanuricAcid, "c y a": CyanuricAcid, "stabilizer": CyanuricAcid, "stabiliser": CyanuricAcid,
	"conditioner": CyanuricAcid, "acido cianurico": CyanuricAcid, "cianurico": CyanuricAcid, "estabilizador": CyanuricAcid, "cyanic": CyanuricAcid,
	"stab": CyanuricAcid, "cyan": CyanuricAcid, "cyanide": CyanuricAcid, "cyanuric acids": CyanuricAcid, "sia nuric": CyanuricAcid, "acido ciandrico": CyanuricAcid, "estabilizante": CyanuricAcid, "acondicionador": CyanuricAcid,
	"tds": TDS, "t d s": TDS, "total dissolved solids": TDS, "dissolved solids": TDS, "solidos disueltos": TDS, "solidos disueltos totales": TDS, "solidos": TDS,
	"phosphate": Phosphate, "phosphates": Phosphate, "phos": Phosphate, "fosfatos": Phosphate, "fosfato": Phosphate, "ppb": Phosphate, "phosfates": Phosphate,
	"salt": Salt, "salinity": Salt, "salt level": Salt, "salinidad": Salt, "sal": Salt, "nivel de sal": Salt, "salts": Salt,
	"temp": WaterTemp, "temperature": WaterTemp, "water temp": WaterTemp, "water temperature": WaterTemp, "temps": WaterTemp, "temperatura": WaterTemp,
	"thermometer": WaterTemp, "termometro": WaterTemp, "tempature": WaterTemp, "temperture": WaterTemp, "termo": WaterTemp, "tempreture": WaterTemp, "temperatura del agua": WaterTemp,
}

// misspeltQuantity forgives slips in the long names.
func misspeltQuantity(w string) (Quantity, bool) {
	if len(w) < 6 {
		return "", false
	}
	for _, known := range [...]struct {
		word  string
		slips int
		q     Quantity
	}{
		{"chlorine", 2, FreeChlorine}, {"bromine", 1, Bromine}, {"alkalinity", 3, TotalAlkalinity}, {"hardness", 2, CalciumHardness},
		{"calcium", 1, CalciumHardness}, {"cyanuric", 2, CyanuricAcid}, {"stabilizer", 2, CyanuricAcid}, {"phosphates", 2, Phosphate},
		{"temperature", 3, WaterTemp}, {"alcalinidad", 3, TotalAlkalinity}, {"dureza", 1, CalciumHardness}, {"cianurico", 2, CyanuricAcid},
		{"salinity", 1, Salt}, {"temperatura", 2, WaterTemp}, {"estabilizador", 3, CyanuricAcid}, {"chloramines", 2, CombinedChlorine},
	} {
		if w[0] == known.word[0] && words.Distance(w, known.word, known.slips) <= known.slips && !isOrdinary(w) {
			return known.q, true
		}
	}
	return "", false
}

// isOrdinary lists words that are near a name and mean something else.
func isOrdinary(w string) bool {
	switch w {
	case "alcanza", "harness", "darkness", "chloride", "bromide", "clothing", "combine", "calcius", "harmless", "stabilized", "temporary", "hardens", "dura", "durante", "darse", "duresa":
		return w != "duresa"
	}
	return false
}
