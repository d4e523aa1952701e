package design

import (
	"slices"
	"strings"

	"fettle/internal/buildfile"
	"fettle/internal/catalogue"
	"fettle/internal/diag"
)

// mute refuses what a device is said to read when nothing of it goes to a controller.
func mute(it *Item, pos diag.Pos) []diag.Diagnostic {
	if slices.ContainsFunc(it.Part.Terminals, func(t buildfile.Named[catalogue.Terminal]) bool { return t.Value.Role == "input" }) {
		return nil
	}
	return []diag.Diagnostic{diag.Errorf(pos, "reads-nothing", "%q is said to read %s, and its part %q has no terminal that goes to an input", it.Name, strings.Join(it.Reads, " and "), it.Part.Name).
		WithHint("take \"reads\" out, or name the part of the sensor")}
}

// Tells reports whether a device tells the controller one of some quantities.
func (it *Item) Tells(any ...string) bool {
	return slices.ContainsFunc(it.Reads, func(r string) bool { return slices.Contains(any, r) })
}

// Telling lists the devices that tell the controller one of some quantities.
func (d *Design) Telling(any ...string) []Item {
	var out []Item
	for _, it := range d.Devices {
		if it.Tells(any...) {
			out = append(out, it)
		}
	}
	return out
}
