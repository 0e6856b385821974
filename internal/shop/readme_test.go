package shop_test

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// The description that the README walks through is the one that is tested.
func TestTheReadmesGatewayIsTheTestedOne(t *testing.T) {
	readme, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	_, rest, ok := strings.Cut(string(readme), "### Connect your gateway")
	require.True(t, ok)
	_, rest, ok = strings.Cut(rest, "```yaml\n")
	require.True(t, ok)
	block, _, ok := strings.Cut(rest, "```")
	require.True(t, ok)
	require.Contains(t, described, block)
}
