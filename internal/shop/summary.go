package shop

import (
	"fmt"
	"strings"

	"tubhand/internal/conversation"
)

// Summary is what was understood of a shop file, in plain words.
type Summary struct {
	Shop       string    `json:"shop"`
	Understood []Section `json:"understood"`
	Warnings   []string  `json:"warnings"` // what is allowed and should be known
}

// Section is what was understood of one thing.
type Section struct {
	About string   `json:"about"`
	Says  []string `json:"says"`
}

// Summary tells what was understood of the file. The vault is asked whether the secrets
// that the file names are there; what they are is told nobody.
func (f *File) Summary(v Vault) Summary {
	s := Summary{Shop: f.Shop.Key, Understood: []Section{f.aboutShop(), f.aboutPeople()}, Warnings: []string{}}
	for _, g := range f.Gateways {
		if g.Web != nil {
			s.Understood = append(s.Understood, g.about(f.Shop.Gateway == g.Name))
			s.Warnings = append(s.Warnings, g.warnings(v)...)
		}
		if g.SMPP != nil {
			s.Understood = append(s.Understood, g.SMPP.about(g.Name, f.Shop.Gateway == g.Name))
			s.Warnings = append(s.Warnings, g.SMPP.warnings(g.Name, v)...)
		}
	}
	if f.Mail != nil {
		s.Understood = append(s.Understood, f.Mail.about())
		s.Warnings = append(s.Warnings, f.Mail.warnings(v)...)
	}
	s.Understood = append(s.Understood, f.aboutProducts())
	for _, p := range f.Shop.OnCall {
		if p.Address == f.Shop.Line {
			s.Warnings = append(s.Warnings, "on_call: "+p.Key+" is paged at the shop's own line, where no one reads it")
		}
	}
	return s
}

func (f *File) aboutShop() Section {
	s := f.Shop
	return Section{"the shop", []string{
		fmt.Sprintf("%s (%s), phone %s, in %s, region %s, language %s", s.Name, s.Key, s.Phone, s.TimeZone, s.Region, s.Language),
		fmt.Sprintf("owners text %s, through the gateway %s", s.Line, s.Gateway),
	}}
}

func (f *File) aboutPeople() Section {
	s := f.Shop
	out := Section{About: "people and hours"}
	var names []string
	for _, p := range s.Staff {
		names = append(names, p.Name)
	}
	out.Says = append(out.Says, "staff: "+strings.Join(names, ", "))
	var calls []string
	for _, p := range s.OnCall {
		call := s.StaffName(p.Key) + " at " + p.Address
		if len(p.Hours) > 0 {
			call += " (" + hoursInWords(p.Hours) + ")"
		}
		calls = append(calls, call)
	}
	return Section{out.About, append(out.Says, "paged in this order: "+strings.Join(calls, ", then "), "open: "+hoursInWords(s.Hours))}
}

func hoursInWords(hours []conversation.OpenHours) string {
	var out []string
	for _, h := range hours {
		out = append(out, fmt.Sprintf("%s %d:%02d-%d:%02d", days[h.Weekday%7], h.Open/60, h.Open%60, h.Close/60, h.Close%60))
	}
	if len(out) == 0 {
		return "never"
	}
	return strings.Join(out, ", ")
}

func (f *File) aboutProducts() Section {
	flush := f.Shop.Flush
	says := []string{fmt.Sprintf("flush product: %s, %g level teaspoons for each %g US gal", flush.Name, flush.Teaspoons, flush.PerUSGal)}
	for _, chemical := range keys(f.Shop.Products) {
		p := f.Shop.Products[chemical]
		weight := "the weight of a spoon is not known, so it is dosed by its label or not at all"
		if p.GramsPerTeaspoon > 0 {
			weight = fmt.Sprintf("%g g in a level teaspoon", p.GramsPerTeaspoon)
		}
		says = append(says, fmt.Sprintf("%s: %s, %s", chemical, p.Name, weight))
	}
	return Section{"products", says}
}
