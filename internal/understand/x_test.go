package understand

import ("testing";"fmt")

func TestX(t *testing.T) {
	for _, s := range []string{"done", "stop", "the foam wont stop", "quit texting me", "cant breathe", "ya termine", "cuanto falta", "7.4", ""} {
		fmt.Printf("%q %+v\n", s, Understand(s, Context{}))
	}
}
