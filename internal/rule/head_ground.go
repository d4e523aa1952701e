package rule

import (
	"slices"

	"fettle/internal/buildfile"
	"fettle/internal/design"
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

var sharedGround = Rule{
	ID: "shared-ground", Title: "other returns share the controller's ground wire",
	Why: "The controller measures every sensor against its own ground. What returns by the same wire, injectors, coils, lamps or fans, lifts that ground by its current times the wire's resistance, " +
		"and with it the controller's zero: its supply sinks, its drivers switch late, and on a long wire it restarts when a fan starts.",
	Source: "Ohm's law; common practice: main supply and ground straight to the battery, shared with nothing", Severity: diag.Fix, Page: "power",
	Bad: []buildfile.Edit{edit("controller", "loom", "grounds", "body", "joins")}, Good: []buildfile.Edit{edit("body", "loom", "grounds", "body", "joins")},
	Check: func(c *Case) []Finding {
		if _, shares := c.Loom.Wire("power ground"); !shares {
			return nil // nothing is there to return so
		}
		var out []Finding
		for _, g := range c.Design.File.Loom.Grounds {
			if g.Name == "sensor" || g.Value.Joins != "controller" {
				continue
			}
			f := Finding{Target: "power#grounds"}
			f.Pos, f.Subject = c.Design.Place("loom", "grounds", g.Name, "joins"), g.Name+" ground"
			f.Msg = diag.Sayf("the %s grounds return by the controller's own ground wire", g.Name)
			f.Value, f.Limit = diag.Sayf("controller"), diag.Sayf("%s", g.Name)
			f.Hint = diag.Sayf("take them to bolts of their own and leave the wire to the controller")
			f.Mends = to(g.Name+" ground: "+g.Name, g.Name, "loom", "grounds", g.Name, "joins")
			out = append(out, f)
		}
		return out
	},
}

var bodyGround = Rule{
	ID: "body-ground", Title: "what is bolted to the body is grounded on the engine",
	Why: "The current of lamps, fans and blowers comes back by a long wire into the engine box and through the engine's strap. There it lifts the engine against the body, " +
		"and with the strap loose the lamps' current looks for another way: a cable, a brake hose, a sensor's screen.",
	Source: "common practice: lamps and fans return to the body beside them", Severity: diag.Note, Page: "power",
	Bad: []buildfile.Edit{edit("power", "loom", "grounds", "body", "joins")}, Good: []buildfile.Edit{edit("body", "loom", "grounds", "body", "joins")},
	Check: func(c *Case) []Finding {
		i := slices.IndexFunc(c.Design.File.Loom.Grounds, func(g buildfile.Named[design.GroundFix]) bool {
			return g.Name == "body" && (g.Value.Joins == "power" || g.Value.Joins == "head")
		})
		if i < 0 {
			return nil
		}
		f := Finding{Target: "power#grounds"}
		f.Pos, f.Subject = c.Design.Place("loom", "grounds", "body", "joins"), "body ground"
		f.Msg = diag.Sayf("the body's grounds return to the engine")
		f.Value, f.Limit = diag.Sayf("%s", c.Design.File.Loom.Grounds[i].Value.Joins), diag.Sayf("body")
		f.Hint = diag.Sayf("take them to bolts in the body beside them")
		f.Mends = to("body ground: body", "body", "loom", "grounds", "body", "joins")
		return []Finding{f}
	},
}

// onBody reports whether a node is a bolt in the body's sheet metal.
func onBody(c *Case, node string) bool {
	return slices.ContainsFunc(c.Loom.Grounds, func(g loom.Ground) bool { return g.Node == node && g.In == loom.NodeBody })
}
