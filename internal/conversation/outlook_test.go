package conversation_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/conversation"
	"tubhand/internal/understand"
)

func TestWhatADoseIsExpectedToDo(t *testing.T) {
	k := atStrip(t)
	require.Empty(t, conversation.Expect(&k.c, k.now), "nothing was read")
	k.text("4 8.0 100")
	k.text("1")
	dose := k.c.Service.Advised["balance"]
	require.Equal(t, "sodium_bisulfate", dose.Chemical)
	before := asJSON(t, k.c)
	at := conversation.Mixed(k.now)
	with, without := conversation.Expect(&k.c, at, dose), conversation.Expect(&k.c, at)
	require.Equal(t, before, asJSON(t, k.c))
	require.Len(t, with, 2)
	require.Equal(t, understand.FreeChlorine, with[0].Quantity)
	require.Equal(t, understand.PH, with[1].Quantity)
	require.Less(t, with[1].Low, without[1].Low-0.05, "acid brings the pH down")
	require.Greater(t, with[1].High, 7.2, "and never past the band")
	require.Empty(t, conversation.Expect(&k.c, at, conversation.Dose{Product: "Bromide"}), "a label's dose is not guessed")
	require.Empty(t, conversation.Expect(&k.c, at.Add(30*24*time.Hour)), "an old log says nothing")
}
