package shop

// webKeys are the keys of a gateway of kind http, as people write them.
type webKeys struct {
	PublicURL string        `yaml:"public_url"`
	Texts     *textsKeys    `yaml:"texts"`
	Reports   *reportsKeys  `yaml:"reports"`
	Answer    *answerKeys   `yaml:"answer"`
	Signed    *signedKeys   `yaml:"signed"`
	Send      *sendKeys     `yaml:"send"`
	Pictures  *picturesKeys `yaml:"pictures"`
}

func (w webKeys) written() bool { return w != webKeys{} }

type textsKeys struct {
	As    string               `yaml:"as"` // json, form, query
	Each  string               `yaml:"each"`
	Only  map[string]oneOrMore `yaml:"only"`
	From  string               `yaml:"from"`
	To    string               `yaml:"to"`
	Body  string               `yaml:"body"`
	ID    string               `yaml:"id"`
	Time  string               `yaml:"time"`
	Codes string               `yaml:"body_as"` // text, ucs2_hex
	Media *mediaKeys           `yaml:"pictures"`
}

type mediaKeys struct {
	Each string `yaml:"each"`
	URL  string `yaml:"url"`
	Kind string `yaml:"kind"`
}

type reportsKeys struct {
	As        string               `yaml:"as"`
	Come      string               `yaml:"come"` // to_their_own_address, with_texts
	Each      string               `yaml:"each"`
	Only      map[string]oneOrMore `yaml:"only"`
	Key       string               `yaml:"key"`
	ID        string               `yaml:"id"`
	Line      string               `yaml:"line"`
	State     string               `yaml:"state"`
	Sent      oneOrMore            `yaml:"sent"`
	Delivered oneOrMore            `yaml:"delivered"`
	Failed    oneOrMore            `yaml:"failed"`
}

type answerKeys struct {
	Status int    `yaml:"status"`
	Type   string `yaml:"type"`
	Body   string `yaml:"body"`
}

type signedKeys struct {
	How       string    `yaml:"how"`
	Secret    oneOrMore `yaml:"secret"`
	PublicKey oneOrMore `yaml:"public_key"`
	Header    string    `yaml:"header"`
	Part      string    `yaml:"part"`
	TimePart  string    `yaml:"time_part"`
	TimeIn    string    `yaml:"time_header"`
	Between   *string   `yaml:"between"`
	Hash      string    `yaml:"hash"`
	Written   string    `yaml:"written"` // hex, base64
	Prefix    string    `yaml:"prefix"`
	Query     string    `yaml:"query"`
	User      string    `yaml:"user"`
	Within    string    `yaml:"within"`
}

type authKeys struct {
	As     string `yaml:"as"`
	User   string `yaml:"user"`
	Name   string `yaml:"name"`
	Secret string `yaml:"secret"`
}

type whenKeys struct {
	At string    `yaml:"at"`
	Is oneOrMore `yaml:"is"`
}

type sendKeys struct {
	Method    string            `yaml:"method"`
	URL       string            `yaml:"url"`
	Headers   map[string]string `yaml:"headers"`
	Query     map[string]string `yaml:"query"`
	Form      map[string]string `yaml:"form"`
	JSON      any               `yaml:"json"`
	KeyHeader string            `yaml:"key_header"`
	Auth      *authKeys         `yaml:"auth"`
	Taken     []int             `yaml:"taken"`
	TakenWhen *whenKeys         `yaml:"taken_when"`
	ID        string            `yaml:"id"`
	LostWhen  *whenKeys         `yaml:"lost_when"`
	AgainWhen *whenKeys         `yaml:"again_when"`
	PerSecond *float64          `yaml:"per_second"`
	Timeout   string            `yaml:"timeout"`
}

type picturesKeys struct {
	Fetch bool      `yaml:"fetch"`
	Hosts oneOrMore `yaml:"hosts"`
	Auth  *authKeys `yaml:"auth"`
	MaxKB *int      `yaml:"max_kb"`
}
