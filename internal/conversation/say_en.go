package conversation

import (
	"time"

	"tubhand/internal/understand"
	"tubhand/internal/water"
)

// english is never changed.
var english = tongue{
	someone: "someone", gallons: "gallons", litres: "liters",
	units: map[water.Unit][2]string{
		water.LevelTeaspoon: {"level teaspoon", "level teaspoons"},
		water.Teaspoon:      {"teaspoon", "teaspoons"},
		water.FluidOunce:    {"fl oz", "fl oz"},
		water.OunceWeight:   {"oz by weight", "oz by weight"},
		water.Gram:          {"g by weight", "g by weight"},
	},
	byLabel: "the label's dose (for #)", unknown: "an unknown amount", neutralizer: "a chlorine neutralizer",
	names: map[understand.Quantity]string{
		understand.FreeChlorine: "free chlorine", understand.TotalChlorine: "total chlorine",
		understand.CombinedChlorine: "combined chlorine", understand.Bromine: "bromine", understand.PH: "pH",
		understand.TotalAlkalinity: "alkalinity", understand.CalciumHardness: "calcium hardness",
		understand.CyanuricAcid: "cyanuric acid", understand.TDS: "TDS", understand.Phosphate: "phosphate",
		understand.Salt: "salt", understand.WaterTemp: "water temperature",
	},
	unreadable: "not readable", over: "over ", under: "under ", to: " to ", and: " and ",
	inRange: "All in range.",
	whys: map[string]string{
		string(water.RaiseAlkalinity): "The alkalinity is low.",
		string(water.LowerAlkalinity): "The alkalinity is high.",
		string(water.RaisePH):         "The pH is low.",
		string(water.LowerPH):         "The pH is high.",
		string(water.RaiseChlorine):   "The chlorine is low.",
		string(water.RaiseBromine):    "The bromine is low.",
		string(water.BankBromide):     "The water needs bromide first.",
		string(water.RaiseHardness):   "The calcium is low.",
		string(water.BurnCombined):    "The combined chlorine is high.",
		whyFreshWater:                 "Fresh water needs sanitizer right away.",
		whyFreshBromide:               "Fresh water needs its bromide first.",
		whyStripShows:                 "The strip shows #, it should be 0.",
	},
	minute: "minute", minutes: "minutes", hours: [2]string{"about ", " hours"},
	clock: func(at time.Time, days int) string {
		switch days {
		case 0:
			return at.Format("3:04 pm")
		case 1:
			return at.Format("3:04 pm") + " tomorrow"
		}
		return at.Format("Mon 3:04 pm")
	},
	openUntil: func(minute int) string {
		_, at := timeOf(minute)
		return "They are open until " + at + "."
	},
	opens: func(ahead int, day time.Weekday, minute int) string {
		_, at := timeOf(minute)
		when := day.String()
		switch ahead {
		case 0:
			when = "today"
		case 1:
			when = "tomorrow"
		}
		return "They open " + when + " at " + at + "."
	},
}
