package understand_test

import "strings"

func replace(shape, word string) string { return strings.ReplaceAll(shape, "%", word) }

func upper(s string) string { return strings.ToUpper(s) }
