package flow

// checkPhysical checks what must hold of the tub wherever one arrives.
func (x *explorer) checkPhysical(p place3, e *edge) {
	tub := x.tubAt(p)
	if !x.alone && (tub.Power == same || tub.Water == same || tub.Filters == same || tub.Product == same) {
		x.refute(sameResolves, e, "the tub in %q is not known", p.state.Name)
	}
	if tub.Power == "on" && tub.Water != "full" && tub.Water != same && !p.brief() {
		x.refute(powerNeedsWater, e, "in %q the power is on and the water %s", p.state.Name, tub.Water)
	}
	x.followProduct(p, tub, e)
	circulates := tub.Power == "on" && tub.Water == "full"
	if circulates && tub.Filters != "in" && tub.Filters != same && e.to.product == drained {
		x.refute(filtersBack, e, "in %q water circulates with the filters %s, and the flush product is gone",
			p.state.Name, map[string]string{"out": "out", "in_water": "in the water"}[tub.Filters])
	}
}

// followProduct follows the flush product: it goes in with its dose and leaves with the
// water.
func (x *explorer) followProduct(p place3, tub Tub, e *edge) {
	m := &e.to
	switch {
	case tub.Product == "in" && m.dose[x.flush] != notAdvised:
		m.product = inWater
	case tub.Product != "out" || m.product != inWater:
	case tub.Water == "full":
		x.refute(productDrained, e, "%q says that the product is out, but it went in and the water was not drained since", p.state.Name)
	default:
		m.product = drained
	}
}

// brief tells whether power over low water is meant here: in the blow-out, and in a
// trouble called from it that leaves the tub as it is.
func (p place3) brief() bool {
	return p.state.Brief || p.flow > 0 && p.under.Brief && p.state.Tub.Power == same && p.state.Tub.Water == same
}

// checkSoak checks a state that lets the owner soak.
func (x *explorer) checkSoak(p place3, e *edge) {
	m := &e.to
	tub := x.tubAt(p)
	fault := ""
	switch {
	case m.slots[slotBand] == 0:
		fault = "no complete reading is newer than the last addition and fresh"
	case x.band(m) != bandSoak:
		fault = "the readings are in the band " + x.band(m)
	case m.slots[slotTemperature] == 0:
		fault = "the water's temperature was not measured"
	case tub.Product == "in" || m.product == inWater:
		fault = "flush product is in the water"
	case tub.Power == "off":
		fault = "the power is off"
	case tub.Water != "full" && tub.Water != same:
		fault = "the water is " + tub.Water
	case tub.Filters != "in" && tub.Filters != same:
		fault = "the filters are not in"
	default:
		return
	}
	x.refute(soakIsFresh, e, "%q says that they can soak, but %s", p.state.Name, fault)
}

// checkCall checks that a trouble begins with the tub as its caller has it: a call
// moves no water and no product.
func (x *explorer) checkCall(caller *State, trouble *Flow, e *edge) {
	start, ok := trouble.State(trouble.Start)
	if !ok {
		return
	}
	for _, part := range []struct{ name, ours, theirs string }{
		{"water is", start.Tub.Water, caller.Tub.Water}, {"flush product is", start.Tub.Product, caller.Tub.Product},
	} {
		if part.ours != same && part.ours != part.theirs {
			x.refute(sameResolves, e, "%s begins in %q as if the %s %s, but it is called from %q, where it is %s; write same",
				trouble.Name, start.Name, part.name, part.ours, caller.Name, part.theirs)
		}
	}
}
