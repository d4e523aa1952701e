package loom

import (
	"fmt"
	"slices"

	"fettle/internal/catalogue"
	"fettle/internal/design"
	"fettle/internal/diag"
	"fettle/internal/figure"
	"fettle/internal/fuse"
)

// feedUse is a feed group in use.
type feedUse struct {
	name  string
	group *catalogue.FeedGroup
	fix   *design.FeedFix
	pos   diag.Pos
	from  string // "30", "15", "75", "50" or empty when behind a relay
	relay string
	ends  []endAt
}

// supplies makes relays, fuses and the wires behind them.
func (p *planner) supplies() {
	if len(p.bad) > 0 {
		return
	}
	uses := p.feedUses()
	p.relays(uses)
	p.rails(uses)
	for _, u := range uses {
		p.feed(u)
	}
	p.coils(uses)
	p.mains()
}

func (p *planner) feedUses() []*feedUse {
	var out []*feedUse
	for i := range p.d.Cat.Scheme.Feeds {
		v := &p.d.Cat.Scheme.Feeds[i]
		u := &feedUse{name: v.Name, group: &v.Value, from: v.Value.From, relay: v.Value.Relay, pos: p.d.Place("devices")}
		u.ends = p.ends(func(t *catalogue.Terminal) bool { return t.Role == "feed" && t.Feed == v.Name })
		for j := range p.d.File.Loom.Feeds {
			if f := &p.d.File.Loom.Feeds[j]; f.Name == v.Name {
				u.fix, u.pos = &f.Value, f.Pos
				if f.Value.From != "" {
					u.from, u.relay = f.Value.From, ""
				}
				if f.Value.Relay != "" {
					u.from, u.relay = "", f.Value.Relay
				}
			}
		}
		out = append(out, u)
	}
	return keepUsed(out, p.d.Cat.Scheme)
}

// keepUsed drops the groups without a device, unless a used relay's coil hangs on them.
func keepUsed(all []*feedUse, s catalogue.Scheme) []*feedUse {
	coil := map[string]bool{}
	for _, u := range all {
		if r := s.Relay(u.relay); r != nil && len(u.ends) > 0 {
			coil[r.Feed] = true
		}
	}
	var out []*feedUse
	for _, u := range all {
		if len(u.ends) > 0 || coil[u.name] {
			out = append(out, u)
		}
	}
	return out
}

// relays makes one relay of every group that some feed in use hangs on.
func (p *planner) relays(uses []*feedUse) {
	for i := range p.d.Cat.Scheme.Relays {
		v := &p.d.Cat.Scheme.Relays[i]
		r := Relay{
			Name: fmt.Sprintf("K%d", len(p.loom.Relays)+1), Group: v.Name, Is: v.Value.Is, Part: p.d.Cat.Parts[v.Value.Part.Name],
			On: append([]string{}, v.Value.On...), CoilFeed: v.Value.Feed, Pos: p.d.Place("devices"),
		}
		for _, u := range uses {
			if u.relay == v.Name {
				r.Feeds = append(r.Feeds, u.name)
				if u.fix != nil && u.fix.Relay != "" {
					r.Pos = u.pos
				}
			}
		}
		if len(r.Feeds) == 0 {
			continue
		}
		p.loom.Relays = append(p.loom.Relays, r)
		p.add(Wire{Name: r.Node("30"), Kind: Supply, From: End{NodeBus, p.box}, To: End{r.Node("30"), p.box}, Tails: 1, Served: p.servedBy(uses, r.Feeds)})
	}
}

func (p *planner) servedBy(uses []*feedUse, feeds []string) []string {
	var out []string
	for _, u := range uses {
		for _, f := range feeds {
			if u.name == f {
				for _, e := range u.ends {
					out = append(out, e.end())
				}
			}
		}
	}
	return out
}

// rails brings the key switch's outputs to the fuse box.
func (p *planner) rails(uses []*feedUse) {
	for _, gives := range []string{"15", "75", "50"} {
		var feeds []string
		for _, u := range uses {
			if u.from == gives {
				feeds = append(feeds, u.name)
			}
		}
		if len(feeds) == 0 {
			continue
		}
		src := p.ends(func(t *catalogue.Terminal) bool { return t.Role == "source" && t.Gives == gives })
		if len(src) == 0 {
			p.loom.Loose = append(p.loom.Loose, Shortage{End: feeds[0], Needs: "terminal " + gives, Pos: p.d.Place("devices")})
			continue
		}
		p.add(Wire{Name: src[0].end(), Kind: Supply, Tails: 1, From: End{src[0].end(), src[0].it.At}, To: End{"rail " + gives, p.box}, Served: p.servedBy(uses, feeds)})
		p.draws[src[0].end()] = perState{}
	}
}

// sourceNode is the node before a feed's fuse.
func (p *planner) sourceNode(u *feedUse) string {
	if u.relay != "" {
		if r, ok := p.loom.Relay(u.relay); ok {
			return r.Node("87")
		}
	}
	if u.from == "30" || u.from == "" {
		return NodeBus
	}
	return "rail " + u.from
}

// feed makes a group's fuse, its trunk and its branches.
func (p *planner) feed(u *feedUse) {
	var need perState
	var served []string
	for _, e := range u.ends {
		need = need.plus(p.draws[e.end()])
		served = append(served, e.end())
	}
	if u.name == p.switchFeed() {
		need = need.plus(p.switched())
	}
	f := p.fuse(u, need.most())
	after := "feed " + u.name
	p.loom.Fuses = append(p.loom.Fuses, f)
	switch {
	case len(u.ends) == 0:
	case len(u.ends) == 1:
		e := u.ends[0]
		p.add(Wire{
			Name: e.end(), Kind: Supply, Feed: u.name, Tails: 1, From: End{after, p.box}, To: End{e.end(), e.it.At},
			Served: served, DesignA: need.most(), FuseA: f.RatingA.SI, LimitV: u.group.DropV.SI,
		})
	default:
		p.branches(u, after, served, need.most(), f)
	}
}

// Shares of a feed's permitted drop: the trunk up to the splice, and the branch
// from it (decided here: the trunk carries the sum over the longer way).
const (
	trunkFrac  = 0.6
	branchFrac = 0.4
)

func (p *planner) branches(u *feedUse, after string, served []string, needA float64, f Fuse) {
	place := busiest(u.ends)
	if u.group.Splice != "" {
		place = u.group.Splice
	}
	node := p.splice(u.name, place)
	trunk := Wire{
		Name: u.name + " trunk", Kind: Supply, Feed: u.name, From: End{after, p.box}, To: End{node, place}, Tails: 1,
		Served: served, DesignA: needA, FuseA: f.RatingA.SI, LimitV: trunkFrac * u.group.DropV.SI,
	}
	p.add(trunk)
	for _, e := range u.ends {
		p.add(Wire{
			Name: e.end(), Kind: Supply, Feed: u.name, Tails: 1, From: End{node, place}, To: End{e.end(), e.it.At},
			Served: []string{e.end()}, FuseA: f.RatingA.SI, LimitV: branchFrac * u.group.DropV.SI,
		})
	}
}

// fuse takes the smallest standard fuse that carries the load all the time.
func (p *planner) fuse(u *feedUse, loadA float64) Fuse {
	f := Fuse{Name: fmt.Sprintf("F%d", len(p.loom.Fuses)+1), Feed: u.name, From: p.sourceNode(u), To: "feed " + u.name, LoadA: loadA, Pos: u.pos}
	if u.fix != nil && u.fix.FuseA != nil {
		f.RatingA, f.Fixed, f.Pos = u.fix.FuseA, true, u.fix.FuseA.Pos
		return f
	}
	f.RatingA = p.decided("loom/fuse/"+u.name, StandardFuseA(loadA/p.d.Cat.Scheme.FuseFrac.SI), "A", u.pos,
		fmt.Sprintf("smallest standard blade fuse for %.1f A at %.0f %% of its rating (ISO 8820-3 ratings; common practice)", loadA, 100*p.d.Cat.Scheme.FuseFrac.SI))
	p.fuseOf[u.name] = f.RatingA
	return f
}

// StandardFuseA is the smallest blade rating from atLeastA on; above the greatest it returns that.
func StandardFuseA(atLeastA float64) float64 {
	last := 0.0
	for _, r := range standardRatingsA {
		last = r
		if r >= atLeastA && r >= leastFuseA {
			return r
		}
	}
	return last
}

// leastFuseA is the smallest fuse that is given to a branch: smaller ones blow
// on inrush (common practice).
const leastFuseA = 5

func (p *planner) decided(id string, si float64, unit string, pos diag.Pos, why string) *figure.Input {
	in := &figure.Input{ID: figure.ID(id), SI: si, Unit: unit, Source: why, Origin: figure.Decided, Pos: pos}
	in.Seal()
	return in
}

// switchFeed is the feed that supplies the key switch.
func (p *planner) switchFeed() string {
	for _, e := range p.ends(role("source")) {
		for _, t := range e.it.Part.Terminals {
			if t.Value.Role == "feed" {
				return t.Value.Feed
			}
		}
	}
	return ""
}

// switched sums what flows through the key switch.
func (p *planner) switched() perState {
	var sum perState
	for _, w := range p.loom.Wires {
		if w.Kind == Supply && len(w.To.Node) > 5 && w.To.Node[:5] == "rail " {
			for _, end := range w.Served {
				sum = sum.plus(p.draws[end])
			}
		}
	}
	return sum
}

// coils wires the relays' coils: 86 to its supply, 85 to the controller.
func (p *planner) coils(uses []*feedUse) {
	for i := range p.loom.Relays {
		r := &p.loom.Relays[i]
		from := NodeBus
		for _, u := range uses {
			if u.name == r.CoilFeed {
				from = "feed " + u.name
			}
		}
		p.add(Wire{Name: r.Node("86"), Kind: Supply, From: End{from, p.box}, To: End{r.Node("86"), p.box}, Tails: 1})
		g := p.d.Cat.Scheme.Relay(r.Group)
		pin, ok := p.take(r.Node("85"), g.Needs, NominalV/r.Part.Relay.CoilOhm.SI, r.Pos)
		if !ok {
			continue
		}
		p.add(Wire{Name: r.Node("85"), Kind: Output, From: End{r.Node("85"), p.box}, To: End{pin.Node, pin.At}, Tails: 2})
	}
}

// mains sizes the main fuses from everything behind them.
func (p *planner) mains() {
	var all perState
	for _, e := range p.ends(role("feed")) {
		all = all.plus(p.draws[e.end()])
	}
	alt := p.d.One("alternator")
	bat := p.d.One("battery")
	frac := p.d.Cat.Scheme.FuseFrac.SI
	main := p.decided("loom/fuse/M1", StandardFuseA(all.most()/frac), "A", bat.Pos, "main fuse within 200 mm of the battery, for everything behind the fuse box (common practice)")
	charge := p.decided("loom/fuse/M2", StandardFuseA(alt.Part.Alternator.RatedA.SI/frac), "A", alt.Pos, "alternator cable fused at its battery end (common practice)")
	p.loom.Fuses = append(p.loom.Fuses,
		Fuse{Name: "M1", From: "M1 in", To: NodeBus, RatingA: main, LoadA: all.most(), Pos: bat.Pos},
		Fuse{Name: "M2", From: "M2 in", To: PostNode(bat, 0), RatingA: charge, LoadA: alt.Part.Alternator.RatedA.SI, Pos: alt.Pos})
	for i := range p.loom.Wires {
		switch w := &p.loom.Wires[i]; w.Name {
		case "battery main":
			w.DesignA, w.FuseA = all.most(), main.SI
		case "alternator cable":
			w.FuseA = charge.SI
		case "body strap":
			w.DesignA = all.most()
		}
	}
}

// standardRatingsA are blade fuses, and above them bolted ones (ISO 8820-3 and
// ISO 8820-5; the ratings from memory).
var standardRatingsA = append(slices.Clone(fuse.RatingsA), 125, 150, 175, 200, 250, 300)
