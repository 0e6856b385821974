package understand

import (
	_ "embed"
	"sync"

	"tubhand/internal/understand/learn"
)

//go:generate go run tubhand/cmd/tubhand train -texts ../../testdata/understand/written -out model/texts.bin

// The trained classifier; `tubhand train` writes it.
//
//go:embed model/texts.bin
var textsModel []byte

// The questions that the classifier answers.
const (
	askIntent = iota // classes are intents, with their service ("start_service drain")
	askHazard        // hazards with their severity ("swallowed emergency")
)

// Reader understands texts with a trained classifier. It is safe for concurrent use.
type Reader struct {
	model *learn.Model
}

// NewReader returns a reader that uses the classifier given, which answers the
// questions of intent and of hazard in this order; nil for one that knows nothing.
func NewReader(model *learn.Model) *Reader { return &Reader{model} }

// BuiltIn returns the reader that Understand uses.
func BuiltIn() *Reader { return builtIn() }

var builtIn = sync.OnceValue(func() *Reader {
	return &Reader{mustModel(textsModel)}
})

// mustModel reads a model of this program; one that does not read is nil, and a test
// makes sure that both do.
func mustModel(data []byte) *learn.Model {
	m, err := learn.Unmarshal(data)
	if err != nil {
		return nil
	}
	return m
}

// Understand tells what a text means in its context: hazards and opt-out first, then
// what was asked, then free intents. Any bytes will do; the time is bounded.
func Understand(text string, ctx Context) Meaning { return builtIn().Understand(text, ctx) }

// Features returns the hashed features of a text, for training.
func Features(text string, ctx Context) []uint32 {
	in := prepare(text, ctx)
	m := Meaning{Language: in.language()}
	in.values(&m)
	e := in.evidence(&m)
	return e.hashed()
}

func (e *evidence) hashed() []uint32 {
	h := make(hashes, 0, 64*len(e.atoms)+32)
	e.write(&h)
	return h
}
