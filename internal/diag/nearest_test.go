package diag

import "testing"

// TestNearest holds what is taken for a slip of the finger and what for another word.
func TestNearest(t *testing.T) {
	for _, c := range []struct {
		word  string
		among []string
		want  string
	}{
		{"van", []string{"car", "coupe", "roadster"}, ""},
		{"two", []string{"yes", "no"}, ""},
		{"cra", []string{"car", "coupe"}, "car"}, // two neighbours swapped
		{"R12", []string{"R6", "R9", "R10"}, "R10"},
		{"tyer", []string{"tyre", "mass"}, "tyre"},
		{"panelvan", []string{"panel van", "pickup"}, "panel van"},
		{"alternater", []string{"alternator", "battery"}, "alternator"},
		{"", []string{"car"}, ""},
	} {
		if got, ok := Nearest(c.word, c.among); got != c.want || ok != (c.want != "") {
			t.Errorf("%q among %v: %q (%v), want %q: counted by hand, at most a third of the letters, one always", c.word, c.among, got, ok, c.want)
		}
	}
}
