package understand_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/understand"
)

func TestLegalWordsAloneEndTheMessagesWhateverIsUnderWay(t *testing.T) {
	words := []string{"stop", "quit", "end", "revoke", "opt out", "opt-out", "optout", "cancel", "unsubscribe", "stopall", "alto", "parar", "cancelar", "baja"}
	for _, word := range words {
		for _, shape := range []string{"%", "%.", "%!!", " % ", "%\n", "please %", "\"%\"", "%🙏"} {
			for _, ctx := range []understand.Context{
				{}, {Asked: understand.AskedDone, Step: "drain"}, {Asked: understand.AskedYesNo},
				{Asked: understand.AskedChoice, Choices: []understand.Choice{{Name: "drain"}, {Name: "shock"}}},
				{Asked: understand.AskedConfirm, Proposed: map[string]float64{"ph": 7.2}},
				{Asked: understand.AskedReadings, AskedReadings: []understand.Quantity{understand.PH}},
				{Asked: understand.AskedNothing, Step: "soak"}, {Asked: understand.AskedLanguage}, {Asked: understand.AskedTime}, {Asked: understand.AskedVolume},
			} {
				for _, text := range []string{replace(shape, word), upper(replace(shape, word))} {
					require.Equal(t, understand.StopMessages, understand.Understand(text, ctx).Intent, "%q with %v asked", text, ctx.Asked)
				}
			}
		}
	}
}

func TestWishesToEndTheMessages(t *testing.T) {
	for _, text := range []string{
		"quit texting me", "please stop sending me messages", "take me off your list", "no more texts", "don't text me anymore", "lose my number",
		"I revoke my consent to these messages", "leave me alone", "remove me", "ya no me manden mensajes", "quítenme de la lista", "dejen de escribirme", "bórrenme",
		"no quiero recibir más mensajes", "unsuscribe", "how do i make these texts stop", "y'all need to stop blowing up my phone", "sold the tub, stop messaging",
		"put me on your do not text list", "stahp", "deactivate", "can you please not text me", "no me vuelvan a escribir", "ya párenle con los mensajes", "quiero salirme de los recordatorios",
		"these texts need to stop", "i'd rather not be contacted", "renuncio a estos mensajes", "cancelen mi suscripción", "spamming me is illegal, end it",
	} {
		require.Equal(t, understand.StopMessages, understand.Understand(text, understand.Context{}).Intent, text)
	}
}

func TestOtherThingsThatStop(t *testing.T) {
	for _, text := range []string{
		"the foam won't stop", "how do I stop the pump", "it keeps dripping and won't stop", "jets en alto", "deje los jets en alto", "your text said reply STOP to end, I don't want that",
		"don't take me off the list, I just moved", "no deje de mandarme los avisos eh", "la alcalinidad está baja", "parar los chorros?", "shut off", "I'd rather not", "cancel my flush", "i want the texts",
		"can I stop adding now", "the water stopped rising", "stop the jets first?", "hold up dont stop texting me", "can't stop coughing",
	} {
		require.NotEqual(t, understand.StopMessages, understand.Understand(text, understand.Context{}).Intent, text)
	}
}

func TestComingBack(t *testing.T) {
	for _, text := range []string{"START", "unstop", "resume", "you can text me again", "quiero volver a recibir los mensajes", "turn the texts back on"} {
		require.Equal(t, understand.ResumeMessages, understand.Understand(text, understand.Context{}).Intent, text)
	}
}
