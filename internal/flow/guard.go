package flow

// Guard is a typed predicate over what is known. Exactly one field is set. A value
// that was never measured satisfies no guard: comparisons with it are unknown, and
// unknown is neither true nor, under Not, made true (Kleene's three-valued logic).
type Guard struct {
	All     []Guard            `yaml:"all"`
	Any     []Guard            `yaml:"any"`
	Not     *Guard             `yaml:"not"`
	Known   string             `yaml:"known"` // a number or fact that has a value; never unknown itself
	Is      map[string]string  `yaml:"is"`    // fact -> value
	Above   map[string]float64 `yaml:"above"` // number > value
	AtLeast map[string]float64 `yaml:"at_least"`
	Below   map[string]float64 `yaml:"below"`
	AtMost  map[string]float64 `yaml:"at_most"`
}

// Truth is Kleene's: unknown, false or true.
type Truth int8

// The truth values.
const (
	Unknown Truth = iota
	False
	True
)

// View is what guards can see. Numbers are "volume_gal" and readings by their
// quantity names, seen only while fresh (measured in this service after the last
// addition). Facts are the flow's own and "band" (unmeasured, soak, fix, person),
// "sanitizer" (chlorine, bromine).
type View interface {
	Number(name string) (float64, bool)
	Fact(name string) (string, bool)
}
