package console

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"
)

// The bounds of an import.
const (
	mostImport      = 1 << 20 // bytes
	mostImportLines = 2000
)

// importLine is one owner of a file, with the line that it stands in.
type importLine struct {
	Line int
	newOwner
}

// badLine is a line that can't be taken, and what to write instead.
type badLine struct {
	Line  int
	Words string
}

// importColumns are the heads that an import knows, and where each goes.
func importColumns(to *newOwner) map[string]*string {
	return map[string]*string{
		"name": &to.Name, "number": &to.Number, "email": &to.Mail, "language": &to.Language, "gallons": &to.Size, "liters": &to.Size, "sanitizer": &to.Sanitizer,
	}
}

// readImport reads a table of owners: CSV with a line of heads, parted by commas, semicolons
// or tabs. Other columns are passed over. Bad lines are told, and the others go on; an error
// says that nothing can be read.
func readImport(file []byte) (lines []importLine, bad []badLine, err error) {
	file = bytes.TrimPrefix(file, []byte("\xef\xbb\xbf"))
	switch {
	case len(file) > mostImport:
		return nil, nil, fault("The file is larger than 1 MB. Split it, and import the parts one after another.")
	case !utf8.Valid(file):
		return nil, nil, fault("The file is not UTF-8. Save it as \"CSV UTF-8\" and try again.")
	case len(bytes.TrimSpace(file)) == 0:
		return nil, nil, fault("There is nothing in it yet. Choose a file, or paste lines.")
	}
	r := csv.NewReader(bytes.NewReader(file))
	r.Comma, r.FieldsPerRecord, r.TrimLeadingSpace = partedBy(file), -1, true
	heads, err := r.Read()
	if err != nil {
		return nil, nil, fault("The first line can't be read: " + csvWords(err))
	}
	if err := checkHeads(heads); err != nil {
		return nil, nil, err
	}
	for {
		row, err := r.Read()
		if errors.Is(err, io.EOF) {
			return lines, bad, nil
		}
		var broken *csv.ParseError
		if errors.As(err, &broken) {
			// After a stray quote nobody knows where a line ends.
			return lines, append(bad, badLine{broken.Line, csvWords(err) + "; what follows was not read"}), nil
		}
		if err != nil {
			return nil, nil, err
		}
		line, _ := r.FieldPos(0)
		if len(lines)+len(bad) >= mostImportLines {
			return lines, append(bad, badLine{line, fmt.Sprintf("only %d lines are taken at once; import the rest from here on", mostImportLines)}), nil
		}
		if one, ok := importRow(heads, row); ok {
			one.Line = line
			lines = append(lines, one)
		}
	}
}

// partedBy is what parts the heads.
func partedBy(file []byte) rune {
	first, _, _ := bytes.Cut(file, []byte("\n"))
	for _, sign := range []byte{'\t', ';'} {
		if bytes.IndexByte(first, sign) >= 0 && bytes.IndexByte(first, ',') < 0 {
			return rune(sign)
		}
	}
	return ','
}

func checkHeads(heads []string) error {
	known := importColumns(&newOwner{})
	seen := map[string]bool{}
	for i := range heads {
		heads[i] = strings.ToLower(strings.TrimSpace(heads[i]))
		if _, ok := known[heads[i]]; ok && seen[heads[i]] {
			return fault("Two columns are called " + heads[i] + ". Rename or remove one.")
		}
		seen[heads[i]] = true
	}
	if seen["gallons"] && seen["liters"] {
		return fault("There are columns gallons and liters. Keep one of them.")
	}
	if !seen["number"] && !seen["email"] {
		return fault("The first line must name the columns, with number or email among them. It has: " + clip(strings.Join(heads, ", "), 200))
	}
	return nil
}

// importRow reads one line; an empty one is none.
func importRow(heads, row []string) (one importLine, ok bool) {
	to := importColumns(&one.newOwner)
	one.Unit = "gallons"
	if slices.Contains(heads, "liters") {
		one.Unit = "liters"
	}
	for i, value := range row {
		value = strings.TrimSpace(value)
		ok = ok || value != ""
		if i < len(heads) && to[heads[i]] != nil {
			*to[heads[i]] = strings.TrimPrefix(value, "'") // as exports write what looks like a formula
		}
	}
	return one, ok
}

func csvWords(err error) string {
	switch {
	case errors.Is(err, csv.ErrQuote), errors.Is(err, csv.ErrBareQuote):
		return "a quotation mark stands alone; double it or take it out"
	}
	return "it can't be read as CSV"
}
