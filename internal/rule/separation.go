package rule

import (
	"strconv"
	"strings"

	"fettle/internal/buildfile"
	"fettle/internal/diag"
	"fettle/internal/loom"
	"fettle/internal/vehicle"
)

var screenEnds = Rule{
	ID:    "screen-ends",
	Title: "a screen is grounded at the device",
	Why: "Joined at both ends a screen is one more ground strap: the engine's current runs through it, right along the signal it should guard. " +
		"Joined at the device alone it carries what it catches into the engine block, whose potential jumps with every coil and with the starter; the control unit measures against another.",
	Source:   "common practice: a screen ends at the control unit only",
	Severity: diag.Fix,
	Page:     "loom",
	Bad:      []buildfile.Edit{edit("both ends", "loom", "screens", "crank sensor", "grounded")},
	Good:     []buildfile.Edit{edit("control unit", "loom", "screens", "crank sensor", "grounded")},
	Check: func(c *Case) []Finding {
		var out []Finding
		for i := range c.Loom.Tree.Groups {
			g := &c.Loom.Tree.Groups[i]
			if g.Drain < 0 || g.Grounded == loom.AtUnit {
				continue
			}
			w := &c.Loom.Wires[g.Drain]
			f := Finding{Target: "loom#" + vehicle.WireAnchor(w.Number)}
			f.Pos, f.Subject = w.Pos, w.Name
			where := "at the device alone"
			if g.Grounded == loom.AtBoth {
				where = "at both ends"
			}
			f.Msg = diag.Sayf("the screen of %s, wire %v, is grounded %s", g.Name, strconv.Itoa(w.Number), where)
			f.Value, f.Limit = diag.Sayf("%s", g.Grounded), diag.Sayf("control unit")
			f.Hint = diag.Sayf("ground the screen at the control unit only; at the device cut it back and insulate it")
			f.Mends = []Mend{{Title: diag.Sayf("the screen of %s grounded at the control unit only", g.Name), Edits: []buildfile.Edit{edit(loom.AtUnit, "loom", "screens", g.Name, "grounded")}}}
			out = append(out, f)
		}
		return out
	},
}

var pairParted = Rule{
	ID:    "pair-parted",
	Title: "wires that are twisted or screened together part on the way",
	Why: "A pair picks up the same disturbance in both its wires, and the control unit takes the difference. Where one wire leaves the other, " +
		"the two make a loop as wide as the way between them, and what the loop catches is read as a tooth or a knock.",
	Source:   "common practice",
	Severity: diag.Fix,
	Page:     "loom",
	Bad:      []buildfile.Edit{edit("engine side", "loom", "splices", "sensor ground", "at")},
	Good:     []buildfile.Edit{edit("controller", "loom", "splices", "sensor ground", "at")},
	Check: func(c *Case) []Finding {
		var out []Finding
		for _, v := range c.Design.File.Loom.Splices {
			names := c.parted(v.Name)
			if len(names) == 0 {
				continue
			}
			f := Finding{Target: "loom#splices"}
			f.Pos, f.Subject = v.Value.At.Pos, "splice "+v.Name
			f.Msg = diag.Sayf("the splice %s at %s parts the wires of %s, which run together to their control unit", v.Name, v.Value.At.Name, strings.Join(names, ", "))
			f.Value, f.Limit = diag.Sayf("%s", v.Value.At.Name), diag.Sayf("where the other wires of the pair end")
			f.Hint = diag.Sayf("leave the splice to fettle, which puts it where the pairs end")
			f.Mends = []Mend{{Title: diag.Sayf("splice %s placed by fettle", v.Name), Edits: []buildfile.Edit{{Path: []string{"loom", "splices", v.Name}, Delete: true}}}}
			out = append(out, f)
		}
		return out
	},
}

// parted lists the groups that a splice takes a wire out of on the way.
func (c *Case) parted(joins string) (names []string) {
	for i := range c.Loom.Splices {
		s := &c.Loom.Splices[i]
		if s.Joins != joins {
			continue
		}
		for k := range c.Loom.Tree.Groups {
			g := &c.Loom.Tree.Groups[k]
			for _, w := range g.Wires {
				if !g.Together && c.Loom.Wires[w].To.Node == s.Node {
					names = append(names, g.Name)
					break
				}
			}
		}
	}
	return names
}

var quietRoom = Rule{
	ID:    "quiet-room",
	Title: "injector or coil wires lie too near to those of crank, cam or knock",
	Why: "An injector or a coil is switched off in microseconds and its wire jumps by tens to hundreds of volts. Beside it, a crank or knock signal of millivolts takes up a copy of the jump: " +
		"a tooth too many, and spark and fuel come at the wrong angle. The coupling falls with distance and vanishes where the wires cross at right angles.",
	Source:   "common practice: 100 mm, or a crossing at right angles",
	Severity: diag.Fix,
	Page:     "loom",
	Bad:      []buildfile.Edit{edit("60 mm", "routes", "8", "room")},
	Good:     []buildfile.Edit{edit("200 mm", "routes", "8", "room")},
	Check: func(c *Case) []Finding {
		var out []Finding
		for i := range c.Loom.Tree.Branches {
			b := &c.Loom.Tree.Branches[i]
			if len(b.Strands) < 2 || b.Room == nil || b.Room.SI >= b.NeedM {
				continue
			}
			need := say(vehicle.BranchNeedID(b), b.NeedM, "mm")
			f := Finding{Target: "loom#bundles"}
			f.Pos, f.Subject = b.Room.Pos, b.Name
			f.Msg = diag.Sayf("%s has room for %v; the wires of %s and those of %s take %v, %v from each other", b.Name, input(b.Room),
				strings.Join(c.devicesOf(b, c.Loom.Loud), ", "), strings.Join(c.devicesOf(b, c.Loom.Quiet), ", "), need, input(c.Design.Cat.Scheme.ApartM))
			f.Value, f.Limit = diag.Sayf("%v", input(b.Room)), diag.Sayf("at least %v", need)
			f.Hint = diag.Sayf("take the wires of crank, cam and knock through an opening of their own, and state the room there is with it; where both must pass, cross at right angles")
			out = append(out, f)
		}
		return out
	},
}

// devicesOf names the devices, several of a kind as one, whose wires on a branch
// are of a sort.
func (c *Case) devicesOf(b *loom.Branch, is func(wire int) bool) (names []string) {
	seen := map[string]bool{}
	for _, i := range b.Wires {
		if !is(i) {
			continue
		}
		for _, end := range c.Loom.Wires[i].Served {
			for _, it := range c.Design.Devices {
				if strings.HasPrefix(end, it.Name+" ") && it.Part.Terminal(strings.TrimPrefix(end, it.Name+" ")) != nil && !seen[it.Written] && (c.Loom.Quiet(i) || loom.Pulses(it.Part)) {
					seen[it.Written] = true
					names = append(names, it.Written)
				}
			}
		}
	}
	return names
}
