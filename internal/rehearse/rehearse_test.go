package rehearse_test

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/flows"
	"tubhand/internal/flow"
	"tubhand/internal/rehearse"
	"tubhand/internal/shop"
	"tubhand/internal/wording"
	"tubhand/templates"
)

const folder = "../../testdata/rehearsals"

// TestRehearsals plays every script and checks what it expects; besides, whatever is
// said in any of them fits into two 7-bit segments.
func TestRehearsals(t *testing.T) {
	files, err := filepath.Glob(filepath.Join(folder, "*.yaml"))
	require.NoError(t, err)
	require.NotEmpty(t, files)
	for _, file := range files {
		t.Run(filepath.Base(file), func(t *testing.T) {
			t.Parallel()
			src, err := os.ReadFile(file)
			require.NoError(t, err)
			said, err := play(t, filepath.Base(file), src)
			if err != nil {
				t.Logf("\n%s", said)
			}
			require.NoError(t, err)
		})
	}
}

func play(t *testing.T, file string, src []byte) (string, error) {
	t.Helper()
	script, err := rehearse.Parse(file, src)
	require.NoError(t, err)
	flowSet, err := flow.Load(flows.FS)
	require.NoError(t, err)
	words, err := wording.Load(templates.FS)
	require.NoError(t, err)
	var text strings.Builder
	printer := &rehearse.Printer{W: &text}
	player, err := rehearse.New(script, shop.Demo().Shop, flowSet, words, func(e rehearse.Event) {
		printer.Print(e)
		if e.Kind == rehearse.KindOut && e.By == "" {
			require.Equal(t, "GSM-7", e.Encoding, e.Text)
			require.LessOrEqual(t, e.Segments, 2, e.Text)
		}
	})
	require.NoError(t, err)
	err = player.Play(context.Background())
	return text.String(), err
}
