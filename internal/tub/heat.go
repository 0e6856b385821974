package tub

import (
	"math"
	"time"
)

// A gallon takes 8.34 Btu for each degree F and a kilowatt-hour is 3,412 Btu (Home
// Power magazine, "Useful Conversions and Calculations"). At 100 F a gallon is 8.29 lb
// (density from memory: CRC), so 8.34 errs on the long side.
const (
	btuPerGallonF = 8.34
	btuPerKWh     = 3412
)

// HeatMargin is what HeatTime adds for what the water loses through shell, pipes and
// cover while it heats, and for a heater that gives less than its plate (our decision;
// common practice, no source; cover on).
const HeatMargin = 0.20

// The bounds of heat: water between freezing and the limit of every US code, 104 F
// (CPSC), and heaters from a weak plug-in tub to a large three-phase one (our decision).
const (
	freezingF = 32
	maxWaterF = 104
	minKW     = 0.3 // exclusive
	maxKW     = 36
)

// HeatBtu is the heat in Btu that warms the water by that many degrees F, without
// losses. It checks nothing: a caller with a stranger's numbers wants HeatTime.
func HeatBtu(usGallons, degreesF float64) float64 {
	return usGallons * btuPerGallonF * degreesF
}

// HeatRate is how many degrees F an hour the heater raises the water, without losses.
// Errors are *FieldError of "volume_us_gal" or "heater_kw".
func HeatRate(usGallons, heaterKW float64) (float64, error) {
	if err := firstOf(CheckVolume(usGallons), checkHeater(heaterKW)); err != nil {
		return 0, err
	}
	return heaterKW * btuPerKWh / HeatBtu(usGallons, 1), nil
}

// HeatTime is how long the heater takes from one temperature in F to another, with
// HeatMargin on top; 0 when the water is warm enough already. Errors are *FieldError of
// "volume_us_gal", "heater_kw", "water_temp_f" (32 to 110) or "target_temp_f" (33 to
// 104: no one is told to heat past the limit).
func HeatTime(usGallons, fromF, toF, heaterKW float64) (time.Duration, error) {
	rate, err := HeatRate(usGallons, heaterKW)
	if err != nil {
		return 0, err
	}
	err = firstOf(
		within("water_temp_f", fromF, math.Nextafter(freezingF, 0), 110),
		within("target_temp_f", toF, freezingF, maxWaterF))
	if err != nil || fromF >= toF {
		return 0, err
	}
	return hours((toF - fromF) / rate * (1 + HeatMargin)), nil
}

func checkHeater(kW float64) error { return within("heater_kw", kW, minKW, maxKW) }
