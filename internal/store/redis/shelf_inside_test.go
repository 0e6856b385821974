package redis

import (
	"strings"
	"testing"
	"time"

	"github.com/alicebob/miniredis/v2"
	"github.com/stretchr/testify/require"

	"tubhand/internal/store"
)

// TestAChangeOfTheShelfThatIsRepeatedCountsOnce sends each call twice, as the client does
// when an answer gets lost.
func TestAChangeOfTheShelfThatIsRepeatedCountsOnce(t *testing.T) {
	s, err := Open(t.Context(), "redis://"+miniredis.RunT(t).Addr(), Options{})
	require.NoError(t, err)
	defer func() { require.NoError(t, s.Close()) }()
	k := s.shelf("fern")
	now := time.Date(2026, 6, 13, 12, 0, 0, 0, time.UTC)
	twice := func(sc *script, keys []string, want any, args ...string) {
		t.Helper()
		done := k.done + s.nonce()
		for range 2 {
			answer, err := s.run(t.Context(), sc, true, append([]string{done}, keys...), args...)
			require.NoError(t, err)
			require.Equal(t, want, answer)
		}
	}
	documents := []string{k.documents, k.order, k.ends}
	twice(s.scripts.document, documents, "done", "put", placeOf("account", "dana"), "0", "0", "0", "x", repeated)
	d, err := s.Document(t.Context(), "fern", "account", "dana", now)
	require.NoError(t, err)
	require.Equal(t, store.Document{Kind: "account", Key: "dana", Value: []byte("x"), Version: 1}, d)
	twice(s.scripts.document, documents, "done", "delete", placeOf("account", "dana"), "0", "", "", "", repeated)
	twice(s.scripts.document, documents, "missing", "delete", placeOf("account", "dana"), "0", "", "", "", repeated)
	audit := []string{k.audit, k.gone}
	twice(s.scripts.audit, audit, "2", "append", repeated, "1\n{}", "2\n{}")
	list, err := s.Audit(t.Context(), "fern", 0, 10)
	require.NoError(t, err)
	require.Len(t, list, 2)
	twice(s.scripts.audit, audit, "1", "trim", repeated, "5", "1")
	list, err = s.Audit(t.Context(), "fern", 0, 10)
	require.NoError(t, err)
	require.Len(t, list, 1)
}

func TestTheShelfIsInItsShopsPartition(t *testing.T) {
	s := &Store{layout: layout{"tubhand", 64}}
	for _, shop := range []string{"fern", "moss:bank", "a}b{c"} {
		base := s.layout.base(s.layout.of(shop))
		k := s.shelf(shop)
		for _, key := range []string{k.documents, k.order, k.ends, k.audit, k.gone, k.done} {
			require.True(t, strings.HasPrefix(key, base), key)
			require.Equal(t, 1, strings.Count(key, "{"), key)
		}
	}
}

func TestDocumentsThatAreNotAsWritten(t *testing.T) {
	for _, element := range []string{"", "1", "1\n2", "x\n0\nv", "1\nx\nv"} {
		_, err := document(placeOf("account", "dana"), element)
		require.ErrorContains(t, err, `account "dana"`, "%q", element)
	}
}
