package understand

import (
	"embed"
	"sync"

	"tubhand/internal/understand/cue"
)

//go:embed cues
var cueFiles embed.FS

// cueSets are the compiled cue files, compiled once at first use and never changed.
type cueSets struct {
	optOut, intents, hazards, numbers *cue.Set
}

var loadCues = sync.OnceValue(func() cueSets {
	return cueSets{
		optOut:  mustParse("cues/optout.cue"),
		intents: mustParse("cues/intents.cue"),
		hazards: mustParse("cues/hazards.cue"),
		numbers: mustParse("cues/numbers.cue"),
	}
})

// mustParse panics on a cue file that does not compile: the files are part of the
// program, and a test compiles them all.
func mustParse(name string) *cue.Set {
	data, err := cueFiles.ReadFile(name)
	if err != nil {
		panic(err)
	}
	set, err := cue.Parse(name, string(data), loadConcepts().names)
	if err != nil {
		panic(err)
	}
	return set
}
