package safety

// englishAnswers follow the order: get out of it, call, then the rest. First aid after
// New York State Department of Health, Swimming Pool Chemicals (fresh air, rinse, do not
// make them vomit), a burn centre's page (15 minutes of rinsing), CPSC on suction and
// heat, and CDC on illness after soaking; CPR with breaths after drowning, freeing
// someone from suction and keeping clear of current are from memory. Never changed.
var englishAnswers = []answer{
	{
		BreathingOrGas, Emergency,
		"Get everyone out into fresh air now, well away from the tub. {Call} now for trouble breathing, a bad cough, chest pain or fainting.",
		"Do not go back for anything. If breathing is fine, {advice}. It can get worse over the next hours, so do not stay alone.",
		"Stay out in fresh air, all of you. {Call} now for trouble breathing, a bad cough, chest pain or fainting.",
	},
	{
		EyesOrSkin, Emergency,
		"Rinse with running water now, for 15 minutes: eyes held open, contacts out, splashed clothes off. {Call} now for bad pain or blurred sight.",
		"Do not rub it or put anything on it. After rinsing, {advice}. Keep the label of the product at hand.",
		"Keep rinsing with running water, 15 minutes in all, eyes held open. {Call} now for bad pain or blurred sight.",
	},
	{
		EyesOrSkin, PersonSoon,
		"Please rinse it with plenty of running water for 15 minutes and take off what got splashed. Do not rub it or put cream on it.",
		"Leave the product closed and alone for now. Pain, blisters or blurred sight: {call}. A person from the shop will write to you.",
		"Rinse with running water, 15 minutes in all. Pain, blisters or blurred sight: {call}. A person will write to you.",
	},
	{
		Swallowed, Emergency,
		"Do not make them vomit. {Call} now if they are drowsy, in pain, choking or short of breath.",
		"If not, {advice} right now, with the product label in your hand. Rinse the mouth with water and spit it out. Keep them sitting up and stay with them.",
		"Do not make them vomit. {Call} now if they are drowsy, in pain or short of breath. If not, {advice} now.",
	},
	{
		ElectricShock, Emergency,
		"Everyone out of the water now. Do not touch it, the tub or any metal. {Call} now if anyone is hurt, faint or still in it.",
		"Turn the power off at the breaker only if you can get there safely with dry hands. Keep everyone away. After a shock, see a doctor today, even if well.",
		"Stay out of the water and do not touch the tub or any metal. {Call} now if anyone is hurt, faint or in the water.",
	},
	{
		ElectricalFault, PersonSoon,
		"Please keep everyone out of the water. Do not reset the breaker again, touch wet wires or open a panel; leave the power off.",
		"Still on? Turn it off only with dry hands. Smoke, a burning smell or a tingle: get away and {call}. A person from the shop will write to you.",
		"Please leave the power off and the panels shut, with nobody in the water. A person from the shop will write to you.",
	},
	{
		ElectricalFault, Technician,
		"Please leave the breaker off and the panels shut, with nobody in the water. Do not keep resetting it.",
		"Note when it tripped and what was running then, jets or heater, and text me that. A person from the shop will look at it and write to you.",
		"Please leave the breaker off and the panels shut, with nobody in the water. A person from the shop will write to you.",
	},
	{
		Unresponsive, Emergency,
		"Get their face out of the water now; lift them out if you can. {Call} now, on speaker. Not breathing normally: start CPR, with breaths.",
		"Push hard and fast on the middle of the chest until help comes. If they breathe: on their side, and stay. Water tingles? Power off first.",
		"Face out of the water. {Call} now, on speaker. Not breathing normally: CPR, with breaths, until help comes.",
	},
	{
		Entrapment, Emergency,
		"Turn the jets off now, or cut the power at the breaker if that is quicker. Hold their face above water. {Call} now.",
		"Do not pull hard against the suction. With the pump off, work a hand in at the edge to let water past, or cut hair or clothes free. Then see a doctor.",
		"Jets or power off, face above water, no pulling. {Call} now.",
	},
	{
		Entrapment, PersonSoon,
		"Nobody in the water, please, until that cover is replaced. Turn the jets off at the panel, keep them off and keep children away.",
		"Do not glue it, tape it or run the pump without it: the suction can hold a person under. A person from the shop will write to you.",
		"Nobody in the water and the jets off, please, until that cover is replaced. A person from the shop will write to you.",
	},
	{
		Overheating, Emergency,
		"Get them out of the water now, holding on so they do not fall. {Call} now. Cool them with wet cloths and moving air, in the shade.",
		"Lay them down, on the side if drowsy. Sips of cool water only if fully awake, no alcohol. If you cannot lift them, hold the face up and the jets off.",
		"Out of the water, lying down, cooled with wet cloths. {Call} now. Stay with them.",
	},
	{
		Overheating, PersonSoon,
		"Please keep everyone out: the water is too hot to be in. Turn the set temperature down, and do not open any panel.",
		"If it is still going up, turn the tub off at the breaker. Anyone dizzy or faint: out, cool down, and {call}. A person from the shop will write to you.",
		"Please keep everyone out, the water is too hot. Still going up: tub off at the breaker. A person from the shop will write to you.",
	},
	{
		InfectionSymptoms, PersonSoon,
		"I am sorry to hear that. Please see a doctor and mention the hot tub. Nobody in the water, and turn the jets off. Do not drain it yet:",
		"the health department may want a sample. Trouble breathing, or very ill: {call}. A person from the shop will write to you.",
		"Please see a doctor, keep everyone out, jets off, and do not drain it yet. Trouble breathing: {call}. A person will write to you.",
	},
	{
		ChemicalMixing, Emergency,
		"Leave it and get everyone into fresh air now. {Call} now if it smokes, bubbles or gets hot, or if anyone coughs or feels ill.",
		"Do not stir it, move it, cover it or pour water on it, and do not go back for it. If all are well, {advice}.",
		"Stay away from it, in fresh air. {Call} now if it smokes, bubbles or gets hot, or if anyone coughs or feels ill.",
	},
	{
		ChemicalMixing, PersonSoon,
		"Please do not mix them, and if they are mixed, do not stir, move or add anything, not even water. Step back into fresh air.",
		"Nobody in the water; keep children and pets away. Fumes, heat or coughing: get away and {call}. A person from the shop will write to you.",
		"Please leave it: no stirring, nothing added, everyone away. Fumes, heat or coughing: {call}. A person will write to you.",
	},
	{
		FireOrSmoke, Emergency,
		"Get everyone out of the water and well away from the tub now. {Call} now. Do not open the panel or throw water on it.",
		"Turn the power off at the breaker only if you can get there safely. Stay back, out of the smoke, until the fire department lets you return.",
		"Stay well away, all of you, and do not throw water on it. {Call} now.",
	},
	{
		ChildOrPetInDanger, Emergency,
		"Get child or pet out of the water, away from product now. Out of sight? Look in the water first. {Call} now if a child is hurt or ill.",
		"Not breathing: CPR. Product on them: rinse 15 minutes. Swallowed: do not make them vomit; if a child, {advice}. Pet: vet.",
		"Keep the child or pet away from tub and product, and look in the water first. {Call} now if a child is hurt or ill.",
	},
	{
		EquipmentFault, Technician,
		"Thanks for telling me. Please leave the panels shut and do not take anything apart.",
		"Note what the display shows, what you hear and where any water drips, and text me that. Water below the jets? Then turn the power off. A person from the shop will look at it and write to you.",
		"Please leave the panels shut and do not take anything apart. A person from the shop will write to you.",
	},
	{
		MedicalQuestion, PersonSoon,
		"That is one for your doctor, and I cannot answer it. Please do not get in the water until you have asked.",
		"If you feel unwell now, get out and cool down; chest pain, fainting or bleeding: {call}. A person from the shop will write to you about the rest.",
		"Please ask your doctor before you get in; I cannot answer that. If you feel unwell: {call}. A person will write to you.",
	},
	{
		SelfHarm, Emergency,
		"I am so glad you told me, and sorry it hurts this much. {Listen} now, day or night. In danger now? {Call}.",
		"If you can, move away from the water and anything that could hurt you, near someone you trust. You are not alone. I am asking a person here to reach you.",
		"I am still here, and you matter. {Listen} now, day or night. In danger now? {Call}.",
	},
	{
		NoHazard, Emergency,
		"Get everyone well away from the tub now. {Call} now if anyone is hurt, ill or in danger.",
		"Do not touch anything wet or electric, and stay out of fumes. Stay with anyone who is hurt until help comes.",
		"Keep everyone away from the tub. {Call} now if anyone is hurt, ill or in danger.",
	},
	{
		NoHazard, PersonSoon,
		"Please leave everything as it is, with nobody in the water, and do not add anything.",
		"If anyone is hurt or ill: {call}. A person from the shop will write to you.",
		"Please leave everything as it is, with nobody in the water. A person from the shop will write to you.",
	},
	{
		NoHazard, Technician,
		"Please leave the panels shut and do not take anything apart.",
		"Note what you see and hear and text me that. A person from the shop will look at it and write to you.",
		"Please leave the panels shut and do not take anything apart. A person from the shop will write to you.",
	},
}
