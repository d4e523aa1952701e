package formboard

import (
	"slices"
	"strings"
	"testing"
)

// TestScreensAreFollowed: every screen's drain is followed from where it is
// grounded to the plug of its device, and the lists say that it ends there open.
func TestScreensAreFollowed(t *testing.T) {
	n := 0
	for name, b := range boards(t) {
		list, _ := b.List("cables")
		if len(list.Rows) != len(b.Loom.Tree.Groups) {
			t.Errorf("%s: %d cables are listed of %d", name, len(list.Rows), len(b.Loom.Tree.Groups))
		}
		for _, g := range b.Loom.Tree.Groups {
			if g.Drain < 0 {
				continue
			}
			n++
			w := b.Loom.Wires[g.Drain]
			f, ok := b.Follow(nil, w.Number)
			if !ok {
				t.Fatalf("%s: the screen of %s can't be followed", name, g.Name)
			}
			open := f.Stations[len(f.Stations)-1].Seat.Name
			if strings.HasPrefix(open, "splice ") { // no pin to begin at: the file joins the sensors' ground elsewhere
				open = f.Stations[0].Seat.Name
			}
			if !strings.Contains(open, g.Name) || !strings.Contains(open, "cut back and insulated") {
				t.Errorf("%s: the screen of %s ends at %q", name, g.Name, open)
			}
			if says := b.Bond(w.Number); !strings.Contains(says, "control unit only") {
				t.Errorf("%s: the screen of %s says %q", name, g.Name, says)
			}
			if !slices.ContainsFunc(list.Rows, func(r []string) bool { return r[0] == g.Name && strings.Contains(r[7], "cut back") }) {
				t.Errorf("%s: the list does not say where the screen of %s ends", name, g.Name)
			}
		}
	}
	if n == 0 {
		t.Error("no build has a screen")
	}
}

// TestApartIsSaid: every branch with two bundles is in the list with what each
// takes, and its loud and quiet wires say that they keep clear.
func TestApartIsSaid(t *testing.T) {
	n := 0
	for name, b := range boards(t) {
		list, _ := b.List("apart")
		for _, br := range b.Loom.Tree.Branches {
			k := slices.IndexFunc(list.Rows, func(r []string) bool { return r[0] == br.Name })
			if (k >= 0) != (len(br.Strands) > 1) {
				t.Errorf("%s: %s has %d bundles, listed %v", name, br.Name, len(br.Strands), k >= 0)
			}
			if len(br.Strands) < 2 {
				continue
			}
			n++
			if !strings.Contains(list.Rows[k][1], "100 mm") {
				t.Errorf("%s: %s is to be laid %q", name, br.Name, list.Rows[k][1])
			}
			for _, i := range br.Wires {
				clear := b.Loom.Loud(i) || b.Loom.Quiet(i)
				if says := b.Apart(b.Loom.Wires[i].Number); clear != strings.Contains(says, br.Name) && clear {
					t.Errorf("%s: %s says %q of %s", name, b.Loom.Wires[i].Name, says, br.Name)
				}
			}
		}
	}
	if n == 0 {
		t.Error("no build has a branch with two bundles")
	}
}
