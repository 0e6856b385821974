// Package flows embeds the flow files: one kind of service each.
package flows

import "embed"

// FS holds every flow file and, in parts, what several of them share.
//
//go:embed *.yaml parts/*.yaml
var FS embed.FS
