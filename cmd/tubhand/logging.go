package main

import (
	"fmt"
	"io"
	"log/slog"
	"regexp"
	"unicode/utf8"

	"tubhand/internal/phone"
)

// newLog writes JSON lines that may be kept and shown around: phone numbers are
// shortened wherever they stand, and what people wrote is left out.
func newLog(w io.Writer, level string) *slog.Logger {
	var least slog.Level // info
	if err := least.UnmarshalText([]byte(level)); err != nil {
		least = slog.LevelInfo
	}
	return slog.New(slog.NewJSONHandler(w, &slog.HandlerOptions{Level: least, ReplaceAttr: redact}))
}

// numbers finds E.164 numbers, also as they stand in a form or a path.
var numbers = regexp.MustCompile(`(\+|%2[bB])[1-9][0-9]{7,14}`)

// redact is applied to every attribute of every line, the message included.
func redact(_ []string, a slog.Attr) slog.Attr {
	text := ""
	switch a.Value.Kind() {
	case slog.KindString:
		text = a.Value.String()
	case slog.KindAny:
		switch v := a.Value.Any().(type) {
		case error:
			text = v.Error()
		case fmt.Stringer:
			text = v.String()
		case *slog.Source, slog.Level:
			return a
		default:
			text = fmt.Sprintf("%+v", v)
		}
	default:
		return a
	}
	if a.Key == "text" || a.Key == "body" {
		return slog.String(a.Key, fmt.Sprintf("(%d characters)", utf8.RuneCountInString(text)))
	}
	return slog.String(a.Key, numbers.ReplaceAllStringFunc(text, phone.Short))
}
