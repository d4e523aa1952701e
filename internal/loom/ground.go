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
		p.bad = append(p.bad, diag.Errorf(p.d.Place("places"), "no-ground", "the places name no ground bolt on the %s", missing(okE, okB)).
			WithHint("mark one place with ground: engine and one with ground: body"))
		return
	}
	p.add(Wire{Name: "battery main", Kind: Post, Tails: 1, From: End{plus, bat.At}, To: End{"M1 in", p.box}})
	p.add(Wire{Name: "starter cable", Kind: Post, Brief: true, Tails: 1, From: End{plus, bat.At}, To: End{PostNode(sta, 0), sta.At}, Served: []string{PostNode(sta, 0)}})
	p.add(Wire{Name: "alternator cable", Kind: Post, Tails: 1, From: End{PostNode(alt, 0), alt.At}, To: End{"M2 in", bat.At}, DesignA: alt.Part.Alternator.RatedA.SI})
	p.add(Wire{Name: "engine strap", Kind: Strap, Brief: true, Tails: 1, From: End{minus, bat.At}, To: End{engine.Node, engine.Place}, Served: []string{PostNode(sta, 0)}})
	p.add(Wire{Name: "body strap", Kind: Strap, Tails: 1, From: End{minus, bat.At}, To: End{body.Node, body.Place}})
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
	for _, e := range p.ends(role("ground")) {
		in := NodeEngine
		if e.t.Ground == "body" {
			in = NodeBody
		}
		if joins, _ := p.groundFix(e.t.Ground); joins == "body" {
			in = NodeBody
		}
		g, _ := p.nearestBolt(e.it.At, in)
		p.add(Wire{Name: e.end(), Kind: Return, Tails: 1, From: End{e.end(), e.it.At}, To: End{g.Node, g.Place}, Served: []string{e.end()}})
	}
	p.sensorGrounds()
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
		pin, ok := p.take("sensor ground", "sensor ground", 0, p.ctl.Pos)
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
