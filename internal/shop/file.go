// Package shop reads a shop file: one business with its numbers, gateways, people,
// opening hours, and products with their labels' figures. The file is YAML, decoded
// strictly; each problem names file, line and column and says what to write instead.
// A figure that is left out stays unknown and is never guessed.
package shop

import (
	"bytes"
	_ "embed" // the demo shop
	_ "time/tzdata"

	"tubhand/internal/conversation"
)

// File is a shop file that has been read and checked.
type File struct {
	Shop     conversation.Shop
	Gateways []Gateway // by name
	Mail     *Mail     // the shop's mailbox; nil: none

	Retention Retention
}

//go:embed demo.yaml
var demo []byte

// DemoSource is the demo shop's file, to begin one's own with.
func DemoSource() []byte { return bytes.Clone(demo) }

// Demo is the shop of the demo and the rehearsals: Fernhollow Tub Supply, invented from
// its name to the figures on its labels.
func Demo() *File {
	f, err := Load("demo.yaml", demo)
	if err != nil {
		panic("the embedded demo shop: " + err.Error()) // held by a test
	}
	return f
}
