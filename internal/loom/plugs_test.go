package loom

import (
	"slices"
	"strconv"
	"strings"
	"testing"

	"fettle/internal/buildfile"
	"fettle/internal/catalogue"
	"fettle/internal/design"
)

// TestPlugsHoldEveryPin: each plug's ways run from 1 without a gap, and every
// pin in use and every wire at the unit stands in exactly one of them.
func TestPlugsHoldEveryPin(t *testing.T) {
	d := camper(t)
	l := plan(t, d)
	found := map[string]int{}
	for _, unit := range Units(d) {
		for _, p := range l.Plugs(unit) {
			if p.Letter == "" || p.Rows < 1 || !p.Stated || len(p.Ways)%p.Rows != 0 {
				t.Errorf("plug %q of %s: %d ways in %d rows, stated %v", p.Letter, p.Unit, len(p.Ways), p.Rows, p.Stated)
			}
			for i, w := range p.Ways {
				if w.Mark != strconv.Itoa(i+1) {
					t.Errorf("way %d of plug %s is marked %q", i+1, p.Letter, w.Mark)
				}
				if w.Used() && w.Can == nil {
					t.Errorf("a wire ends in %s, and nothing is behind it", w.Name)
				}
				if w.Pin != nil {
					found[w.Pin.Pin]++
					if !w.Used() || !slices.Contains(w.Can, w.Pin.Can) {
						t.Errorf("%s serves %s as %q with wires %v", w.Name, w.Pin.Device, w.Pin.Can, w.Wires)
					}
				}
				for _, k := range w.Wires {
					found["wire "+l.Wires[k].Name]++
				}
			}
		}
	}
	for _, pin := range l.Pins {
		if found[pin.Pin] != 1 {
			t.Errorf("pin %s stands in %d ways", pin.Pin, found[pin.Pin])
		}
	}
	ends := 0
	for _, w := range l.Wires {
		for _, node := range []string{w.From.Node, w.To.Node} {
			if strings.HasPrefix(node, "pin ") || strings.HasPrefix(node, "controller P") {
				ends++
				if found["wire "+w.Name] < 1 {
					t.Errorf("wire %s ends in no way", w.Name)
				}
			}
		}
	}
	if ends < 50 {
		t.Errorf("only %d wires end at the controller", ends)
	}
}

// TestPlugsOfNamedTerminals: a unit whose terminals are named, not numbered.
func TestPlugsOfNamedTerminals(t *testing.T) {
	unit := func(rows int, terminals ...string) design.Item {
		part := &catalogue.Part{Kind: "unit", Controller: &catalogue.Controller{Pins: []catalogue.PinBank{{Connector: "A", Ways: "1-4", Can: []string{"x"}}}}}
		if rows > 0 {
			part.Controller.Plugs = []buildfile.Named[catalogue.Plug]{{Name: "A", Value: catalogue.Plug{Ways: 6, Rows: rows}}}
		}
		for _, name := range terminals {
			part.Terminals = append(part.Terminals, buildfile.Named[catalogue.Terminal]{Name: name, Value: catalogue.Terminal{Role: "feed"}})
		}
		return design.Item{Name: "stage", Part: part}
	}
	for _, c := range []struct {
		name  string
		unit  design.Item
		marks []string // of all plugs, in order
		rows  int      // of the first
	}{
		{"named", unit(0, "15", "31", "in1"), []string{"1", "2", "3", "4", "15", "31", "in1"}, 1},
		{"numbered", unit(0, "P2"), []string{"1", "2", "3", "4", "1", "2"}, 1},
		{"no such way", unit(0, "P0", "P999", "P-1"), []string{"1", "2", "3", "4", "P0", "P999", "P-1"}, 1},
		{"described", unit(2), []string{"1", "2", "3", "4", "5", "6"}, 2},
		{"in the same plug", unit(0, "A6"), []string{"1", "2", "3", "4", "5", "6"}, 2},
	} {
		t.Run(c.name, func(t *testing.T) {
			plugs := (&Loom{}).Plugs(c.unit)
			var marks []string
			for _, p := range plugs {
				for _, w := range p.Ways {
					marks = append(marks, w.Mark)
				}
			}
			if !slices.Equal(marks, c.marks) || plugs[0].Rows != c.rows {
				t.Errorf("marks %q in %d rows, want %q in %d", marks, plugs[0].Rows, c.marks, c.rows)
			}
		})
	}
}
