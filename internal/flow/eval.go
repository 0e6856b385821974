package flow

// Eval tells whether the guard holds. A nil guard always does. What was never measured
// or answered makes a comparison Unknown; Known itself is never Unknown. Where one
// condition names several facts or numbers, all of them must hold.
func (g *Guard) Eval(v View) Truth { return g.eval(v, known) }

// eval is Eval with a choice of what Known means: see findLive.
func (g *Guard) eval(v View, known func(string, View) Truth) Truth {
	switch {
	case g == nil:
		return True
	case len(g.All) > 0:
		return all(g.All, v, known)
	case len(g.Any) > 0:
		return anyOf(g.Any, v, known)
	case g.Not != nil:
		return not(g.Not.eval(v, known))
	case g.Known != "":
		return known(g.Known, v)
	case len(g.Is) > 0:
		return is(g.Is, v)
	case len(g.Above) > 0:
		return compare(g.Above, v, func(have, limit float64) bool { return have > limit })
	case len(g.AtLeast) > 0:
		return compare(g.AtLeast, v, func(have, limit float64) bool { return have >= limit })
	case len(g.Below) > 0:
		return compare(g.Below, v, func(have, limit float64) bool { return have < limit })
	case len(g.AtMost) > 0:
		return compare(g.AtMost, v, func(have, limit float64) bool { return have <= limit })
	}
	return Unknown
}

// all is Kleene's conjunction: one False makes it False, else one Unknown makes it Unknown.
func all(guards []Guard, v View, known func(string, View) Truth) Truth {
	result := True
	for i := range guards {
		result = and(result, guards[i].eval(v, known))
	}
	return result
}

func and(a, b Truth) Truth {
	switch {
	case a == False || b == False:
		return False
	case a == Unknown || b == Unknown:
		return Unknown
	}
	return True
}

// anyOf is Kleene's disjunction: one True makes it True, else one Unknown makes it Unknown.
func anyOf(guards []Guard, v View, known func(string, View) Truth) Truth {
	result := False
	for i := range guards {
		result = not(and(not(result), not(guards[i].eval(v, known))))
	}
	return result
}

func not(t Truth) Truth {
	switch t {
	case True:
		return False
	case False:
		return True
	}
	return Unknown
}

func truth(holds bool) Truth {
	if holds {
		return True
	}
	return False
}

func known(name string, v View) Truth {
	if _, ok := v.Number(name); ok {
		return True
	}
	value, ok := v.Fact(name)
	return truth(ok && !unmeasured(name, value))
}

func is(facts map[string]string, v View) Truth {
	result := True
	for name, want := range facts {
		have, ok := v.Fact(name)
		if !ok || unmeasured(name, have) && have != want {
			result = and(result, Unknown)
			continue
		}
		result = and(result, truth(have == want))
	}
	return result
}

// unmeasured tells whether a fact is the band of no readings. It can be asked for by
// name; but "not in the band person" must not hold for water that nobody has tested.
func unmeasured(name, value string) bool { return name == factBand && value == bandUnmeasured }

func compare(against map[string]float64, v View, holds func(have, limit float64) bool) Truth {
	result := True
	for name, limit := range against {
		have, ok := v.Number(name)
		if !ok || have != have { // a number that is none is not known either
			result = and(result, Unknown)
			continue
		}
		result = and(result, truth(holds(have, limit)))
	}
	return result
}

// String names the truth value.
func (t Truth) String() string {
	switch t {
	case True:
		return "true"
	case False:
		return "false"
	}
	return "unknown"
}
