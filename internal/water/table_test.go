package water_test

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
)

// row is one line of a published table, by column name.
type row map[string]string

// table reads testdata/water/NAME.csv.
func table(t testing.TB, name string) []row {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "testdata", "water", name+".csv"))
	require.NoError(t, err)
	defer f.Close()
	lines, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	require.Greater(t, len(lines), 1, "%s has no rows", name)
	rows := make([]row, 0, len(lines)-1)
	for _, line := range lines[1:] {
		r := row{}
		for i, column := range lines[0] {
			r[column] = line[i]
		}
		rows = append(rows, r)
	}
	return rows
}

// number is a column as a number.
func (r row) number(t testing.TB, column string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(r[column], 64)
	require.NoError(t, err, "%s: column %s", r["id"], column)
	return v
}
