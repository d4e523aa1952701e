package rule

import (
	"slices"

	"fettle/internal/buildfile"
	"fettle/internal/diag"
	"fettle/internal/loom"
	"fettle/internal/vehicle"
)

var headGround = Rule{
	ID: "head-ground", Title: "the coils' return is wired past their cylinder head",
	Why: "A spark's current comes back through the plug's thread into the head, and closes its circuit at the coil. With the coils or their stages grounded on the body it runs through the engine strap, " +
		"and at every spark lifts the engine, and all that is grounded there, against the body.",
	Source: "common practice: ignition stages and capacitors return to their cylinder head", Severity: diag.Fix, Page: "power",
	Bad: []buildfile.Edit{edit("body", "loom", "grounds", "head", "joins")}, Good: []buildfile.Edit{edit("head", "loom", "grounds", "head", "joins")},
	Check: func(c *Case) []Finding {
		var ends []string
		for _, it := range c.Design.Devices {
			for _, t := range it.Part.Terminals {
				if t.Value.Role == "ground" && t.Value.Ground == "head" {
					ends = append(ends, it.Name+" "+t.Name)
				}
			}
		}
		i := slices.IndexFunc(c.Loom.Wires, func(w loom.Wire) bool { return slices.Contains(ends, w.Name) && onBody(c, w.To.Node) })
		if i < 0 {
			return nil
		}
		w := c.Loom.Wires[i]
		f := Finding{Target: "power#" + vehicle.WireAnchor(w.Number)}
		f.Pos, f.Subject = c.Design.Place("loom", "grounds", "head", "joins"), "head ground"
		f.Msg = diag.Sayf("%s return to the body at %s, past the cylinder head", counts(len(ends), "terminal"), w.To.Place)
		f.Value, f.Limit = diag.Sayf("body"), diag.Sayf("head")
		f.Hint = diag.Sayf("return coils, stages and capacitors to a bolt on their own head")
		f.Mends = to("head ground: head", "head", "loom", "grounds", "head", "joins")
		return []Finding{f}
	},
}

// onBody reports whether a node is a bolt in the body's sheet metal.
func onBody(c *Case, node string) bool {
	return slices.ContainsFunc(c.Loom.Grounds, func(g loom.Ground) bool { return g.Node == node && g.In == loom.NodeBody })
}
