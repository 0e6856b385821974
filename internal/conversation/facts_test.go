package conversation_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/flows"
	"tubhand/internal/flow"
)

func TestFactsSayWhatAPersonNeedsToKnow(t *testing.T) {
	k := atSoak(t)
	k.after(10 * time.Minute).text("I want to talk to a person")
	facts := k.c.Open[0].Facts
	for _, want := range []string{
		"375 gallons tub, kept with chlorine",
		"Plumbing flush, product running through the lines (step \"soak\") since 9:00 am",
		"power on, water full, filters out of their wells, FLUSH PRODUCT IN THE WATER",
		"Last read: free chlorine 3, pH 7.4, alkalinity 100 at 9:00 am",
		"Went in at 9:00 am: 3 3/4 level teaspoons of Fernhollow Line Rinse",
		"On call: Dana, then Luis",
		`At 9:10 am they wrote "I want to talk to a person"`,
	} {
		require.Contains(t, facts, want)
	}
	require.NotContains(t, facts, "flush_plumbing")
}

func TestFactsOfSomeoneWhoseTubNobodyKnows(t *testing.T) {
	k := newWalk(world(t))
	k.text("I want to talk to a person")
	facts := k.c.Open[0].Facts
	for _, want := range []string{"Tub size not known", "sanitizer not known", "No service running", "Nothing read yet"} {
		require.Contains(t, facts, want)
	}
}

func TestFactsShoutWhatIsDangerous(t *testing.T) {
	k := atBlowOut(t)
	k.text("I want to talk to a person")
	require.Contains(t, k.c.Open[0].Facts, "POWER ON OVER LOW WATER")
	require.Contains(t, k.c.Open[0].Facts, "water below the jets")
}

func TestFactsOfATroubleNameBothServices(t *testing.T) {
	k := atSoak(t)
	k.text("too much foam")
	k.text("I want to talk to a person")
	require.Contains(t, k.c.Open[0].Facts, "Too much foam, product running through the lines (step \"foam\") since 9:00 am, in the middle of the plumbing flush (soak)")
}

func TestFactsTellWhatWasAdvisedAndNotConfirmed(t *testing.T) {
	k := newWalk(world(t))
	k.c.Tub.VolumeUSGal, k.c.Tub.Sanitizer = 375, "chlorine"
	for _, text := range []string{"FLUSH", "yes", "yes", "yes", "pump", "1", "no", "1 7.4 100", "1"} {
		k.text(text)
	}
	require.Equal(t, "balance_first", k.c.Service.State)
	k.text("I want to talk to a person")
	require.Contains(t, k.c.Open[0].Facts, "Nothing has gone in. Advised at 9:00 am and not confirmed:")
}

// TestEveryStepHasPlainWords: no flow leads staff to a place without a name.
func TestEveryStepHasPlainWords(t *testing.T) {
	set, err := flow.Load(flows.FS)
	require.NoError(t, err)
	for _, name := range set.Names() {
		f, _ := set.Flow(name)
		require.NotEmpty(t, f.Title, name)
		for _, s := range f.States {
			if s.End || s.Ask.Choice != nil {
				continue
			}
			require.NotEmpty(t, s.Step, "%s/%s", name, s.Name)
		}
	}
}

// TestFactsForecastWhatIsReadNoMore: hours after a test staff see what it will have come to.
func TestFactsForecastWhatIsReadNoMore(t *testing.T) {
	k := tested(world(t), strip)
	k.text("I want to talk to a person")
	require.NotContains(t, k.c.Open[0].Facts, "By the log", "the test is fresh")
	k.after(10 * time.Hour).text("person please")
	require.Regexp(t, `By the log they should be by now: free chlorine 0\.8 to 4\.3, pH 7\.\d to 7\.\d`, k.c.Open[0].Facts)
	k.after(90 * time.Hour).text("person please")
	require.NotContains(t, k.c.Open[0].Facts, "By the log", "days later nobody knows")
}
