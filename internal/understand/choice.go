package understand

import (
	"strings"

	"tubhand/internal/understand/words"
)

// Services are the names of the services an owner can ask for.
var services = [...]string{"flush_plumbing", "drain", "refill", "test_water", "clean_filters", "shock", "other"}

func isService(name string) bool {
	for _, s := range services {
		if s == name {
			return true
		}
	}
	return false
}

// choice reads which of the options offered was picked, by number, place, name or
// words. Picking a service starts it. Where several are named or none is clear, the
// choice is left open and asked about.
func (in *input) choice(m *Meaning) bool {
	if in.ctx.Asked != AskedChoice || len(in.ctx.Choices) == 0 {
		return false
	}
	picked := in.pickedByName()
	if len(picked) != 1 {
		if k, ok := in.pickedByPlace(); ok {
			picked = []int{k}
		}
	}
	switch {
	case len(picked) == 1:
		m.Choice = in.ctx.Choices[picked[0]].Name
		m.Intent, m.Service = Answer, ""
		if isService(m.Choice) {
			m.Intent, m.Service = StartService, m.Choice
		}
		m.Clarify, m.ClarifyWhy = false, ""
		return true
	case len(picked) > 1 || in.saysAny():
		m.Intent, m.Service = Answer, ""
		m.Clarify, m.ClarifyWhy = true, "which of the options?"
		return true
	}
	return false
}

// pickedByName returns the options whose name or words stand in the text and are not refused.
func (in *input) pickedByName() []int {
	var out []int
	for k, c := range in.ctx.Choices {
		for i := range in.tokens {
			if in.namesChoice(i, c) && !in.refusedAt(i) {
				out = append(out, k)
				break
			}
		}
	}
	if len(out) == 2 && in.hasWord("first", "primero", "antes", "before", "then", "luego", "despues") {
		return in.firstNamed(out)
	}
	return out
}

// firstNamed keeps of two options the one to be done first: "flush first".
func (in *input) firstNamed(options []int) []int {
	for i := range in.tokens {
		for _, k := range options {
			if in.namesChoice(i, in.ctx.Choices[k]) {
				return []int{k}
			}
		}
	}
	return options
}

func (in *input) refusedAt(i int) bool {
	for n := i - 1; n >= 0 && n >= i-3; n-- {
		if in.word(n, "not", "no", "dont", "instead", "sin", "skip") {
			return !in.mark(n+1, ",")
		}
	}
	return false
}

func (in *input) namesChoice(i int, c Choice) bool {
	for _, w := range c.Words {
		if phraseAt(in.tokens, i, words.Fold(w)) {
			return true
		}
	}
	t := in.tokens[i]
	if t.Kind != words.Word {
		return false
	}
	if len(c.Words) == 0 || isService(c.Name) {
		return isServiceWord(c.Name, t.Text) || hasServiceStem(c.Name, t.Text) || in.servicePhrase(c.Name, i)
	}
	return false
}

// phraseAt reports whether the words of a phrase stand at token i.
func phraseAt(tokens []words.Token, i int, phrase string) bool {
	for _, t := range words.Tokens(phrase) {
		if i >= len(tokens) || !strings.EqualFold(tokens[i].Text, t.Text) {
			return false
		}
		i++
	}
	return phrase != ""
}

// isServiceWord knows the words that owners use for each service.
func isServiceWord(service, w string) bool {
	has := func(options ...string) bool {
		for _, o := range options {
			if w == o {
				return true
			}
		}
		return false
	}
	switch service {
	case "flush_plumbing":
		return has("flush", "flushing", "flushed", "pipes", "pipe", "lines", "plumbing", "purge", "tuberia", "tuberias", "tubos", "canos", "caneria", "plomeria", "purgar", "purga", "tubo", "enjuague", "flush_plumbing", "biofilm", "lineas")
	case "drain":
		return has("drain", "draining", "drained", "empty", "emptying", "vaciar", "vaciarla", "vaciarlo", "vaciado", "drenar", "drenarla", "drene", "vacie", "vacia", "dump", "desaguar", "drenado", "vacien", "drenen", "plug", "drenaje", "drena")
	case "refill":
		return has("refill", "fill", "refilling", "filling", "llenar", "llenarla", "rellenar", "llenado", "llenen", "llene", "llena", "relleno", "rellene", "topup", "llenarlo")
	case "test_water":
		return has("test", "testing", "tests", "chemistry", "strip", "strips", "medir", "prueba", "probar", "analisis", "analizar", "medicion", "checar", "quimica", "balance", "mida", "medirle", "prueben")
	case "clean_filters":
		return has("filter", "filters", "cartridge", "cartridges", "filtro", "filtros", "cartucho", "cartuchos", "filtr", "filtrs")
	case "shock":
		return has("shock", "shocking", "choque", "shoc", "chock", "superchlorinate", "oxidize", "clorar")
	case "other":
		return has("other", "else", "otra", "otro")
	}
	for _, part := range splitName(service) {
		if part == w {
			return true
		}
	}
	return false
}

func splitName(name string) []string {
	var out []string
	start := 0
	for i := 0; i <= len(name); i++ {
		if i == len(name) || name[i] == '_' || name[i] == ' ' {
			if i-start > 2 {
				out = append(out, name[start:i])
			}
			start = i + 1
		}
	}
	return out
}

// pickedByPlace reads "2", "#2", "the second", "la última", "former".
func (in *input) pickedByPlace() (int, bool) {
	n := len(in.ctx.Choices)
	place, found := 0, 0
	set := func(k int) {
		if k >= 1 && k <= n && (found == 0 || place != k) {
			place = k
			found++
		}
	}
	for i, t := range in.tokens {
		if t.Kind == words.Number && t.Value == float64(int(t.Value)) {
			if u, m := in.unitAt(i + 1); m == 0 || u == noUnit || in.word(i+1, "st", "nd", "rd", "th") {
				set(int(t.Value))
			}
			continue
		}
		if in.word(i, "one", "uno", "una") && in.word(i-1, "option", "number", "opcion", "numero", "choice") {
			set(1)
			continue
		}
		set(in.ordinal(i, n))
	}
	if found == 0 && len(in.tokens) <= 3 {
		for _, t := range in.tokens {
			if v, ok := words.Homophone(t); ok {
				set(int(v))
			}
			if t.IsWord("one", "uno", "una", "un") {
				set(1)
			}
			if t.IsWord("a", "b", "c", "d") && len(in.tokens) <= 2 {
				set(int(t.Text[0]-'a') + 1)
			}
		}
	}
	return place - 1, found == 1
}

// ordinal reads a word for a place among n, counted from 1, or 0.
func (in *input) ordinal(i, n int) int {
	switch {
	case in.word(i, "first", "primera", "primero", "primer", "former", "top", "1st", "1ro", "1ra"):
		return 1
	case in.word(i, "second", "segunda", "segundo", "2nd"):
		return 2
	case in.word(i, "third", "tercera", "tercero", "tercer", "3rd"):
		return 3
	case in.word(i, "fourth", "cuarta", "cuarto", "4th"):
		return 4
	case in.word(i, "fifth", "quinta", "quinto"):
		return 5
	case in.word(i, "last", "ultima", "ultimo", "latter", "bottom"), in.word(i, "abajo") && in.word(i-1, "hasta", "de"):
		return n
	case in.word(i, "arriba") && in.word(i-1, "hasta", "de"):
		return 1
	case in.word(i, "middle", "medio", "enmedio") && n == 3:
		return 2
	}
	return 0
}

// saysAny knows answers that leave the choice to us, or take several.
func (in *input) saysAny() bool {
	for i := range in.tokens {
		switch {
		case in.word(i, "both", "whichever", "either", "ambos", "ambas", "cualquiera", "whatever"),
			in.word(i, "dont", "doesnt") && in.word(i+1, "matter", "care"),
			in.word(i, "las", "los") && in.word(i+1, "dos", "tres") || in.word(i, "las", "los") && in.number(i+1):
			return true
		}
	}
	return false
}

// hasServiceStem knows the many endings of the verbs, and slips in them: "purgarla",
// "shockealo", "drian".
func hasServiceStem(service, w string) bool {
	for _, stem := range serviceStems(service) {
		if strings.HasPrefix(w, stem) {
			return true
		}
	}
	if len(w) < 5 {
		return false
	}
	for _, whole := range map[string][]string{"drain": {"drain", "vaciar"}, "flush_plumbing": {"flush", "plumbing"}, "refill": {"refill", "rellenar"}, "clean_filters": {"filter", "filters", "filtros"}, "shock": {"shock"}}[service] {
		if words.Distance(w, whole, 1) <= 1 {
			return true
		}
	}
	return false
}

func serviceStems(service string) []string {
	switch service {
	case "flush_plumbing":
		return []string{"purg", "tuber", "plomer", "flush", "tubing", "plumb"}
	case "drain":
		return []string{"vaci", "desag", "dren", "drain", "empt"}
	case "refill":
		return []string{"rellen", "llen", "refill"}
	case "test_water":
		return []string{"teste", "medic", "prueb", "analiz", "chequ", "chemis", "midamos", "probem", "probar"}
	case "clean_filters":
		return []string{"filtr", "cartuch", "cartridg", "pleat"}
	case "shock":
		return []string{"shock", "choque", "superclor", "oxid"}
	}
	return nil
}

// servicePhrase knows services told by what is done: "let the water out", "water back in".
func (in *input) servicePhrase(service string, i int) bool {
	switch service {
	case "drain":
		return in.word(i, "rid") && in.word(i+1, "of") || in.word(i, "let", "get", "take", "sacar", "sacarle", "tirar", "tirarle") && (in.word(i+1, "it", "the", "el", "all") && (in.word(i+2, "out", "water", "agua") || in.word(i+3, "out")) || in.word(i+1, "agua"))
	case "refill":
		return in.word(i, "water", "agua") && (in.word(i+1, "back", "fresca", "nueva", "limpia") || in.word(i+1, "in") && !in.word(i+2, "the", "my", "it")) || in.word(i, "put", "ponerle", "meterle", "echarle", "cargarla") && (in.word(i+1, "water", "agua", "de") || in.word(i+2, "water", "agua"))
	case "test_water":
		return in.word(i, "numbers", "levels", "niveles", "numeros", "readings")
	case "shock":
		return in.word(i, "zap")
	}
	return false
}
