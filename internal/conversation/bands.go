package conversation

import (
	"math"

	"tubhand/internal/safety"
	"tubhand/internal/understand"
	"tubhand/internal/water"
)

// bandsOf gives a shop's limits to the planner, so that nothing is dosed to where the
// shop lets nobody soak. Where the planner's own bands are narrower they stay.
func bandsOf(limits safety.Limits) water.Bands {
	bands := water.DefaultBands()
	for _, row := range limits.All() {
		var of *water.Limits
		scale := func(x float64) float64 { return x }
		switch understand.Quantity(row.Quantity) {
		case understand.FreeChlorine:
			of = &bands.FreeChlorine
		case understand.Bromine:
			of = &bands.Bromine
		case understand.PH:
			of = &bands.PH
		case understand.CombinedChlorine:
			of = &bands.CombinedChlorine
		case understand.CyanuricAcid:
			of = &bands.CyanuricAcid
		case understand.TotalAlkalinity:
			of = &bands.TotalAlkalinity
		case understand.CalciumHardness:
			of = &bands.CalciumHardness
		case understand.WaterTemp:
			of, scale = &bands.Temperature, celsius
		default:
			continue
		}
		narrow(of, row, scale)
	}
	return bands
}

func celsius(fahrenheit float64) float64 { return (fahrenheit - 32) / 1.8 }

// narrow moves the planner's bounds inwards and keeps its aim inside them. A shop's cap
// under the planner's floor leaves the floor as the one value to dose to: whether it may
// be soaked in is not the planner's to say.
func narrow(l *water.Limits, row safety.Limit, scale func(float64) float64) {
	l.FixLow, l.FixHigh = math.Max(l.FixLow, scale(row.Fix.Low)), math.Min(l.FixHigh, scale(row.Fix.High))
	l.SoakLow = math.Max(l.SoakLow, scale(row.Soak.Low))
	l.SoakHigh = math.Max(math.Min(l.SoakHigh, scale(row.Soak.High)), l.SoakLow)
	l.FixHigh = math.Max(l.FixHigh, l.SoakHigh)
	l.AimLow, l.AimHigh = math.Max(l.AimLow, l.SoakLow), math.Min(l.AimHigh, l.SoakHigh)
	if l.AimLow > l.AimHigh {
		l.AimLow, l.AimHigh = l.SoakLow, l.SoakHigh
	}
}
