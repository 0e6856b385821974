package flow_test

import (
	"io/fs"
	"os"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"
	"github.com/stretchr/testify/require"

	"tubhand/flows"
	"tubhand/internal/flow"
)

// seeds gives every flow file there is, ours and those of the tests.
func seeds(f *testing.F) {
	f.Helper()
	for _, files := range []fs.FS{flows.FS, os.DirFS("../../testdata/flows/good"), os.DirFS("../../testdata/flows/broken")} {
		names, err := fs.Glob(files, "*.yaml")
		require.NoError(f, err)
		for _, name := range names {
			src, err := fs.ReadFile(files, name)
			require.NoError(f, err)
			f.Add(string(src))
		}
	}
	for _, slip := range slips() {
		f.Add(strings.ReplaceAll(slip.to, "§", ""))
	}
}

// Whatever is given, Parse gives a flow or problems that say where and what to do; a
// flow that it takes can be stepped through and drawn, and written out it reads as the
// same flow.
func FuzzParse(f *testing.F) {
	seeds(f)
	f.Fuzz(func(t *testing.T, src string) {
		parsed, err := flow.Parse("x.yaml", []byte(src))
		if err != nil {
			require.Nil(t, parsed)
			problems := flow.Problems(err)
			require.NotEmpty(t, problems)
			for _, problem := range problems {
				require.Equal(t, "x.yaml", problem.File)
				require.NotEmpty(t, problem.Do)
				require.LessOrEqual(t, problem.Line, strings.Count(src, "\n")+strings.Count(src, "\r")+2)
			}
			return
		}
		require.LessOrEqual(t, len(src), 256<<10)
		written, err := yaml.MarshalWithOptions(parsed, yaml.OmitZero())
		require.NoError(t, err)
		again, err := flow.Parse("x.yaml", written)
		require.NoError(t, err, "%s", written)
		rewritten, err := yaml.MarshalWithOptions(again, yaml.OmitZero())
		require.NoError(t, err)
		require.Equal(t, string(written), string(rewritten))
		state, _ := parsed.Enter(parsed.Start, nobody{})
		require.NotNil(t, state)
		require.Contains(t, flow.SVG(parsed, state.Name), "</svg>")
	})
}
