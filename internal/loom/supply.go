package loom

import (
	"fmt"

	"fettle/internal/catalogue"
	"fettle/internal/design"
	"fettle/internal/diag"
	"fettle/internal/figure"
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
	p.relayFeeds(uses)
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

func relayName(n int) string { return fmt.Sprintf("K%d", n) }

// relays makes one relay of every group that some feed in use hangs on.
func (p *planner) relays(uses []*feedUse) {
	for i := range p.d.Cat.Scheme.Relays {
		v := &p.d.Cat.Scheme.Relays[i]
		r := Relay{
			Name: relayName(len(p.loom.Relays) + 1), Group: v.Name, Is: v.Value.Is, Part: p.d.Cat.Parts[v.Value.Part.Name],
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
	}
}

// relayFeeds brings every relay's contact its supply: behind the fuse of the one
// group it feeds, or behind a fuse of its own when it feeds several, so that no
// wire in the fuse box hangs on the busbar alone.
func (p *planner) relayFeeds(uses []*feedUse) {
	for i := range p.loom.Relays {
		r := &p.loom.Relays[i]
		served := p.servedBy(uses, r.Feeds)
		from := "feed " + r.Feeds[0]
		feed := r.Feeds[0]
		if len(r.Feeds) > 1 {
			from, feed = "relay "+r.Group, ""
			f := Fuse{Relay: r.Group, From: NodeBus, To: from, Pos: r.Pos}
			p.rate(&f, "loom/fuse/relay "+r.Group, served, draw{})
			p.loom.Fuses = append(p.loom.Fuses, f)
		}
		p.add(Wire{Name: r.Node("30"), Kind: Supply, Feed: feed, From: End{from, p.box}, To: End{r.Node("30"), p.box}, Tails: 1, Served: served})
	}
}

// alone reports the relay that feeds a group and no other.
func (p *planner) alone(u *feedUse) (*Relay, bool) {
	for i := range p.loom.Relays {
		if r := &p.loom.Relays[i]; r.Group == u.relay && len(r.Feeds) == 1 {
			return r, true
		}
	}
	return nil, false
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
		p.draws[src[0].end()] = draw{}
	}
}

// sourceNode is the node before a feed's fuse.
func (p *planner) sourceNode(u *feedUse) string {
	if _, ok := p.alone(u); ok {
		return NodeBus
	}
	if r, ok := p.loom.Relay(u.relay); ok && u.relay != "" {
		return r.Node("87")
	}
	if u.from == "30" || u.from == "" {
		return NodeBus
	}
	return "rail " + u.from
}

// Leaves is the node where a feed's wires leave the fuse box: behind its fuse, or
// behind the relay that stands behind the fuse.
func (l *Loom) Leaves(f *Fuse) string {
	if r, ok := l.Relay(f.Relay); ok && f.Relay != "" && f.Feed != "" {
		return r.Node("87")
	}
	return f.To
}

// Heads reports whether a wire is the first of its feed outside the fuse box: the
// one that the feed's size is written for.
func (l *Loom) Heads(w *Wire) bool {
	for i := range l.Fuses {
		if f := &l.Fuses[i]; f.Feed != "" && f.Feed == w.Feed {
			return w.From.Node == l.Leaves(f)
		}
	}
	return false
}

// feed makes a group's fuse, its trunk and its branches.
func (p *planner) feed(u *feedUse) {
	var served []string
	for _, e := range u.ends {
		served = append(served, e.end())
	}
	var more draw
	if u.name == p.switchFeed() {
		more = p.switched()
	}
	f := p.fuse(u, served, more)
	p.loom.Fuses = append(p.loom.Fuses, f)
	after := p.loom.Leaves(&f)
	switch {
	case len(u.ends) == 0:
	case len(u.ends) == 1:
		e := u.ends[0]
		p.add(Wire{
			Name: e.end(), Kind: Supply, Feed: u.name, Tails: 1, From: End{after, p.box}, To: End{e.end(), e.it.At},
			Served: served, need: more, LimitV: u.group.DropV.SI,
		})
	default:
		p.branches(u, after, served, more)
	}
}

// Shares of a feed's permitted drop: the trunk up to the splice, and the branch
// from it (decided here: the trunk carries the sum over the longer way).
const (
	trunkFrac  = 0.6
	branchFrac = 0.4
)

func (p *planner) branches(u *feedUse, after string, served []string, more draw) {
	place := busiest(u.ends)
	if u.group.Splice != "" {
		place = u.group.Splice
	}
	node := p.splice(u.name, place)
	p.add(Wire{
		Name: u.name + " trunk", Kind: Supply, Feed: u.name, From: End{after, p.box}, To: End{node, place}, Tails: 1,
		Served: served, need: more, LimitV: trunkFrac * u.group.DropV.SI,
	})
	for _, e := range u.ends {
		p.add(Wire{
			Name: e.end(), Kind: Supply, Feed: u.name, Tails: 1, From: End{node, place}, To: End{e.end(), e.it.At},
			Served: []string{e.end()}, LimitV: branchFrac * u.group.DropV.SI,
		})
	}
}

// fuse gives a feed its fuse: the user's, or the smallest that will do.
func (p *planner) fuse(u *feedUse, served []string, more draw) Fuse {
	f := Fuse{Feed: u.name, From: p.sourceNode(u), To: "feed " + u.name, Pos: u.pos}
	if r, ok := p.alone(u); ok {
		f.Relay = r.Group
	}
	if u.fix != nil && u.fix.FuseA != nil {
		f.RatingA, f.Fixed, f.Pos = u.fix.FuseA, true, u.fix.FuseA.Pos
	}
	p.rate(&f, "loom/fuse/"+u.name, served, more)
	return f
}

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
func (p *planner) switched() draw {
	var sum draw
	for _, w := range p.loom.Wires {
		if w.Kind == Supply && len(w.To.Node) > 5 && w.To.Node[:5] == "rail " {
			sum = sum.plus(p.needOf(w.Served))
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
		pin, ok := p.take(r.Node("85"), g.Needs, r.Pos)
		if !ok {
			continue
		}
		p.add(Wire{Name: r.Node("85"), Kind: Output, From: End{r.Node("85"), p.box}, To: End{pin.Node, pin.At}, Tails: 2})
	}
}

// mains makes the main fuses, for everything behind them.
func (p *planner) mains() {
	var ends []string
	for _, e := range p.ends(role("feed")) {
		ends = append(ends, e.end())
	}
	alt, bat := p.d.One("alternator"), p.d.One("battery")
	plus, at := PostNode(bat, 0), bat.At
	if w, ok := p.loom.Wire(BatteryLead); ok {
		plus, at = w.To.Node, w.To.Place
	}
	all := p.needOf(ends)
	main := Fuse{Name: "M1", From: plus, To: "M1 out", Place: at, Pos: bat.Pos, LoadA: all.heatA()}
	main.Inrush = p.worstInrush(main.LoadA)
	p.rate(&main, "loom/fuse/M1", ends, draw{})
	charge := Fuse{Name: "M2", From: "M2 in", To: plus, Place: at, LoadA: alt.Part.Alternator.RatedA.SI, Pos: alt.Pos}
	p.rate(&charge, "loom/fuse/M2", nil, draw{})
	p.loom.Fuses = append(p.loom.Fuses, main, charge)
	for _, name := range []string{"battery main", "body strap", "bonding strap", BatteryLead} {
		if i, ok := p.loom.wireByName[name]; ok {
			w := &p.loom.Wires[i]
			w.need = all
			w.DesignA, w.HeatA = all.meanA(), all.heatA()
		}
	}
}
