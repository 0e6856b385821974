package flow_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"slices"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/flow"
)

// understood reads the constants of one type out of package understand's source, so
// that a name added there can't be forgotten here.
func understood(t *testing.T, typeName string) []string {
	t.Helper()
	file, err := parser.ParseFile(token.NewFileSet(), "../understand/meaning.go", nil, 0)
	require.NoError(t, err)
	var found []string
	ast.Inspect(file, func(n ast.Node) bool {
		spec, ok := n.(*ast.ValueSpec)
		if !ok {
			return true
		}
		if of, ok := spec.Type.(*ast.Ident); ok && of.Name == typeName {
			value, err := strconv.Unquote(spec.Values[0].(*ast.BasicLit).Value)
			require.NoError(t, err)
			found = append(found, value)
		}
		return true
	})
	require.NotEmpty(t, found)
	slices.Sort(found)
	return found
}

func TestSignalsAreTheIntents(t *testing.T) {
	signals := slices.DeleteFunc(flow.Signals(), func(s string) bool {
		return slices.Contains([]string{"readings", "volume", "volume_changed", "unknown"}, s)
	})
	require.Equal(t, understood(t, "Intent"), signals)
	require.Len(t, flow.Signals(), len(signals)+4)
}

func TestQuantitiesAreThoseUnderstood(t *testing.T) {
	require.Equal(t, understood(t, "Quantity"), flow.Quantities())
}

func TestNamesAreSorted(t *testing.T) {
	for _, names := range [][]string{flow.Signals(), flow.Quantities(), flow.Steps(), flow.Doses(), flow.ComputedTimes()} {
		require.True(t, slices.IsSorted(names), "%v", names)
		require.Len(t, slices.Compact(slices.Clone(names)), len(names))
	}
}
