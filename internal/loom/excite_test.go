package loom

import (
	"slices"
	"testing"

	"fettle/internal/buildfile"
)

// TestExcitation follows the current that begins an alternator's field: from
// terminal 15 through the charge lamp to terminal 61 (DIN 72552), where the
// controller reads it. A lamp that the controller lights brings no wire there.
func TestExcitation(t *testing.T) {
	set := func(text string, path ...string) buildfile.Edit { return buildfile.Edit{Path: path, Text: text} }
	ends := func(l *Loom, node string) (names []string) {
		for _, w := range l.Wires {
			if w.From.Node == node || w.To.Node == node {
				names = append(names, w.Name)
			}
		}
		return names
	}
	for _, part := range []string{"charge lamp", "excitation resistor"} {
		l := plan(t, camper(t, set(part, "devices", "charge lamp", "part")))
		if got := ends(l, "splice terminal 61"); !slices.Equal(got, []string{"alternator 61", "charge lamp 61", "terminal 61"}) {
			t.Errorf("%s: %v meet at terminal 61", part, got)
		}
		if got := ends(l, "charge lamp 1"); len(got) != 1 {
			t.Errorf("%s: its supply is %v, want one wire", part, got)
		} else if w, _ := l.Wire(got[0]); w.Feed != "vehicle" || w.Guard.Fuse == "" {
			t.Errorf("%s: its supply is fed from %q behind fuse %q, want the vehicle's, from terminal 15", part, w.Feed, w.Guard.Fuse)
		}
		if pin := pinsOf(l)["alternator 61"]; pin == "" {
			t.Errorf("%s: the controller does not read terminal 61", part)
		}
		if l.Lacks != nil || l.Short != nil {
			t.Errorf("%s: short of %+v", part, l.Short)
		}
	}
	l := plan(t, camper(t, set("warning lamp", "devices", "charge lamp", "part")))
	if got := ends(l, "alternator 61"); !slices.Equal(got, []string{"alternator 61"}) || len(ends(l, "splice terminal 61")) > 0 {
		t.Errorf("a lamp that the controller lights: %v at terminal 61", got)
	}
}
