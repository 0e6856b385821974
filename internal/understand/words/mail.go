package words

import "strings"

// WithoutQuotes takes off what an e-mail quotes and its signature, and leaves what the
// writer added, inline answers included. Text that would leave nothing is returned
// whole: a forwarded message is still a message.
func WithoutQuotes(text string) string {
	if !strings.Contains(text, "\n") && !strings.Contains(text, "-----") {
		return text
	}
	lines := strings.Split(text, "\n")
	kept := make([]string, 0, len(lines))
	for i, line := range lines {
		if startsQuote(lines, i) {
			break
		}
		if isQuoted(line) || isFooter(line) {
			continue
		}
		kept = append(kept, line)
	}
	result := strings.Join(kept, "\n")
	if strings.TrimSpace(result) != "" {
		return result
	}
	if below := belowQuote(lines); strings.TrimSpace(below) != "" {
		return below
	}
	return text
}

// belowQuote returns what was written under a quotation that stands at the top.
func belowQuote(lines []string) string {
	var kept []string
	quoted := false
	for i, line := range lines {
		switch {
		case isQuoted(line), isWroteLine(lines, i, Fold(strings.TrimSpace(line))):
			quoted = true
		case !isFooter(line):
			kept = append(kept, line)
		}
	}
	if !quoted {
		return ""
	}
	return strings.Join(kept, "\n")
}

func isQuoted(line string) bool {
	line = strings.TrimSpace(line)
	if !strings.HasPrefix(line, ">") {
		return false
	}
	// ">10" is a reading off the end of a strip, not a quotation.
	rest := strings.TrimLeft(line[1:], " ")
	return len(rest) == 0 || rest[0] < '0' || rest[0] > '9' || len(rest) > 24
}

// startsQuote reports whether everything from line i on is quoted or signature.
func startsQuote(lines []string, i int) bool {
	line := strings.TrimSpace(lines[i])
	if lines[i] == "-- " || line == "--" {
		return true
	}
	folded := Fold(line)
	if strings.HasPrefix(folded, "________") || strings.Contains(folded, "reply above this line") {
		return true
	}
	if strings.HasPrefix(folded, "-----") && strings.ContainsAny(folded, "abcdefghijklmnopqrstuvwxyz") {
		return true
	}
	return isWroteLine(lines, i, folded) || isHeaderBlock(lines, i, folded)
}

// isWroteLine knows "On Tue, ... wrote:" and its Spanish twin, wrapped over up to three lines.
func isWroteLine(lines []string, i int, folded string) bool {
	starts := strings.HasPrefix(folded, "on ") || strings.HasPrefix(folded, "el ") || strings.HasPrefix(folded, "le ")
	joined := folded
	for n := 0; n < 3; n++ {
		if n > 0 {
			if i+n >= len(lines) || !starts {
				return false
			}
			joined += " " + Fold(strings.TrimSpace(lines[i+n]))
		}
		if hasAnySuffix(joined, "wrote:", "escribio:", "a ecrit :", "a ecrit:", "schrieb:") {
			return starts || strings.Contains(joined, "@") || strings.Contains(joined, "<")
		}
	}
	return false
}

func isHeaderBlock(lines []string, i int, folded string) bool {
	if !hasAnyPrefix(folded, "from:", "de:", "von:", "*from:*") {
		return false
	}
	found := 0
	for n := 1; n <= 4 && i+n < len(lines); n++ {
		next := Fold(strings.TrimSpace(lines[i+n]))
		if hasAnyPrefix(next, "sent:", "to:", "subject:", "date:", "enviado", "para:", "asunto:", "fecha:", "*sent:*", "*to:*", "*subject:*") {
			found++
		}
	}
	return found >= 1
}

func isFooter(line string) bool {
	folded := Fold(strings.TrimSpace(line))
	return hasAnyPrefix(folded, "sent from my ", "get outlook for ", "enviado desde mi ", "sent via ", "enviado desde ")
}

func hasAnyPrefix(s string, options ...string) bool {
	for _, o := range options {
		if strings.HasPrefix(s, o) {
			return true
		}
	}
	return false
}

func hasAnySuffix(s string, options ...string) bool {
	for _, o := range options {
		if strings.HasSuffix(s, o) {
			return true
		}
	}
	return false
}
