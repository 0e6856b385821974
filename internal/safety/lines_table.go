package safety

// lineRow is the numbers of some regions, where they were read and when that was
// current. A number marked "from memory" is to be looked up before a shop opens there.
type lineRow struct {
	regions string // ISO 3166 codes, apart by spaces
	lines   Lines
	source  string
	date    string // of the source; "" for what is from memory
}

// lineTable is never changed. Where a country has several emergency numbers and none
// that sends every service, it is left out: LocalEmergency is better than half a
// number. A poison line is left out where it does not take calls from the public.
var lineTable = []lineRow{
	{
		regions: "US PR VI GU AS MP",
		lines: Lines{Emergency: "911", Poison: "1-800-222-1222", Crisis: "988", CrisisTexts: true,
			CrisisSpanish: "988 y marque 2"},
		source: "911 and poison: New York State Department of Health, Swimming Pool Chemicals; " +
			"988 by call or text, 2 for Spanish: 988 Suicide & Crisis Lifeline, in effect since 16 July 2022; territories from memory",
		date: "2022-07",
	},
	{
		regions: "CA",
		lines:   Lines{Emergency: "911", Poison: "1-844-764-7669", Crisis: "988", CrisisTexts: true},
		source: "poison: Health Canada by The Canadian Press, 21 March 2023; " +
			"988: Suicide Crisis Helpline, in effect since 30 November 2023",
		date: "2023-11",
	},
	{
		regions: "MX",
		lines:   Lines{Emergency: "911", Crisis: "800 911 2000"},
		source:  "from memory: national emergency number since 2017; Linea de la Vida",
	},
	{
		regions: "AR CR DO EC HN PA SV UY",
		lines:   Lines{Emergency: "911"},
		source:  "from memory",
	},
	{
		regions: "CO",
		lines:   Lines{Emergency: "123"},
		source:  "from memory",
	},
	{
		regions: "GB GG IM JE",
		lines:   Lines{Emergency: "999", Poison: "111", Crisis: "116 123"},
		source:  "from memory: NHS 111 for poisons, Samaritans 116 123",
	},
	{
		regions: "IE",
		lines:   Lines{Emergency: "112", Poison: "01 809 2166", Crisis: "116 123"},
		source:  "112: European Union, directive 98/10/EC; the rest from memory",
		date:    "1998-02",
	},
	{
		regions: "ES",
		lines:   Lines{Emergency: "112", Poison: "91 562 04 20", Crisis: "024"},
		source:  "112: European Union, directive 98/10/EC; 024: Spanish Ministry of Health, 2022; poison from memory",
		date:    "2022-05",
	},
	{
		regions: "DE",
		lines:   Lines{Emergency: "112", Crisis: "0800 111 0 111"},
		source:  "112: European Union, directive 98/10/EC; the rest from memory; poison lines are by state",
		date:    "1998-02",
	},
	{
		regions: "FR",
		lines:   Lines{Emergency: "112", Crisis: "3114"},
		source:  "112: European Union, directive 98/10/EC; the rest from memory; poison lines are by city",
		date:    "1998-02",
	},
	{
		regions: "AT BE BG CY CZ DK EE FI GR HR HU IT LT LU LV MT NL PL PT RO SE SI SK",
		lines:   Lines{Emergency: "112"},
		source:  "European Union, directive 98/10/EC",
		date:    "1998-02",
	},
	{
		regions: "CH IS LI NO",
		lines:   Lines{Emergency: "112"},
		source:  "from memory",
	},
	{
		regions: "AU",
		lines:   Lines{Emergency: "000", Poison: "13 11 26", Crisis: "13 11 14"},
		source:  "poison: Queensland Poisons Information Centre; 000 and Lifeline 13 11 14 from memory",
		date:    "2023-08",
	},
	{
		regions: "NZ",
		lines:   Lines{Emergency: "111", Poison: "0800 764 766", Crisis: "1737"},
		source:  "111 and poison: New Zealand National Poisons Centre; 1737 from memory",
		date:    "2021-11",
	},
}
