package console

import (
	"errors"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// FuzzReadImport: whatever a file holds, either nothing is read and a sentence says why, or every
// line stands once, in order, among those taken or among the bad ones, and none is too many.
func FuzzReadImport(f *testing.F) {
	for _, seed := range []string{
		"name,number\nAda,(541) 555-0142\n", "\xef\xbb\xbfnumber;gallons\r\n1;2\r\n", "number\tname\n\"a\nb\"\t\n", "number\n\"", "email\n\n\n=1+1\n", "number,number\n", "", "\x00,number\n",
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, file []byte) {
		lines, bad, err := readImport(file)
		if err != nil {
			var wrong fault
			require.True(t, errors.As(err, &wrong), "%v is no sentence for people", err)
			require.NotEmpty(t, strings.TrimSpace(string(wrong)))
			require.Empty(t, lines)
			return
		}
		require.LessOrEqual(t, len(lines)+len(bad), mostImportLines+1)
		last := 1
		for _, l := range lines {
			require.Greater(t, l.Line, last, "lines are in order, after the heads")
			last = l.Line
		}
		for _, b := range bad {
			require.Positive(t, b.Line)
			require.NotEmpty(t, b.Words)
		}
	})
}

func TestInertCells(t *testing.T) {
	for value, want := range map[string]string{"": "", "Ada": "Ada", "=1": "'=1", "+1": "'+1", "-1": "'-1", "@x": "'@x", "\tx": "'\tx", "(541)": "(541)"} {
		require.Equal(t, want, inert(value))
	}
}
