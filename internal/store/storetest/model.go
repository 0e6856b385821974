package storetest

import (
	"testing"

	"tubhand/internal/store"
)

func checkModel(t *testing.T, open func(tb testing.TB) store.Store) {}
