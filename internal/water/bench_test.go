package water_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/water"
)

var benchWater = water.Water{
	VolumeL: 1400, TempC: 38, PH: 7.9, TotalAlkalinity: 110, CalciumHardness: 160,
	CyanuricAcid: 25, TDS: 700, FreeChlorine: 2, BorateB: 10,
}

func BenchmarkPredict(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := water.Predict(benchWater, water.Addition{Chemical: water.SodiumBisulfate, Grams: 20}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkAmount(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, _, err := water.Amount(benchWater, water.SodiumBisulfate, water.PH, 7.5); err != nil {
			b.Fatal(err)
		}
	}
}

// stripRequest is a strip's worth of ranges that needs alkalinity, acid and chlorine.
func stripRequest() water.Request {
	r := water.Request{Sanitizer: water.ByChlorine, OnHand: []water.Product{
		{Chemical: water.SodiumBicarbonate, GramsPerTeaspoon: 4.8}, {Chemical: water.SodiumBisulfate},
		{Chemical: water.DichlorDihydrate}, {Chemical: water.CalciumChloride77},
	}}
	r.Water.VolumeL = water.Exactly(1400)
	r.Water.TempC = water.Exactly(38)
	r.Water.PH = water.Between(7.8, 8.2)
	r.Water.TotalAlkalinity = water.Between(50, 80)
	r.Water.CalciumHardness = water.Between(50, 100)
	r.Water.CyanuricAcid = water.Between(0, 30)
	r.Water.FreeChlorine = water.Between(0, 1)
	r.Water.CombinedChlorine = water.Exactly(0)
	return r
}

func BenchmarkPlan(b *testing.B) {
	r := stripRequest()
	advice, err := water.Plan(r)
	require.NoError(b, err)
	require.GreaterOrEqual(b, len(advice.Additions), 3, "%+v", advice.Cautions)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := water.Plan(r); err != nil {
			b.Fatal(err)
		}
	}
}
