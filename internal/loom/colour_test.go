package loom

import (
	"slices"
	"strings"
	"testing"

	"fettle/internal/buildfile"
	"fettle/internal/catalogue"
)

// TestColourCodes holds the codes against the list of IEC 60757:2021, from memory.
func TestColourCodes(t *testing.T) {
	for _, row := range []struct{ colour, bad string }{
		{"BK", ""},
		{"BN", ""},
		{"RD", ""},
		{"OG", ""},
		{"YE", ""},
		{"GN", ""},
		{"BU", ""},
		{"VT", ""},
		{"GY", ""},
		{"WH", ""},
		{"PK", ""},
		{"GD", ""},
		{"TQ", ""},
		{"SR", ""},
		{"GNYE", ""},
		{"GR", "GR"},
		{"RDXX", "XX"},
		{"rd", "rd"},
		{"RDW", "RDW"},
		{"RDWHBK", "RDWHBK"},
	} {
		if bad := catalogue.ColourFault(row.colour); bad != row.bad {
			t.Errorf("%q: %q is at fault, want %q", row.colour, bad, row.bad)
		}
	}
}

// TestColoursAreTheUsers replaces a function and a supply, and leaves the others.
func TestColoursAreTheUsers(t *testing.T) {
	before := plan(t, camper(t))
	after := plan(t, camper(t, buildfile.Edit{Path: []string{"loom", "colours", "grounds"}, Text: "BK"}, buildfile.Edit{Path: []string{"loom", "colours", "outputs"}, Text: "VTOG"}))
	for i := range after.Wires {
		w := &after.Wires[i]
		switch {
		case w.Fixed && w.Colour == before.Wires[i].Colour: // a colour of its own
		case w.Kind == Return && w.Colour != "BK":
			t.Errorf("ground wire %d is %s", w.Number, w.Colour)
		case w.Kind == Output && w.Colour != "VTOG":
			t.Errorf("driven wire %d is %s", w.Number, w.Colour)
		case w.Kind != Return && w.Kind != Output && w.Colour != before.Wires[i].Colour:
			t.Errorf("wire %d changed from %s to %s", w.Number, before.Wires[i].Colour, w.Colour)
		}
	}
}

// TestUnknownColours are said at their place with what is allowed.
func TestUnknownColours(t *testing.T) {
	for _, row := range []struct{ path, text, want string }{
		{"loom colours grounds", "XX", `the colour of grounds is "XX"`},
		{"loom feeds pump colour", "ORANGE", `the colour of the supply pump is "ORANGE"`},
	} {
		_, ds := Plan(camper(t, buildfile.Edit{Path: strings.Fields(row.path), Text: row.text}))
		if len(ds) != 1 || !strings.HasPrefix(ds[0].Msg.String(), row.want) || ds[0].Pos.Line < 2 || !strings.Contains(ds[0].Msg.String(), "TQ") || ds[0].Hint.String() == "" {
			t.Errorf("%s: %v", row.text, ds)
		}
	}
}

// TestPinsSayWhy: every pin that was decided says what it can do and what kept a
// cheaper one; one that the file fixes says that.
func TestPinsSayWhy(t *testing.T) {
	l := plan(t, camper(t))
	owner := map[string]string{}
	for _, p := range l.Pins {
		owner[p.Pin] = p.Device
	}
	rivals := 0
	for _, p := range l.Pins {
		says := p.Reason()
		if p.Fixed != strings.Contains(says, "file fixes") {
			t.Errorf("%s, fixed %v: %s", p.Pin, p.Fixed, says)
		}
		if p.Fixed {
			continue
		}
		if !strings.Contains(says, "can be "+p.Can) && !strings.Contains(says, "other way can be") {
			t.Errorf("%s does not say that it can be %s: %s", p.Pin, p.Can, says)
		}
		i := slices.IndexFunc(p.Why, func(s string) bool { return strings.Contains(s, " but serves ") })
		if i < 0 {
			continue
		}
		rivals++
		rival, rest, _ := strings.Cut(p.Why[i], " would suit it better by itself, but serves ")
		holder, _, _ := strings.Cut(rest, ";")
		if owner[rival] != holder {
			t.Errorf("%s says that %s serves %s; it serves %s", p.Pin, rival, holder, owner[rival])
		}
	}
	if rivals == 0 {
		t.Error("no pin of the camper stood in another's way")
	}
}
