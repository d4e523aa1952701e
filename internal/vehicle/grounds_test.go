package vehicle

import (
	"math"
	"testing"

	"fettle/internal/design"
	"fettle/internal/loom"
)

// TestGroundsAreNodes holds the five grounds to what a meter shows between them:
// sensor, power inside the controller, engine, body and the battery's post each
// lie at a voltage of their own, because each has a resistance of its own; and
// engine and body are joined by a strap beside the battery's own.
func TestGroundsAreNodes(t *testing.T) {
	const limit = "service data: starter side up to 0.5 V to the post, ground circuits below 0.1 V with the engine running (workshop manuals)"
	v := camper(t, mended...)
	r := solved(t, v)
	sensor := ""
	for _, p := range v.Loom.Pins {
		if p.Can == "sensor ground" {
			sensor = p.Node
		}
	}
	nodes := map[string]string{"sensor": sensor, "power": loom.NodeInside, "engine": loom.NodeEngine, "body": loom.NodeBody}
	for _, state := range []string{design.Cranking, design.Idle} {
		s := r.State(state)
		if post, ok := s.NodeV(loom.PostNode(v.Design.One("battery"), 1)); !ok || post != 0 {
			t.Errorf("%s: the battery's negative post lies at %g V (%v)", state, post, ok)
		}
		seen := map[float64]string{0: "battery"}
		for name, node := range nodes {
			volts, ok := s.NodeV(node)
			if !ok || math.IsNaN(volts) {
				t.Errorf("%s: the %s ground has no voltage", state, name)
			}
			if other, twice := seen[volts]; twice {
				t.Errorf("%s: %s and %s ground lie at the same %g V", state, name, other, volts)
			}
			seen[volts] = name
			most := 0.1
			if state == design.Cranking {
				most = 0.5
			}
			if math.Abs(volts) > most {
				t.Errorf("%s: the %s ground lies at %.3f V, a good one below %g V (%s)", state, name, volts, most, limit)
			}
		}
	}
	w, ok := v.Loom.Wire("bonding strap")
	if !ok || w.Kind != loom.Strap {
		t.Fatal("no strap joins engine and body")
	}
	in := map[string]string{}
	for _, g := range v.Loom.Grounds {
		in[g.Node] = g.In
	}
	if in[w.From.Node] != loom.NodeEngine || in[w.To.Node] != loom.NodeBody {
		t.Errorf("the bonding strap joins %s and %s", w.From.Node, w.To.Node)
	}
	if a, ok := r.State(design.Cranking).LinkA(WireName(w.Number)); !ok || math.Abs(a) < 1 {
		t.Errorf("while cranking the bonding strap carries %.2f A (%v), want a share of the starter's return", a, ok)
	}
}
