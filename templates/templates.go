// Package templates embeds what is said: one folder per language, and the frames of e-mail.
package templates

import "embed"

// FS holds every text, as <language>/<flow>.yaml.
//
//go:embed */*.yaml
var FS embed.FS

// Mail holds the frames that e-mail puts around the same texts, as mail/<name>.html.
//
//go:embed mail/*.html
var Mail embed.FS
