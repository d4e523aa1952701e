package loom

import (
	"fmt"
	"math"

	"fettle/internal/design"
	"fettle/internal/diag"
)

// posts makes the battery, starter and alternator cables and the ground bolts.
func (p *planner) posts() {
	p.bolts()
	bat, alt, sta := p.d.One("battery"), p.d.One("alternator"), p.d.One("starter")
	plus, minus := PostNode(bat, 0), PostNode(bat, 1)
	for _, v := range []struct {
		it    design.Item
		posts int
	}{{bat, 2}, {alt, 1}, {sta, 1}} {
		if PostNode(v.it, v.posts-1) == "" {
			p.bad = append(p.bad, diag.Errorf(v.it.Pos, "missing-post", "%q has fewer than %d terminals of role post", v.it.Name, v.posts).
				WithHint("give its part the post terminals the cables go to"))
		}
	}
	engine, okE := p.nearestBolt(bat.At, NodeEngine)
	body, okB := p.nearestBolt(bat.At, NodeBody)
	if !okE || !okB {
		p.bad = append(p.bad, p.noGround(bat.At, okE, okB))
		return
	}
	at := p.mainLead(plus, bat)
	p.add(Wire{Name: "battery main", Kind: Post, Tails: 2, From: End{"M1 out", at.Place}, To: End{NodeBus, p.box}})
	p.add(Wire{Name: "starter cable", Kind: Post, Brief: true, Tails: 1, From: End{plus, bat.At}, To: End{PostNode(sta, 0), sta.At}, Served: []string{PostNode(sta, 0)}})
	p.add(Wire{Name: "alternator cable", Kind: Post, Tails: 1, From: End{PostNode(alt, 0), alt.At}, To: End{"M2 in", at.Place}, DesignA: alt.Part.Alternator.RatedA.SI})
	p.add(Wire{Name: "engine strap", Kind: Strap, Brief: true, Tails: 1, From: End{minus, bat.At}, To: End{engine.Node, engine.Place}, Served: []string{PostNode(sta, 0)}})
	p.add(Wire{Name: "body strap", Kind: Strap, Tails: 1, From: End{minus, bat.At}, To: End{body.Node, body.Place}})
	p.bond()
}

// NodeMain is where the main fuses take their current when they do not sit on
// the battery's post.
const NodeMain = "main fuses"

// mainLead puts the main fuses on the battery's post, or where the file says,
// with the lead that goes there before any fuse.
func (p *planner) mainLead(plus string, bat design.Item) End {
	m := p.d.File.Loom.Main
	if m == nil {
		return End{plus, bat.At}
	}
	at := End{plus, bat.At}
	if m.At.Name != "" {
		at.Place = m.At.Name
	}
	if at.Place == bat.At && m.LeadM == nil {
		return at
	}
	at.Node = NodeMain
	w := p.add(Wire{Name: BatteryLead, Kind: Post, Tails: 1, From: End{plus, bat.At}, To: at, LeadM: m.LeadM})
	w.Pos = m.Pos
	return at
}

// BatteryLead is the name of the lead from the battery's post to its fuses, if
// they do not sit on the post.
const BatteryLead = "battery lead"

// bond joins engine and body beside the battery's own straps, between the bolts
// that lie nearest to each other: with one strap off, the other returns the
// starter's current, and not a throttle cable (common practice).
func (p *planner) bond() {
	var from, to Ground
	least := math.Inf(1)
	for _, e := range p.loom.Grounds {
		if e.In != NodeEngine || e.Node != "ground "+e.Place {
			continue
		}
		if b, ok := p.nearestBolt(e.Place, NodeBody); ok && p.paths.lengthM(e.Place, b.Place) < least {
			from, to, least = e, b, p.paths.lengthM(e.Place, b.Place)
		}
	}
	p.add(Wire{Name: "bonding strap", Kind: Strap, Tails: 1, From: End{from.Node, from.Place}, To: End{to.Node, to.Place}})
}

// noGround says that a battery finds no bolt: none is named, or no route leads to
// those that are.
func (p *planner) noGround(at string, okE, okB bool) diag.Diagnostic {
	for _, v := range []struct {
		in string
		ok bool
	}{{"engine", okE}, {"body", okB}} {
		for _, place := range p.d.File.Places {
			if !v.ok && place.Value.Ground == v.in {
				return diag.Errorf(place.Pos, "no-ground", "no route leads from %q, where the battery is, to the ground bolt on the %s at %q", at, v.in, place.Name).
					WithHint("add a route with its length under routes")
			}
		}
	}
	return diag.Errorf(p.d.Place("places"), "no-ground", "the places name no ground bolt on the %s", missing(okE, okB)).
		WithHint("mark one place with ground: engine and one with ground: body")
}

func missing(okE, okB bool) string {
	switch {
	case !okE && !okB:
		return "engine and none on the body"
	case !okE:
		return "engine"
	}
	return "body"
}

// bolts gives every place with a ground its bolt, and every case-grounded
// device its seat on the engine.
func (p *planner) bolts() {
	for _, v := range p.d.File.Places {
		in := map[string]string{"body": NodeBody, "engine": NodeEngine}[v.Value.Ground]
		if in == "" {
			continue
		}
		g := Ground{Name: fmt.Sprintf("G%d", len(p.loom.Grounds)+1), Node: "ground " + v.Name, Place: v.Name, In: in}
		p.loom.Grounds = append(p.loom.Grounds, g)
	}
	for _, e := range p.ends(role("case")) {
		p.loom.Grounds = append(p.loom.Grounds, Ground{Name: e.it.Name + " case", Node: e.end(), Place: e.it.At, In: NodeEngine})
	}
}

func (p *planner) nearestBolt(place, in string) (best Ground, ok bool) {
	for _, g := range p.loom.Grounds {
		if g.In != in || g.Node != "ground "+g.Place || math.IsInf(p.paths.lengthM(place, g.Place), 1) {
			continue
		}
		if !ok || p.paths.lengthM(place, g.Place) < p.paths.lengthM(place, best.Place) {
			best, ok = g, true
		}
	}
	return best, ok
}

// groundFix returns what the user joins a kind of ground to.
func (p *planner) groundFix(kind string) (joins string, pos diag.Pos) {
	for _, v := range p.d.File.Loom.Grounds {
		if v.Name == kind {
			return v.Value.Joins, v.Pos
		}
	}
	return "", diag.Pos{}
}

// SensorSplice is the node where the sensors' returns meet.
const SensorSplice = "splice sensor ground"

// grounds returns every ground terminal to its bolt and every sensor to the
// controller.
func (p *planner) grounds() {
	if len(p.bad) > 0 {
		return
	}
	shared := p.sharedGround()
	for _, e := range p.ends(role("ground")) {
		w := Wire{Name: e.end(), Kind: Return, Tails: 1, From: End{e.end(), e.it.At}, Served: []string{e.end()}}
		joins, _ := p.groundFix(e.t.Ground)
		if shared != "" && (joins == "controller" || e.end() == shared) {
			w.To = End{GroundSplice, p.ctl.At}
		} else {
			g, _ := p.nearestBolt(e.it.At, groundIn(e.t.Ground, joins))
			w.To = End{g.Node, g.Place}
		}
		p.add(w)
	}
	p.sensorGrounds()
}

// groundIn is the metal that a kind of ground returns to: its own, or the one
// that the file joins it to. The head is in the engine.
func groundIn(kind, joins string) string {
	if joins == "" || joins == "controller" {
		joins = kind
	}
	if joins == "body" {
		return NodeBody
	}
	return NodeEngine
}

// GroundSplice is the node where the returns of other devices meet the
// controller's own, if the file joins them.
const GroundSplice = "splice power ground"

// sharedGround makes the splice and the one wire from it to the bolt when a kind
// of power ground is joined to the controller, and names the controller's end.
func (p *planner) sharedGround() string {
	own := ""
	var served []string
	for _, e := range p.ends(role("ground")) {
		joins, _ := p.groundFix(e.t.Ground)
		isOwn := own == "" && e.it.Name == p.ctl.Name
		if isOwn {
			own = e.end()
		}
		if joins == "controller" || isOwn {
			served = append(served, e.end())
		}
	}
	if own == "" || len(served) < 2 {
		return ""
	}
	place := p.ctl.At
	node := p.splice("power ground", place)
	g, _ := p.nearestBolt(place, NodeEngine)
	p.add(Wire{Name: "power ground", Kind: Return, Tails: 1, From: End{node, place}, To: End{g.Node, g.Place}, Served: served})
	return own
}

func (p *planner) sensorGrounds() {
	ends := p.ends(role("sensor ground"))
	if len(ends) == 0 {
		return
	}
	place := busiest(ends)
	node := p.splice("sensor ground", place)
	var served []string
	for _, e := range ends {
		p.add(Wire{Name: e.end(), Kind: Signal, Tails: 1, From: End{e.end(), e.it.At}, To: End{node, place}, Served: []string{e.end()}})
		served = append(served, e.end())
	}
	trunk := Wire{Name: "sensor ground", Kind: Signal, From: End{node, place}, Served: served}
	joins, pos := p.groundFix("sensor")
	switch joins {
	case "power", "head":
		g, _ := p.nearestBolt(place, NodeEngine)
		trunk.To, trunk.Fixed, trunk.Tails = End{g.Node, g.Place}, true, 1
	case "body":
		g, _ := p.nearestBolt(place, NodeBody)
		trunk.To, trunk.Fixed, trunk.Tails = End{g.Node, g.Place}, true, 1
	default:
		pin, ok := p.take("sensor ground", "sensor ground", p.ctl.Pos)
		if !ok {
			return
		}
		trunk.To, trunk.Tails = End{pin.Node, pin.At}, 1
	}
	w := p.add(trunk)
	if trunk.Fixed {
		w.Pos = pos
	}
}
