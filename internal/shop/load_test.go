package shop_test

import (
	"math/rand/v2"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/conversation"
	"tubhand/internal/shop"
)

// small is the least that a shop file may hold, its comment taken off.
var small = func() string {
	src, err := os.ReadFile("../../testdata/shops/small.yaml")
	if err != nil {
		panic(err)
	}
	_, rest, _ := strings.Cut(string(src), "\n")
	return rest
}()

func TestLoadSmall(t *testing.T) {
	f, err := shop.Load("small.yaml", []byte(small))
	require.NoError(t, err)
	require.Equal(t, conversation.Shop{
		Key: "corner", Name: "Corner Tubs", Phone: "+1 541 555 0120",
		TimeZone: "America/Boise", Region: "US", Language: "es",
		Line: "+15415550121", Gateway: "door",
		Staff:    []conversation.Person{{Key: "ana", Name: "Ana"}},
		Hours:    []conversation.OpenHours{{Weekday: 1, Open: 480, Close: 720}},
		Flush:    conversation.Product{Name: "Corner Rinse", Teaspoons: 1, PerUSGal: 125},
		Products: map[string]conversation.Product{},
		OnCall:   []conversation.Pager{{Key: "ana", Address: "+15415550122"}},
	}, f.Shop)
	g, ok := f.Gateway("door")
	require.True(t, ok)
	require.Equal(t, shop.Plain, g.Kind)
	require.Equal(t, "https://gateway.example/out", g.Web.Send.URL)
	require.Equal(t, shop.SignNone, g.Web.Sign.How)
	_, ok = f.Gateway("window")
	require.False(t, ok)
}

func TestDemo(t *testing.T) {
	f := shop.Demo()
	require.Equal(t, "Fernhollow Tub Supply", f.Shop.Name)
	require.Equal(t, "+15415550100", f.Shop.Line)
	require.Equal(t, "America/Los_Angeles", f.Shop.TimeZone)
	require.Equal(t, 1.0, f.Shop.Flush.Teaspoons)
	require.Equal(t, 100.0, f.Shop.Flush.PerUSGal)
	require.Equal(t, 16.0, f.Shop.Flush.JarTeaspoons)
	require.Positive(t, f.Shop.Products["sodium_dichlor_dihydrate"].GramsPerTeaspoon)
	require.Positive(t, f.Shop.Products["sodium_bicarbonate"].GramsPerTeaspoon)
	require.Equal(t, "Dana", f.Shop.StaffName("dana"))
	require.Len(t, f.Shop.OnCall, 2)
	require.Equal(t, 10*time.Minute, f.Shop.Paging.Next)
	require.Len(t, f.Shop.Hours, 6)
	for _, c := range f.Shop.OnCall {
		require.Regexp(t, `^\+154155501\d\d$`, c.Address, "only numbers set aside for fiction")
	}
}

// Each broken file is the small one with one thing changed; the answer names the place
// and what to write instead.
func TestLoadSaysWhatToDo(t *testing.T) {
	for _, c := range []struct{ from, to, want string }{
		{"shop: corner", "shop: Corner!", `small.yaml:1:7: shop: is no usable key; use up to 40 small letters`},
		{"shop: corner\n", "", `small.yaml:1:1: shop: is missing; use`},
		{"name: Corner Tubs", "name: \"\"", `small.yaml:2:7: name: is missing; owners are told it`},
		{"name: Corner Tubs", "name: Corner Tubs for a Very Long and Warm Winter", `name: has 43 characters`},
		{"name: Corner Tubs", "name: Corner\u2019s", `small.yaml:2:7: name: has a character outside the alphabet`},
		{"name: Corner Tubs", `name: "Corner\u0007"`, `small.yaml:2:7: name: has a character that cannot be printed`},
		{"+1 541 555 0120", "call us", `small.yaml:3:8: phone: not a phone number; write it in full`},
		{"America/Boise", "Boise", `small.yaml:4:12: time_zone: is no time zone; write an IANA name`},
		{"America/Boise", "Local", `time_zone: is no time zone`},
		{"region: US", "region: us", `small.yaml:5:9: region: is no country code`},
		{"language: es", "language: fr", `small.yaml:6:11: language: is not known; write one of: en, es`},
		{"(541) 555-0121", "+15415550121", ""},
		{"(541) 555-0121", `"72345"`, `small.yaml:7:7: line: a short code, not a full phone number`},
		{"gateway: door", "gateway: window", `small.yaml:8:10: gateway: names no gateway of this file; write one of: door`},
		{"kind: plain", "kind: fancy", `small.yaml:10:16: gateways.door.kind: is not known; write one of: plain`},
		{"https://gateway.example/out", "gateway.example", `gateways.door.send_to: is no web address`},
		{"https://gateway.example/out", "ftp://gateway.example", `gateways.door.send_to: is no web address`},
		{"page: 541-555-0122", "page: 911", `small.yaml:12:26: staff.ana.page: a short code`},
		{", page: 541-555-0122", "", `small.yaml:13:11: on_call[0]: "ana" has no number to page; add page: to ana`},
		{"on_call: [ana]", "on_call: [bo]", `small.yaml:13:11: on_call[0]: "bo" is not among the staff; write one of: ana`},
		{"on_call: [ana]\n", "", `on_call: is missing; somebody must be paged`},
		{"staff:\n  ana: {name: Ana, page: 541-555-0122}\n", "", `staff: is missing; somebody must be there`},
		{"mon: 8:00-12:00", "mon: 12:00-8:00", `small.yaml:15:8: hours.mon: "12:00-8:00" is no span of hours`},
		{"mon: 8:00-12:00", "mon: late", `hours.mon: "late" is no span`},
		{"mon: 8:00-12:00", "someday: 8:00-12:00", `small.yaml:15:12: hours.someday: is no day; write one of: sun, mon`},
		{"hours:\n  mon: 8:00-12:00\n  sun: closed\n", "", `hours: is missing`},
		{", per_us_gal: 125", "", `small.yaml:17:8: flush: needs level_teaspoons and per_us_gal`},
		{"per_us_gal: 125", "per_us_gal: 0", `flush.per_us_gal: 0 is out of range; take it from the label, 10 to 1000`},
		{"per_us_gal: 125", "per_us_gal: .nan", `flush.per_us_gal: NaN is out of range`},
		{"level_teaspoons: 1", "level_teaspoons: 24, per_us_gal: 10, jar_teaspoons: 9", `already defined`},
		{"level_teaspoons: 1, per_us_gal: 125", "level_teaspoons: 20, per_us_gal: 50", `is more than any label asks`},
		{"flush: {", "products: {lye: {name: Lye}}\nflush: {", `products.lye: is not known; write one of: sodium_dichlor`},
		{"flush: {", "products: {borax: {name: B, grams_per_teaspoon: 50}}\nflush: {", `products.borax.grams_per_teaspoon: 50 is out of range`},
		{"flush: {", "products: {borax: {name: B, per_us_gal: 50}}\nflush: {", `level_teaspoons and per_us_gal go together`},
		{"flush: {", "drain: " + strings.Repeat("x", 201) + "\nflush: {", `drain: has 201 characters`},
		{"flush: {", "limits: {ph: {soak_low: 6.9}}\nflush: {", `small.yaml:17:25: limits.ph.soak_low: 6.9 would loosen the limit of 7; a shop may only tighten it, so write 7 or more`},
		{"flush: {", "limits: {free_chlorine_ppm: {soak_high: 8}}\nflush: {", `limits.free_chlorine_ppm.soak_high: 8 would loosen the limit of 5; a shop may only tighten it, so write 5 or less`},
		{"flush: {", "limits: {ph: {fix_low: 6}}\nflush: {", `so write 6.6 or more`},
		{"flush: {", "limits: {ph: {fix_high: .nan}}\nflush: {", `so write 8.4 or less`},
		{"flush: {", "limits: {water_temp_f: {soak_high: .inf}}\nflush: {", `so write 104 or less`},
		{"flush: {", "limits: {ph: {soak_low: 7.8, soak_high: 7.2}}\nflush: {", `limits.ph: no value is left to soak in: 7.8 to 7.2; leave room between the bounds`},
		{"flush: {", "limits: {foam: {soak_high: 2}}\nflush: {", `limits.foam: is no reading with limits; write one of: bromine_ppm, calcium_hardness_ppm`},
		{"flush: {", "limits: {ph: {soak_lowest: 7}}\nflush: {", `unknown field "soak_lowest"`},
		{"flush: {", "limits: {ph: {soak_low: 7.2}, water_temp_f: {soak_high: 102}}\nflush: {", ""},
		{"flush: {", "flusch: {}\nflush: {", `small.yaml:17:1: unknown field "flusch"; take it out or mend its spelling`},
		{"shop: corner", "shop: corner\nshop: other", `small.yaml:2:1: mapping key "shop" already defined at [1:1]`},
		{"per_us_gal: 125", "per_us_gal: some", `small.yaml:17:61: per_us_gal: wants a number, without quotes`},
		{"on_call: [ana]", "on_call: [ana", `small.yaml:14:1: ',' or ']' must be specified`},
		{"shop: corner", "---\nshop: corner", ""},
		{"per_us_gal: 125}\n", "per_us_gal: 125}\n---\nshop: second\n", `small.yaml:1:1: a second document after ---`},
	} {
		src := strings.Replace(small, c.from, c.to, 1)
		require.NotEqual(t, small, src, c.from)
		_, err := shop.Load("small.yaml", []byte(src))
		if c.want == "" {
			require.NoError(t, err, c.to)
			continue
		}
		require.ErrorContains(t, err, c.want, "%q for %q", c.to, c.from)
		require.IsType(t, shop.Problems{}, err)
	}
}

func TestLoadTellsAllThatIsWrongInOrder(t *testing.T) {
	src := strings.NewReplacer("language: es", "language: fr", "America/Boise", "Mars", "kind: plain", "kind: x").Replace(small)
	_, err := shop.Load("small.yaml", []byte(src))
	lines := strings.Split(err.Error(), "\n")
	require.Len(t, lines, 3)
	require.Contains(t, lines[0], "time_zone")
	require.Contains(t, lines[1], "language")
	require.Contains(t, lines[2], "kind")
}

func TestLoadRefusesWhatIsNoShopFile(t *testing.T) {
	for src, want := range map[string]string{
		"":            "s.yaml:1:1: is empty",
		"[]":          "s.yaml:1:1: ",
		"\x00\xff":    "s.yaml:1:1: ",
		"*nothing":    "s.yaml:1:",
		"# only this": "s.yaml:1:1: ",
	} {
		_, err := shop.Load("s.yaml", []byte(src))
		require.ErrorContains(t, err, want, "%q", src)
	}
	_, err := shop.Load("s.yaml", make([]byte, shop.MaxBytes+1))
	require.ErrorContains(t, err, "may have at most 262144")
}

func TestTheSameFileAlwaysGivesTheSameShop(t *testing.T) {
	src, err := os.ReadFile("demo.yaml")
	require.NoError(t, err)
	for range 20 {
		f, err := shop.Load("demo.yaml", src)
		require.NoError(t, err)
		require.Equal(t, shop.Demo(), f)
	}
}

func FuzzLoad(f *testing.F) {
	demo, err := os.ReadFile("demo.yaml")
	require.NoError(f, err)
	f.Add(demo)
	f.Add([]byte(small))
	r := rand.New(rand.NewPCG(1, 2))
	for range 10 { // files that break off, as an interrupted copy does
		f.Add(demo[:r.IntN(len(demo))])
	}
	f.Fuzz(func(t *testing.T, src []byte) {
		got, err := shop.Load("f.yaml", src)
		if err != nil {
			require.Regexp(t, `^f\.yaml:\d+:\d+: `, err.Error())
			return
		}
		require.Regexp(t, `^\+[1-9]\d+$`, got.Shop.Line)
		require.Positive(t, got.Shop.Flush.PerUSGal)
		require.NotEmpty(t, got.Shop.OnCall)
	})
}

func TestPagingAndHoursOnCall(t *testing.T) {
	text, err := os.ReadFile("demo.yaml")
	require.NoError(t, err)
	src := strings.Replace(string(text), "dana: {name: Dana, page: \"+15415550111\"}",
		"dana: {name: Dana, page: \"+15415550111\", on_call_hours: {sat: 8:00-20:00}}", 1)
	f, err := shop.Load("f.yaml", []byte(src))
	require.NoError(t, err)
	require.Equal(t, []conversation.OpenHours{{Weekday: 6, Open: 480, Close: 1200}}, f.Shop.OnCall[0].Hours)
	require.Empty(t, f.Shop.OnCall[1].Hours, "no hours: always")
	_, err = shop.Load("f.yaml", []byte(strings.Replace(src, "next: 10m", "next: soon", 1)))
	require.ErrorContains(t, err, "paging.next")
}

// The answer to a file that is wrong in many places, as whoever wrote it reads it.
func TestBrokenFileAsItIsRead(t *testing.T) {
	src, err := os.ReadFile("../../testdata/shops/broken.yaml")
	require.NoError(t, err)
	want, err := os.ReadFile("../../testdata/shops/broken.txt")
	require.NoError(t, err)
	_, err = shop.Load("broken.yaml", src)
	require.Error(t, err)
	require.Equal(t, string(want), err.Error()+"\n")
}
