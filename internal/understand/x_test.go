package understand

import ("testing";"fmt")

func TestX(t *testing.T) {
	for _, s := range []string{"the foam wont stop"} {
		in := prepare(s, Context{})
		for _, h := range loadCues().optOut.Find(in.atoms) { fmt.Println(h.Pattern.Source, h.Start, h.End) }
		fmt.Println(isBareOptOut(in.bare()), in.bare())
	}
}
