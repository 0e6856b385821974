// Package templates embeds what is said: one folder per language.
package templates

import "embed"

// FS holds every text, as <language>/<flow>.yaml.
//
//go:embed */*.yaml
var FS embed.FS
