package shop

import "tubhand/internal/safety"

// written is the file as people write it. Key order is free; a key that is not listed
// here is refused.
type written struct {
	Key      string             `yaml:"shop"`
	Name     string             `yaml:"name"`
	Phone    string             `yaml:"phone"`
	TimeZone string             `yaml:"time_zone"`
	Region   string             `yaml:"region"`
	Language string             `yaml:"language"`
	Line     string             `yaml:"line"`
	Gateway  string             `yaml:"gateway"`
	Gateways map[string]gateway `yaml:"gateways"`
	Staff    map[string]person  `yaml:"staff"`
	OnCall   []string           `yaml:"on_call"`
	Paging   paging             `yaml:"paging"`
	Hours    map[string]string  `yaml:"hours"`
	Flush    product            `yaml:"flush"`
	Products map[string]product `yaml:"products"`
	Drain    string             `yaml:"drain"`
	Mail     *mailKeys          `yaml:"mail"`

	Limits map[string]safety.Narrower `yaml:"limits"` // by quantity: bounds moved inwards

	Consent   consent   `yaml:"consent"`
	Retention retention `yaml:"retention"`
}

type person struct {
	Name string `yaml:"name"`
	Page string `yaml:"page"`

	OnCallHours map[string]string `yaml:"on_call_hours"` // left out: always
}

// paging is how long a page may stay unclaimed.
type paging struct {
	Next      string `yaml:"next"`      // until the next person on call is paged, and after the last all
	Again     string `yaml:"again"`     // until all are paged again
	Emergency string `yaml:"emergency"` // until all are paged again in an emergency
}

// product holds a label's figures; nil is "the label does not say".
type product struct {
	Name             string   `yaml:"name"`
	Teaspoons        *float64 `yaml:"level_teaspoons"`
	PerUSGal         *float64 `yaml:"per_us_gal"`
	JarTeaspoons     *float64 `yaml:"jar_teaspoons"`
	GramsPerTeaspoon *float64 `yaml:"grams_per_teaspoon"`
}
