package shop

import (
	"time"

	"tubhand/internal/shop/field"
)

// Web describes how a gateway speaks HTTP. The plain gateway is one such description that
// is built in.
type Web struct {
	PublicURL string // where the gateway reaches this server, without a slash at its end; "" unless told
	Texts     Texts
	Reports   Reports
	Answer    Answer
	Sign      Sign
	Send      Send
	Pictures  Pictures
}

// Texts says where in a callback the texts of owners stand.
type Texts struct {
	Format string     // field.Form, field.JSON, field.Query
	Each   field.Path // JSON: to each message of the callback; nil where it is one
	Only   []When     // a message is a text where all of these hold
	From   field.Field
	To     field.Field // not given: the one shop's line
	Body   field.Field
	ID     field.Field
	Time   field.Field
	UCS2   bool // the body is UCS-2 written as hexadecimal digits
	Media  MediaFields
}

// MediaFields says where the pictures of a text stand.
type MediaFields struct {
	Each field.Path  // JSON: to each picture of the message
	URL  field.Field // in a form with {n} for 0 to 10
	Kind field.Field // the media type, like image/jpeg
}

// When holds where a field has one of the words, small letters throughout.
type When struct {
	At field.Field
	Is []string
}

// Reports says where in a callback the delivery reports stand.
type Reports struct {
	Given    bool
	Format   string
	SameURL  bool // they come to the address of texts, too
	Each     field.Path
	Only     []When
	Key      field.Field       // our key, given back
	ID       field.Field       // or the gateway's id, as told when it took the message
	Line     field.Field       // our number; where not given, all of the gateway's shops are looked through
	State    field.Field       // the gateway's word
	Words    map[string]string // the gateway's words, in small letters, to sent, delivered or failed
	Tolerant bool              // a word that is not listed is taken and changes nothing
}

// Answer is how a callback that was taken is answered.
type Answer struct {
	Status int    // 200 to 299
	Type   string // content type; "" for no body
	Body   string
}

// The ways in which a gateway proves that a callback is its own.
const (
	SignNone     = "none"              // it does not: whoever knows the address can post
	SignBody     = "hmac_body"         // HMAC over the body, or over a time, a separator and the body
	SignForm     = "hmac_url_form"     // HMAC over the address and the form's fields in their order
	SignStandard = "standard_webhooks" // Standard Webhooks 1.0.0
	SignEd25519  = "ed25519"           // Ed25519 over a time and the body
	SignBasic    = "basic"             // a user and a password
	SignShared   = "shared_secret"     // a secret in a header or in the address
)

// Sign says how callbacks are signed.
type Sign struct {
	How      string
	Secrets  []Secret // each of them counts; none for SignEd25519
	Keys     []string // SignEd25519: public keys, base64 or hexadecimal
	Header   string   // where the signature or the secret stands
	Part     string   // of a header of the form t=...,v1=...: the signature's name
	TimePart string   // and the time's
	TimeIn   string   // or the header that holds the time
	Between  string   // stands between the time and the body
	Hash     string   // sha1, sha256, sha512
	Base64   bool     // else hexadecimal
	Prefix   string   // before the signature
	Query    string   // SignShared: the field of the address, instead of a header
	User     string   // SignBasic
	Within   time.Duration
}

// Timed tells whether a time is signed, so that old callbacks can be told.
func (s Sign) Timed() bool {
	return s.How == SignStandard || s.TimeIn != "" || s.TimePart != ""
}

// The ways to prove to a gateway who sends.
const (
	AuthNone   = ""
	AuthBasic  = "basic"
	AuthBearer = "bearer"
	AuthHeader = "header"
	AuthQuery  = "query"
	AuthField  = "field" // {secret} stands among the fields
)

// Auth says how a request is authorized.
type Auth struct {
	As     string
	User   string // AuthBasic
	Name   string // AuthHeader, AuthQuery
	Secret Secret
}

// Send describes the request that hands a message over, and what its answer means. Its
// texts may hold placeholders; see Placeholders.
type Send struct {
	Method    string
	URL       string
	Headers   map[string]string
	Query     map[string]string
	Form      map[string]string // form fields; nil for a JSON body
	JSON      any               // as encoding/json has it: maps, lists, texts with placeholders
	KeyHeader string            // header for the idempotency key; "" for none
	Auth      Auth
	Taken     []int // statuses that mean taken; none: 200 to 299
	TakenWhen When  // and the answer must hold this; unset: nothing
	ID        field.Field
	LostWhen  When // the answer says that it can never arrive
	AgainWhen When // the answer says that it may be tried again
	PerSecond float64
	Timeout   time.Duration
}

// Pictures says from where pictures may be fetched.
type Pictures struct {
	Fetch bool
	Hosts []string // exact names, small letters
	Auth  Auth
	MaxKB int
}

// Placeholders lists what stands for a part of a message in a request.
func Placeholders() []string {
	return []string{"{from}", "{to}", "{from_digits}", "{to_digits}", "{body}", "{key}", "{report_url}", "{secret}"}
}

// plainWeb is the description of the plain gateway.
func plainWeb(sendTo string) *Web {
	at := func(name string) field.Field {
		f, _ := field.Parse(name, field.Form) // a plain name always parses
		return f
	}
	return &Web{
		Texts: Texts{Format: field.Form, From: at("from"), To: at("to"), Body: at("body"), ID: at("id")},
		Reports: Reports{Given: true, Format: field.Form, Key: at("key"), State: at("status"), Words: map[string]string{
			"accepted": "sent", "sent": "sent", "delivered": "delivered",
			"undelivered": "failed", "failed": "failed", "expired": "failed", "rejected": "failed",
		}},
		Answer: Answer{Status: 204},
		Sign:   Sign{How: SignNone},
		Send: Send{Method: "POST", URL: sendTo, KeyHeader: "Idempotency-Key",
			JSON: map[string]any{"from": "{from}", "to": "{to}", "body": "{body}", "key": "{key}"}, Timeout: 10 * time.Second},
	}
}
