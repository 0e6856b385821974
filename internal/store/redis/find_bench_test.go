package redis

import (
	"testing"

	"tubhand/internal/store/storetest"
)

func BenchmarkFind(b *testing.B) { storetest.BenchFind(b, openServer(b), 100_000) }
