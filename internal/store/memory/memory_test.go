package memory_test

import (
	"testing"

	"tubhand/internal/store"
	"tubhand/internal/store/memory"
	"tubhand/internal/store/storetest"
)

func TestContract(t *testing.T) {
	storetest.Run(t, func(testing.TB) store.Store { return memory.New() }, storetest.Features{Name: "memory"})
}
