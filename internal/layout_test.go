// Package internal_test holds the layout: dependencies point one way, and the pure
// packages stay pure.
package internal_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// layers lists the packages from the inside out. A package imports only from layers
// before its own.
var layers = [][]string{
	{"water", "tub", "safety", "smstext", "ical", "clock", "phone", "mailbox", "flow", "wording"},
	{"understand"},
	{"conversation"},
	{"store", "shop"},
	{"turn", "staff", "rights"},
	{"channel", "dispatch", "console", "rehearse", "demo", "bench"},
}

// pure names what decides without touching the world.
var pure = []string{"water", "tub", "understand", "safety", "flow", "conversation", "wording", "smstext", "ical"}

// impure names what a pure package must not import. Reading a time zone is the one look
// outside: conversation's World does it and keeps what it found.
var impure = []string{"database/sql", "net", "net/http", "log", "log/slog", "os", "math/rand", "math/rand/v2"}

// seeded draws from a seed that is a parameter, so that the same texts train the same model.
const seeded = "understand/learn"

// alone imports nothing of ours.
var alone = []string{"water", "tub", "safety", "smstext", "ical"}

func TestDependenciesPointOneWay(t *testing.T) {
	for dir, imports := range packages(t) {
		mine := layerOf(dir)
		require.GreaterOrEqual(t, mine, 0, "internal/%s has no layer: give it one in this test", dir)
		for _, imported := range imports {
			of, ours := strings.CutPrefix(imported, "tubhand/internal/")
			if !ours || area(of) == area(dir) {
				continue
			}
			require.Less(t, layerOf(of), mine, "internal/%s must not import internal/%s", dir, of)
			require.NotContains(t, alone, area(dir), "internal/%s imports internal/%s; it imports nothing of ours", dir, of)
		}
		require.NotContains(t, imports, "tubhand/cmd/tubhand")
	}
}

func TestPurePackagesStayPure(t *testing.T) {
	for dir, imports := range packages(t) {
		if !slices.Contains(pure, area(dir)) {
			continue
		}
		for _, imported := range imports {
			if dir == seeded && imported == "math/rand/v2" {
				continue
			}
			require.NotContains(t, impure, imported, "internal/%s is pure", dir)
		}
	}
}

// TestTimeIsAParameter finds calls that read the machine's clock outside its place.
func TestTimeIsAParameter(t *testing.T) {
	each(t, func(file string, tree *ast.File) {
		if area(path.Dir(file)) == "clock" {
			return
		}
		ast.Inspect(tree, func(n ast.Node) bool {
			s, ok := n.(*ast.SelectorExpr)
			if !ok {
				return true
			}
			if x, ok := s.X.(*ast.Ident); ok && x.Name == "time" {
				require.NotContains(t, []string{"Now", "Sleep", "Since", "Until"}, s.Sel.Name, "internal/%s reads the machine's clock; take a clock.Clock or a time", file)
			}
			return true
		})
	})
}

// packages gives each package's imports, tests left out.
func packages(t *testing.T) map[string][]string {
	t.Helper()
	found := map[string][]string{}
	each(t, func(file string, tree *ast.File) {
		dir := path.Dir(file)
		for _, i := range tree.Imports {
			found[dir] = append(found[dir], strings.Trim(i.Path.Value, `"`))
		}
	})
	return found
}

func each(t *testing.T, do func(file string, tree *ast.File)) {
	t.Helper()
	err := fs.WalkDir(os.DirFS("."), ".", func(file string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || filepath.Ext(file) != ".go" || strings.HasSuffix(file, "_test.go") {
			return err
		}
		tree, err := parser.ParseFile(token.NewFileSet(), file, nil, 0)
		if err == nil && !strings.Contains(path.Dir(file), "storetest") {
			do(file, tree)
		}
		return err
	})
	require.NoError(t, err)
}

// area is the first folder of a path below internal.
func area(dir string) string {
	name, _, _ := strings.Cut(dir, "/")
	return name
}

func layerOf(dir string) int {
	for i, layer := range layers {
		if slices.Contains(layer, area(dir)) {
			return i
		}
	}
	return -1
}
