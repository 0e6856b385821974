package main

import (
	"bytes"
	"os"
	"testing"

	"github.com/stretchr/testify/require"
)

// flowsRun runs `tubhand flows` over a folder of flow files.
func flowsRun(t *testing.T, dir string, args ...string) (code int, stdout, stderr string) {
	t.Helper()
	var out, errs bytes.Buffer
	c := flowsCommand{files: os.DirFS(dir), has: func(string, string) bool { return true }, out: &out, err: &errs}
	code = c.run(args)
	return code, out.String(), errs.String()
}

const (
	goodFlows   = "../../testdata/flows/good"
	brokenFlows = "../../testdata/flows/broken"
)

func TestFlowsList(t *testing.T) {
	code, out, errs := flowsRun(t, goodFlows, "list")
	require.Zero(t, code, errs)
	require.Equal(t, "small_flush          service   11 states  A short flush for the tests\n"+
		"small_foam           trouble    3 states  Too much foam, for the tests\n", out)
}

func TestFlowsCheckTellsWhatHolds(t *testing.T) {
	code, out, errs := flowsRun(t, goodFlows, "check")
	require.Zero(t, code, errs)
	require.Regexp(t, `small_flush: explored \d+ abstract states by \d+ transitions`, out)
	require.Contains(t, out, "  holds no dose without a known volume\n")
	require.Contains(t, out, "2 flows hold.")
	require.NotContains(t, out, "FAILS")

	code, out, _ = flowsRun(t, goodFlows, "check", "small_foam")
	require.Zero(t, code)
	require.NotContains(t, out, "small_flush:")
}

func TestFlowsCheckTellsTheWayToAFailure(t *testing.T) {
	code, out, errs := flowsRun(t, brokenFlows, "check", "dose_unknown_volume")
	require.Equal(t, 1, code)
	require.Contains(t, out, "  FAILS no dose without a known volume\n"+
		"         1. begins in \"tell_volume\" [power on, water full, filters in, product out]\n"+
		"         2. the owner says \"unknown\"\n"+
		"         3. so flush_product is advised in \"add_product\", but the volume is unknown\n")
	require.Equal(t, "tubhand flows: 1 of 1 flows fail\n", errs)
}

func TestFlowsDraw(t *testing.T) {
	code, out, errs := flowsRun(t, goodFlows, "draw", "small_foam")
	require.Zero(t, code, errs)
	require.Contains(t, out, "<svg ")

	code, out, _ = flowsRun(t, goodFlows, "draw", "small_foam", "--here", "look")
	require.Zero(t, code)
	require.Contains(t, out, "Now at look.")

	code, out, _ = flowsRun(t, goodFlows, "draw", "--format", "mermaid", "small_foam")
	require.Zero(t, code)
	require.Contains(t, out, "stateDiagram-v2\n")
}

func TestFlowsSaysWhatIsWrong(t *testing.T) {
	uses := []struct {
		name, dir string
		args      []string
		code      int
		want      string
	}{
		{"nothing", goodFlows, nil, 2, "usage: tubhand flows check"},
		{"unknown word", goodFlows, []string{"prove"}, 2, `there is no "prove"`},
		{"list of one", goodFlows, []string{"list", "small_foam"}, 2, "usage:"},
		{"draw of none", goodFlows, []string{"draw"}, 2, "usage:"},
		{"draw of two", goodFlows, []string{"draw", "small_foam", "small_flush"}, 2, "usage:"},
		{"format", goodFlows, []string{"draw", "small_foam", "--format", "png"}, 2, "usage:"},
		{"flag", goodFlows, []string{"draw", "small_foam", "--colour"}, 2, "usage:"},
		{"check's flag", goodFlows, []string{"check", "--fast"}, 2, "usage:"},
		{"draw of an unknown flow", goodFlows, []string{"draw", "nope"}, 1, `no flow "nope"; there are: small_flush, small_foam`},
		{"check of an unknown flow", goodFlows, []string{"check", "nope"}, 1, `no flow "nope"`},
		{"unknown state", goodFlows, []string{"draw", "small_foam", "--here", "nope"}, 1, `small_foam has no state "nope"`},
		{"no flows", "../../testdata/flows", []string{"check"}, 1, "no *.yaml files"},
	}
	for _, use := range uses {
		t.Run(use.name, func(t *testing.T) {
			code, out, errs := flowsRun(t, use.dir, use.args...)
			require.Equal(t, use.code, code)
			require.Contains(t, errs, use.want)
			require.Empty(t, out)
		})
	}
}

func TestFlowsHelp(t *testing.T) {
	var out, errs bytes.Buffer
	require.Zero(t, runFlows([]string{"--help"}, &out, &errs))
	require.Equal(t, flowsUsage, out.String())
	require.Empty(t, errs.String())
}

// The flows that the program brings along must hold: the build fails otherwise.
func TestOurFlowsHold(t *testing.T) {
	var out, errs bytes.Buffer
	require.Zero(t, runFlows([]string{"check"}, &out, &errs), "%s%s", &out, &errs)
	require.Contains(t, out.String(), "flush_plumbing: explored")
}
