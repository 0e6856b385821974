package phone_test

import (
	"fmt"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tubhand/internal/phone"
)

// However often a number is asked for, and whatever came between, the answer is Parse's.
func TestABookSaysWhatParseSays(t *testing.T) {
	written := rapid.OneOf(
		rapid.SampledFrom([]string{"", "911", "+15415550142", "5415550142", "(541) 555-0142", "+525555550123", "hello", "+1"}),
		rapid.Map(rapid.IntRange(0, 99), func(n int) string { return fmt.Sprintf("+1541555%04d", 100+n) }),
	)
	rapid.Check(t, func(rt *rapid.T) {
		b := phone.NewBook(rapid.IntRange(1, 5).Draw(rt, "kept"))
		for range rapid.IntRange(1, 40).Draw(rt, "asked") {
			w, region := written.Draw(rt, "written"), rapid.SampledFrom([]string{"US", "MX", "DE"}).Draw(rt, "region")
			want, wrong := phone.Parse(w, region)
			got, err := b.Parse(w, region)
			require.Equal(rt, wrong, err)
			require.Equal(rt, want, got)
		}
	})
}

func TestABookIsSharedByMany(t *testing.T) {
	b := phone.NewBook(3)
	var all sync.WaitGroup
	for range 8 {
		all.Go(func() {
			for i := range 100 {
				want := fmt.Sprintf("+1541555%04d", 100+i%7)
				if n, err := b.Parse(want, "US"); err != nil || n.E164 != want {
					t.Errorf("%s: %v, %v", want, n, err)
				}
			}
		})
	}
	all.Wait()
}

func BenchmarkParse(b *testing.B) {
	for b.Loop() {
		if _, err := phone.Parse("+15415550142", "US"); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkBook(b *testing.B) {
	book := phone.NewBook(8)
	for b.Loop() {
		if _, err := book.Parse("+15415550142", "US"); err != nil {
			b.Fatal(err)
		}
	}
}
