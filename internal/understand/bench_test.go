package understand_test

import (
	"slices"
	"testing"
	"time"

	"tubhand/internal/understand"
)

// benchTexts are as long as owners' texts are: most short, some rambling.
var benchTexts = []string{
	"done", "3 7.4 100", "cuanto falta", "ph is seven point four, chlorine 3 and alkalinity a hundred and twenty",
	"how much of the stuff do I put in, it's a 375 gallon tub", "there is a ring of brown gunk that won't come off no matter how hard I scrub it",
	"Done! all poured, jets are on high now. got a little zap off the rail when I stepped out though, is that normal?",
	"Ay mija, primero se me cayó la tirita, luego sonó el teléfono, era tu tía la de Laredo, duró 40 minutos, bueno ya la hice otra vez: 7.4 y como 95",
}

func BenchmarkUnderstand(b *testing.B) {
	understand.Understand("warm", understand.Context{})
	b.ReportAllocs()
	took := make([]time.Duration, 0, b.N)
	for i := 0; b.Loop(); i++ {
		began := time.Now()
		understand.Understand(benchTexts[i%len(benchTexts)], understand.Context{Asked: understand.AskedDone})
		took = append(took, time.Since(began))
	}
	slices.Sort(took)
	b.ReportMetric(float64(took[len(took)*99/100].Microseconds()), "p99-µs")
}
