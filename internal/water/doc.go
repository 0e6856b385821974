// Package water is the chemistry of tub water: what a chemical does to it, how much
// of it reaches a target, whether the water scales or corrodes, how much of the
// chlorine works, and a cautious plan from coarse readings.
//
// It is an equilibrium model, not a set of proportional tables: carbonate, water,
// cyanurate, borate, hypochlorite, hypobromite and bisulfate with constants that
// depend on temperature, Davies activities from the composition, and the two calcium
// pairs that matter above pH 8.2. Sources stand beside the numbers.
//
// Units are those of the trade: mg/L (alkalinity and hardness as CaCO3, chlorine as
// Cl2, bromine as Br2, borate as boron), degrees Celsius, litres, grams. Inside, all
// is mol/L. The package is pure and imports nothing of ours.
package water
