package conversation

import (
	"time"

	"tubhand/internal/understand"
	"tubhand/internal/water"
)

// spanish is never changed. It keeps to the GSM 7-bit alphabet, which has é, ñ and ü but
// no a, i, o or u with an accent.
var spanish = tongue{
	someone: "alguien", gallons: "galones", litres: "litros",
	units: map[water.Unit][2]string{
		water.LevelTeaspoon: {"cucharadita rasa", "cucharaditas rasas"},
		water.Teaspoon:      {"cucharadita", "cucharaditas"},
		water.FluidOunce:    {"fl oz", "fl oz"},
		water.OunceWeight:   {"oz de peso", "oz de peso"},
		water.Gram:          {"g de peso", "g de peso"},
	},
	byLabel: "la dosis de la etiqueta (para #)", unknown: "una cantidad que no sabemos", neutralizer: "un neutralizador de cloro",
	names: map[understand.Quantity]string{
		understand.FreeChlorine: "cloro libre", understand.TotalChlorine: "cloro total",
		understand.CombinedChlorine: "cloro combinado", understand.Bromine: "bromo", understand.PH: "pH",
		understand.TotalAlkalinity: "alcalinidad", understand.CalciumHardness: "dureza de calcio",
		understand.CyanuricAcid: "estabilizador (CYA)", understand.TDS: "TDS", understand.Phosphate: "fosfatos",
		understand.Salt: "sal", understand.WaterTemp: "temperatura del agua",
	},
	unreadable: "no se lee", over: "arriba de ", under: "abajo de ", to: " a ", and: " y ",
	inRange: "Todo en rango.",
	whys: map[string]string{
		string(water.RaiseAlkalinity): "Al agua le falta alcalinidad.",
		string(water.LowerAlkalinity): "Al agua le sobra alcalinidad.",
		string(water.RaisePH):         "El pH anda bajo.",
		string(water.LowerPH):         "El pH anda alto.",
		string(water.RaiseChlorine):   "Al agua le falta cloro.",
		string(water.RaiseBromine):    "Al agua le falta bromo.",
		string(water.BankBromide):     "El agua necesita primero su bromuro.",
		string(water.RaiseHardness):   "Al agua le falta calcio.",
		string(water.BurnCombined):    "El agua tiene mucho cloro combinado.",
		whyFreshWater:                 "El agua nueva necesita desinfectante de inmediato.",
		whyFreshBromide:               "El agua nueva necesita primero su bromuro.",
		whyStripShows:                 "La tira marca #, y debe ser 0.",
	},
	minute: "minuto", minutes: "minutos", hours: [2]string{"unas ", " horas"},
	clock:     spanishClock,
	openUntil: func(minute int) string { return "Abierto hasta " + spanishHour(minute) + "." },
	opens: func(ahead int, day time.Weekday, minute int) string {
		return "Abren " + spanishDay(ahead, day) + " a " + spanishHour(minute) + "."
	},
}

// spanishClock says when something is due, with its preposition: "a las 9:42 am",
// "mañana a las 8:15 am".
func spanishClock(at time.Time, days int) string {
	text := "a " + spanishArticle(at) + at.Format("3:04 pm")
	if days == 0 {
		return text
	}
	return spanishDay(days, at.Weekday()) + " " + text
}

// spanishHour says an opening hour: "las 9 am", "la 1:30 pm".
func spanishHour(minute int) string {
	at, text := timeOf(minute)
	return spanishArticle(at) + text
}

func spanishArticle(at time.Time) string {
	if at.Hour()%12 == 1 {
		return "la "
	}
	return "las "
}

func spanishDay(ahead int, day time.Weekday) string {
	switch ahead {
	case 0:
		return "hoy"
	case 1:
		return "mañana"
	}
	return "el " + [...]string{"domingo", "lunes", "martes", "miércoles", "jueves", "viernes", "sabado"}[day]
}
