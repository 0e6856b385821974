package understand

// borrowUnit gives the size in "you've got me down for 300 gal, it's really 340" the unit
// of the one it puts right.
func (in *input) borrowUnit(kept, all []amount) {
	if len(kept) != 1 || kept[0].unit != noUnit || len(all) != 2 || !inRange(kept[0].value, leastBareGallons, mostBareGallons) {
		return
	}
	for _, a := range all {
		if a.from != kept[0].from && a.unit.isVolume() {
			kept[0].unit = a.unit
		}
	}
}

// spreadUnits gives bare numbers a unit that is said elsewhere: "Litres 1250", "1200
// litres no sorry gallons", "260 gallons british ones".
func (in *input) spreadUnits(all, told []amount) {
	imperial := in.hasWord("imperial", "british", "uk", "canadian", "imperiales", "ingleses")
	said := noUnit
	for _, a := range told {
		if a.unit.isVolume() && first(inGallons(a)) > leastGallons {
			said = a.unit
		}
	}
	for k := range all {
		a := &all[k]
		in.lendUnit(a, said)
		if a.unit == noUnit && in.asksVolume() && !in.number(a.from-2) {
			if u, n := in.volumeUnitAt(a.from - 1); n == 1 {
				a.unit = u
			}
		}
		if imperial && (a.unit == gallons || a.unit == noUnit && in.asksVolume()) {
			a.unit = imperialGallons
		}
	}
	if u := in.unitSaid(); len(all) == 1 && all[0].unit == noUnit && in.asksVolume() && u != noUnit {
		all[0].unit = u
	}
	in.correctUnit(all)
}

// lendUnit gives a size without a unit the one said elsewhere, where it can be meant.
func (in *input) lendUnit(a *amount, said unit) {
	if v := in.tokens[min(a.to, len(in.tokens))-1].Grouped; a.unit == noUnit && v > 0 && said != noUnit && !a.bounded {
		a.unit, a.value = said, Value{Low: v, High: v}
	}
	if a.unit == noUnit && said == litres && first(a.value) >= 300 {
		a.unit = litres
	}
}

// correctUnit applies "1200 litres no sorry gallons": a unit said later takes the place.
func (in *input) correctUnit(all []amount) {
	if len(all) == 1 && all[0].unit != noUnit {
		for i := all[0].to; i < len(in.tokens); i++ {
			u, n := in.volumeUnitAt(i)
			if n > 0 && u != all[0].unit && !in.number(i-1) && in.word(i-1, "sorry", "mean", "meant", "actually", "digo", "perdon", "son", "wait", "no") {
				all[0].unit = u
			}
		}
	}
}

// unitSaid finds the one unit of volume that is said apart from a number and not denied.
func (in *input) unitSaid() unit {
	said := noUnit
	for i := range in.tokens {
		u, n := in.volumeUnitAt(i)
		if n == 0 || u == otherUnit || in.word(i+n, "per", "a") || in.number(i-1) || in.word(i-1, "no", "not") || in.word(i-2, "no", "not") || n == 1 && in.word(i, "l", "g", "m") {
			continue
		}
		if said != noUnit && said != u {
			return noUnit
		}
		said = u
	}
	return said
}

// inGallons converts to US gallons, rounded to a tenth.
func inGallons(a amount) Value {
	v := a.value
	v.Low, v.High = tenth(v.Low*a.unit.inGallons()), tenth(v.High*a.unit.inGallons())
	return v
}

// inGallons returns how many US gallons one of the unit is.
func (u unit) inGallons() float64 {
	factor := 1.0
	switch u {
	case imperialGallons:
		factor = litresPerImperialGallon / litresPerUSGallon
	case litres:
		factor = 1 / litresPerUSGallon
	case poundsOfWater:
		factor = 1 / poundsPerUSGallon
	case hectolitres:
		factor = 100 / litresPerUSGallon
	case cubicMetres:
		factor = 1000 / litresPerUSGallon
	case cubicFeet:
		factor = litresPerCubicFoot / litresPerUSGallon
	}
	return factor
}
