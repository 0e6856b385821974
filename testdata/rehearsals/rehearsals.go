// Package rehearsals carries the scripted conversations of this folder in the program, so
// that the staff pages can play them. Tests and `tubhand rehearse` read the same files.
package rehearsals

import "embed"

// FS holds the scripts, each named NAME.yaml.
//
//go:embed *.yaml
var FS embed.FS
