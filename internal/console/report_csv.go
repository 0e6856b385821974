package console

import (
	"encoding/csv"
	"fmt"
	"io"
	"strings"
)

// reportTable is a report's figures, as a table on the page and as CSV (RFC 4180).
type reportTable struct {
	Head []string
	Rows [][]string
}

// write writes the table as CSV.
func (t *reportTable) write(to io.Writer) error {
	out := csv.NewWriter(to)
	out.UseCRLF = true
	for _, row := range append([][]string{t.Head}, t.Rows...) {
		safe := make([]string, len(row))
		for i, cell := range row {
			safe[i] = harmless(cell)
		}
		if err := out.Write(safe); err != nil {
			return fmt.Errorf("write CSV: %w", err)
		}
	}
	out.Flush()
	if err := out.Error(); err != nil {
		return fmt.Errorf("write CSV: %w", err)
	}
	return nil
}

// harmless keeps spreadsheets from taking a cell for a formula, which begin with one of
// these; a quote before it makes it text.
func harmless(cell string) string {
	if cell != "" && strings.ContainsRune("=+-@\t\r\n|%＝＋－＠", []rune(cell)[0]) {
		return "'" + cell
	}
	return cell
}
