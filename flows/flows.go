// Package flows embeds the flow files: one kind of service each.
package flows

import "embed"

// FS holds every flow file.
//
//go:embed *.yaml
var FS embed.FS
