// Package storetest is the contract of package store as tests. Every store runs the
// same suite; each case carries the sentence of the contract that it checks, and prints
// it when it fails. Nothing in it waits for the clock: times are passed in.
package storetest

import (
	"slices"
	"testing"

	"tubhand/internal/store"
)

// Features are what a store can do beside the contract. The suite checks the contract
// for all and never skips: what a store lacks here is not asked of it.
type Features struct {
	// Name is printed, so that a log shows on which store the suite ran.
	Name string
	// Reopen closes the store and opens another on the same data. Nil says that nothing
	// survives.
	Reopen func(tb testing.TB, s store.Store) store.Store
}

// a case is one promise and how to see it kept.
type promise struct {
	name string
	says string // the contract's sentence
	test func(k *kit)
}

// Run checks a store against the whole contract. Each case opens a store of its own.
func Run(t *testing.T, open func(tb testing.TB) store.Store, f Features) {
	t.Logf("conformance of store %q", f.Name)
	cases := slices.Concat(turnCases(), outboxCases(), settleCases(), dueCases(), viewCases(), watchCases(), crowdCases(), documentCases(), auditCases(), rightsCases(), acrossCases(), endCases())
	if f.Reopen != nil {
		cases = append(cases, durableCases(f)...)
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			t.Cleanup(func() {
				if t.Failed() {
					t.Logf("store %q breaks the contract: %s", f.Name, c.says)
				}
			})
			c.test(newKit(t, open(t)))
		})
	}
	t.Run("does what a simple model does", func(t *testing.T) { checkModel(t, open) })
}
