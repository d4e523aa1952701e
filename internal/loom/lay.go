package loom

import (
	"math"

	"fettle/internal/diag"
	"fettle/internal/harness"
)

// laying is what is known of the way wires lie: the ways between places that the
// file's routes give, those the harness takes, and the tree they make.
type laying struct {
	ways   []harness.Way
	route  []int // way → route of the design
	pick   harness.Pick
	rooted *harness.Rooted
}

// roughAPerM2 is the current density that copper is weighed at before wires have
// sizes: 8 A/mm² for the middle sizes in a bundle (common practice).
const roughAPerM2 = 8e6

// roughM2 is about the cross-section that a wire will get.
func roughM2(w *Wire) float64 {
	return math.Max(leastAreaM2(w.Kind), math.Max(w.DesignA, w.FuseA)/roughAPerM2)
}

// layAll chooses the tree of the harness, puts the splices where they save
// copper, and gives every wire its way.
func (p *planner) layAll() {
	p.plant()
	p.placeSplices()
	for i := range p.loom.Wires {
		p.layWire(&p.loom.Wires[i])
	}
	p.part()
}

// plant chooses the tree from what has to be joined.
func (p *planner) plant() {
	l := &p.lay
	for i, v := range p.d.File.Routes {
		a, b := p.paths.index[v.From.Name], p.paths.index[v.To.Name]
		if a != b {
			l.ways, l.route = append(l.ways, harness.Way{A: a, B: b, LengthM: v.LengthM.SI}), append(l.route, i)
		}
	}
	var pulls []harness.Pull
	for i := range p.loom.Wires {
		w := &p.loom.Wires[i]
		if !apart(w) {
			pulls = append(pulls, harness.Pull{A: p.paths.index[w.From.Place], B: p.paths.index[w.To.Place], AreaM2: roughM2(w)})
		}
	}
	var err error
	if l.pick, err = harness.Choose(len(p.paths.names), l.ways, pulls); err != nil {
		panic("loom: places that no route joins were to be reported before: " + err.Error())
	}
	if l.rooted, err = harness.Root(len(p.paths.names), l.ways, l.pick.Ways, p.paths.index[p.box]); err != nil {
		panic("loom: the chosen ways are no tree: " + err.Error())
	}
}

// placeSplices moves every splice that nobody fixed to where it saves copper,
// out of places that are hot or that flex.
func (p *planner) placeSplices() {
	for i := range p.loom.Splices {
		s := &p.loom.Splices[i]
		if at, pos, ok := p.spliceFix(s.Joins); ok {
			s.Fixed, s.Pos = true, pos
			p.move(s, at)
			continue
		}
		if at, ok := p.home(s.Node); ok {
			p.move(s, at)
			continue
		}
		var spurs []harness.Spur
		for k := range p.loom.Wires {
			w := &p.loom.Wires[k]
			switch s.Node {
			case w.From.Node:
				spurs = append(spurs, harness.Spur{At: p.paths.index[w.To.Place], AreaM2: roughM2(w)})
			case w.To.Node:
				spurs = append(spurs, harness.Spur{At: p.paths.index[w.From.Place], AreaM2: roughM2(w)})
			}
		}
		p.move(s, p.splicePlace(spurs))
	}
}

// spliceFix is where the user puts a splice.
func (p *planner) spliceFix(joins string) (at string, pos diag.Pos, ok bool) {
	for _, v := range p.d.File.Loom.Splices {
		if v.Name == joins {
			return v.Value.At.Name, v.Value.At.Pos, true
		}
	}
	return "", diag.Pos{}, false
}

// splicePlace is the place of least copper that is neither hot nor flexes; when
// all of them are hot, that flexes not; and when all flex, any.
func (p *planner) splicePlace(spurs []harness.Spur) string {
	limit := p.d.Cat.Scheme.SpliceK.SI + sameK
	flexes := func(i int) bool { return p.d.File.Places[i].Value.Flexes }
	for _, allowed := range []func(int) bool{
		func(i int) bool { return !flexes(i) && p.hotAt(p.paths.names[i]).SI <= limit },
		func(i int) bool { return !flexes(i) },
		nil,
	} {
		if at, _ := p.lay.rooted.Median(spurs, allowed); at >= 0 {
			return p.paths.names[at]
		}
	}
	return p.box
}

// sameK is how near two temperatures are taken as one.
const sameK = 0.01

func (p *planner) move(s *Splice, place string) {
	s.Place = place
	for k := range p.loom.Wires {
		w := &p.loom.Wires[k]
		if w.From.Node == s.Node {
			w.From.Place = place
		}
		if w.To.Node == s.Node {
			w.To.Place = place
		}
	}
}

// layWire gives a wire its way: through the tree, or the shortest for a cable
// that lies apart. Routes are listed from its far end.
func (p *planner) layWire(w *Wire) {
	w.Routes, w.LengthM = nil, 0
	switch {
	case w.From.Place == w.To.Place:
	case apart(w):
		w.Routes = p.paths.between(w.From.Place, w.To.Place)
	default:
		for _, i := range p.lay.rooted.Between(p.paths.index[w.To.Place], p.paths.index[w.From.Place]) {
			w.Routes = append(w.Routes, p.lay.route[i])
		}
	}
	w.HotK = p.hottest(w.From.Place, w.To.Place, w.Routes)
	sum := 0.0
	for _, r := range w.Routes {
		sum += p.d.File.Routes[r].LengthM.SI
	}
	w.LengthM = LengthM(sum, p.d.Cat.Scheme.SlackFrac.SI, p.d.Cat.Scheme.TailM.SI, w.Tails)
	if w.LeadM != nil {
		w.LengthM = w.LeadM.SI
	}
}
