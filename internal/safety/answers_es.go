package safety

// spanishAnswers say the same as englishAnswers, to usted, in words that the GSM 7-bit
// alphabet can spell: it has no a, i, o or u with an accent. Never changed.
var spanishAnswers = []answer{
	{
		BreathingOrGas, Emergency,
		"Salgan todos al aire libre ya, lejos de la tina. {Call} ya si a alguien le cuesta respirar, tose mucho, le duele el pecho o se desmaya.",
		"No vuelva por nada. Si respiran bien, {advice}. Puede empeorar en las horas que siguen; no se quede a solas.",
		"Sigan todos al aire libre, lejos de la tina. {Call} ya si cuesta respirar, hay mucha tos, dolor de pecho o desmayo.",
	},
	{
		EyesOrSkin, Emergency,
		"Enjuague ya con agua corriente, 15 minutos: ojos abiertos, sin lentes de contacto ni ropa salpicada. {Call} ya si duele mucho o ve mal.",
		"No talle ni ponga nada encima. Al terminar, {advice}. Tenga a la mano la etiqueta del producto.",
		"Siga enjuagando con agua corriente, 15 minutos en total, ojos abiertos. {Call} ya si duele mucho o ve mal.",
	},
	{
		EyesOrSkin, PersonSoon,
		"Por favor enjuague con mucha agua corriente 15 minutos y quite la ropa salpicada. No talle ni ponga crema.",
		"Deje el producto cerrado y no lo use por ahora. Si hay dolor, ampollas o ve mal: {call}. Una persona de la tienda le va a escribir.",
		"Enjuague con agua corriente, 15 minutos en total. Si hay dolor, ampollas o ve mal: {call}. Una persona le va a escribir.",
	},
	{
		Swallowed, Emergency,
		"No haga que vomite. {Call} ya si tiene mucho sueño, dolor, se ahoga o le cuesta respirar.",
		"Si no, {advice} ahora mismo, con la etiqueta en la mano. Que enjuague la boca con agua y la escupa. Que siga sentado, y no se aparte.",
		"No haga que vomite. {Call} ya si tiene mucho sueño, dolor o le cuesta respirar. Si no, {advice} ya.",
	},
	{
		ElectricShock, Emergency,
		"Salgan todos del agua ya. No toquen el agua, la tina ni nada de metal. {Call} ya si alguien se siente mal o sigue en el agua.",
		"Corte la corriente en el breaker solo si puede llegar sin riesgo y con manos secas. Nadie se acerque. Tras un toque, vaya hoy al médico, aunque se sienta bien.",
		"No toquen el agua, la tina ni nada de metal. {Call} ya si alguien se siente mal o sigue en el agua.",
	},
	{
		ElectricalFault, PersonSoon,
		"Por favor, que nadie entre al agua. No suba otra vez el breaker, no toque cables mojados ni abra paneles; deje la corriente cortada.",
		"Si sigue prendida, corte en el breaker solo con manos secas. Humo, olor a quemado o un hormigueo: aléjese y {call}. Una persona de la tienda le va a escribir.",
		"Por favor deje la corriente cortada y los paneles cerrados, sin nadie en el agua. Una persona de la tienda le va a escribir.",
	},
	{
		ElectricalFault, Technician,
		"Por favor deje el breaker abajo y los paneles cerrados, sin nadie en el agua. No lo suba una y otra vez.",
		"Anote la hora en que se dispara y lo que estaba prendido, chorros o calentador, y mande eso por texto. Una persona de la tienda lo va a ver y le va a escribir.",
		"Por favor deje el breaker abajo y los paneles cerrados, sin nadie en el agua. Una persona de la tienda le va a escribir.",
	},
	{
		Unresponsive, Emergency,
		"Saque la cara del agua ya, y a la persona si puede. {Call} ya, en altavoz. Si no respira normal: haga RCP, con respiraciones.",
		"Empuje fuerte y seguido en el centro del pecho hasta que llegue ayuda. Si respira: de lado, y no se vaya. Si el agua da toques, corte antes la corriente.",
		"La cara fuera del agua. {Call} ya, en altavoz. Si no respira normal: RCP, con respiraciones, hasta que llegue ayuda.",
	},
	{
		Entrapment, Emergency,
		"Apague los chorros ya, o corte la corriente en el breaker si eso es lo primero que alcanza. Mantenga la cara fuera del agua. {Call} ya.",
		"No jale con fuerza. Con la bomba apagada, meta la mano por la orilla para que pase agua, o corte el pelo o la ropa. Luego, que lo vea un médico.",
		"Chorros o corriente apagados, la cara fuera del agua, sin jalar. {Call} ya.",
	},
	{
		Entrapment, PersonSoon,
		"Por favor, que nadie entre al agua hasta cambiar esa tapa. Apague los chorros en el panel, no los prenda y no deje que se acerquen niños.",
		"No la pegue ni la tape con cinta, ni prenda la bomba sin ella: puede atrapar a una persona. Una persona de la tienda le va a escribir.",
		"Que nadie entre al agua y chorros apagados, por favor, hasta cambiar esa tapa. Una persona de la tienda le va a escribir.",
	},
	{
		Overheating, Emergency,
		"Saque a la persona del agua ya, con cuidado de que no se caiga. {Call} ya. Refresque con trapos mojados, aire y sombra.",
		"Que se acueste, de lado si tiene sueño. Agua fresca a sorbos solo si responde bien; nada de alcohol. Si no puede sacarla, mantenga la cara arriba y los chorros apagados.",
		"Fuera del agua, en la sombra, con trapos mojados. {Call} ya. No le deje a solas.",
	},
	{
		Overheating, PersonSoon,
		"Por favor, que nadie entre: el agua pasa del calor que aguanta el cuerpo. Baje la temperatura en el panel y no abra nada.",
		"Si sigue subiendo, apague la tina en el breaker. Si alguien se marea: fuera, que se refresque, y {call}. Una persona de la tienda le va a escribir.",
		"Por favor, que nadie entre, el agua quema. Si sigue subiendo: apague en el breaker. Una persona de la tienda le va a escribir.",
	},
	{
		InfectionSymptoms, PersonSoon,
		"Lamento saberlo. Por favor vea a un médico y mencione la tina. Que nadie entre y apague los chorros. No saque el agua por ahora:",
		"el departamento de salud puede pedir una muestra. Si cuesta respirar o se ponen muy mal: {call}. Una persona de la tienda le va a escribir.",
		"Por favor vea a un médico; que nadie entre, chorros apagados, y no le saque el agua. Si cuesta respirar: {call}. Una persona le va a escribir.",
	},
	{
		ChemicalMixing, Emergency,
		"Deje todo y salgan al aire libre ya. {Call} ya si echa humo, burbujas o calor, o si alguien tose o se siente mal.",
		"No lo mueva, no lo tape ni le eche agua, y no vuelva por nada. Si todos se sienten bien, {advice}.",
		"Sigan lejos de eso, al aire libre. {Call} ya si echa humo, burbujas o calor, o si alguien tose o se siente mal.",
	},
	{
		ChemicalMixing, PersonSoon,
		"Por favor no los mezcle, y si ya se mezclaron, no mueva ni agregue nada, tampoco agua. Salga al aire libre.",
		"Nadie en el agua; lejos niños y mascotas. Si hay gases, calor o tos: aléjese y {call}. Una persona de la tienda le va a escribir.",
		"Por favor no lo mueva ni agregue nada, y que nadie se acerque. Gases, calor o tos: {call}. Una persona le va a escribir.",
	},
	{
		FireOrSmoke, Emergency,
		"Salgan todos del agua y lejos de la tina ya. {Call} ya. No abra el panel ni le eche agua.",
		"Corte la corriente en el breaker solo si puede llegar sin riesgo. No se acerquen al humo hasta que los bomberos digan que se puede.",
		"Sigan todos lejos, y no le echen agua. {Call} ya.",
	},
	{
		ChildOrPetInDanger, Emergency,
		"Saque ya al niño o mascota del agua y aleje del producto. Si no lo ve, busque primero en el agua. {Call} ya si un niño se siente mal.",
		"Si no respira: RCP. Producto encima: agua 15 minutos. Si lo traga: que no vomite, y {advice}. Mascota: veterinario.",
		"Lejos de la tina y del producto; si no lo ve, busque primero en el agua. {Call} ya si un niño se siente mal.",
	},
	{
		EquipmentFault, Technician,
		"Gracias por avisar. Por favor deje los paneles cerrados y no desarme nada.",
		"Anote lo que dice la pantalla, lo que se oye y si algo gotea, y mande eso por texto. Si el agua queda abajo de los chorros, corte la corriente. Una persona de la tienda lo va a ver y le va a escribir.",
		"Por favor deje los paneles cerrados y no desarme nada. Una persona de la tienda le va a escribir.",
	},
	{
		MedicalQuestion, PersonSoon,
		"Eso lo debe responder su médico, y yo no puedo. Por favor no entre al agua hasta preguntarle.",
		"Si se siente mal ahora, salga y refresque el cuerpo; si hay dolor de pecho, desmayo o sangrado: {call}. Una persona de la tienda le va a escribir sobre lo otro.",
		"Por favor pregunte a su médico antes de entrar; yo no puedo responder eso. Si se siente mal: {call}. Una persona le va a escribir.",
	},
	{
		SelfHarm, Emergency,
		"Gracias por contarme, y lamento tanto dolor. {Listen} ya, a cualquier hora. Si corre peligro: {call}.",
		"Si puede, aléjese del agua y de lo que pueda hacerle daño, cerca de alguien de confianza. No tiene que pasar por esto a solas. Pido a una persona que le busque.",
		"Sigo con usted, y usted importa. {Listen} ya, a cualquier hora. Si corre peligro: {call}.",
	},
	{
		NoHazard, Emergency,
		"Alejen a todos de la tina ya, bien lejos. {Call} ya si hay heridos o alguien se siente mal o corre peligro.",
		"No toquen nada mojado ni con corriente, y no respiren gases. No deje a solas a quien se siente mal hasta que llegue ayuda.",
		"Que nadie se acerque a la tina. {Call} ya si hay heridos o alguien se siente mal o corre peligro.",
	},
	{
		NoHazard, PersonSoon,
		"Por favor deje todo como se encuentra, sin nadie en el agua, y no agregue nada.",
		"Si alguien se siente mal: {call}. Una persona de la tienda le va a escribir.",
		"Por favor deje todo como se encuentra, sin nadie en el agua. Una persona de la tienda le va a escribir.",
	},
	{
		NoHazard, Technician,
		"Por favor deje los paneles cerrados y no desarme nada.",
		"Anote lo que ve y lo que oye y mande eso por texto. Una persona de la tienda lo va a ver y le va a escribir.",
		"Por favor deje los paneles cerrados y no desarme nada. Una persona de la tienda le va a escribir.",
	},
}
