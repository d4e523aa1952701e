package loom

import (
	"fmt"

	"fettle/internal/figure"
)

// Tree is the harness as it lies in the vehicle: places joined by branches
// without a loop, seen from the fuse box. Drawings and lists are made from it.
//
// Where the routes of the file leave a choice, the branches are those with the
// least copper ([harness.Choose]); routes that are not needed stay empty. The
// cables of battery, starter and alternator and the ground straps are no part of
// the bundle: they take the shortest way on their own and stand in Apart.
type Tree struct {
	// Places are those the harness touches; the first is the fuse box, each of
	// the others comes after its parent.
	Places []TreePlace
	// Branches stand in the order of Places: Branches[i] leads to Places[i+1].
	Branches []Branch
	// Trunk is the heaviest way through the tree, from one end to the other, as
	// indices of Branches: the one with the most wire on it.
	Trunk []int
	// Apart are the indices in Loom.Wires of the cables outside the bundle.
	Apart []int
	// Groups are the wires that run together all the way.
	Groups []Group
	// Exact says that no other tree of the routes takes less copper; otherwise
	// no exchange of one route for another saves any.
	Exact bool
}

// TreePlace is a place of the harness.
type TreePlace struct {
	Name     string
	Landmark string // where a person finds it; empty when the file says nothing
	HotK     *figure.Input
	Flexes   bool  // moves against its surroundings: a door, an engine on its mounts
	Parent   int   // index in Places, −1 at the fuse box
	Branches []int // onward, as indices of Branches, in the order of the file's routes
	Wires    []int // wires that end here, as indices in Loom.Wires; cables too
}

// Branch is the piece of harness between two places.
type Branch struct {
	Name     string // "fuse box – hatch"
	Route    int    // in the design's routes
	From, To int    // indices in Places; From is nearer to the fuse box
	// MeasuredM is as in the file; LengthM has the allowance for bends and service.
	MeasuredM, LengthM float64
	// DiameterM is that of the bundle without its covering, of the first where two
	// lie side by side; 0 when no wire runs here and the branch only joins others.
	DiameterM float64
	// Strands are the bundles it is laid in: one, or two that keep apart, the second
	// with the wires of crank, cam and knock.
	Strands []Strand
	// Room is how wide its way is, nil where the file does not say; NeedM is what two
	// strands take.
	Room   *figure.Input
	NeedM  float64
	HotK   *figure.Input // of the hotter end
	Flexes bool          // one of its ends does
	Wires  []int         // indices in Loom.Wires, rising
}

// Branch returns the index of the branch over a route of the design; ok is false
// when the harness does not take it.
func (t *Tree) Branch(route int) (index int, ok bool) {
	for i := range t.Branches {
		if t.Branches[i].Route == route {
			return i, true
		}
	}
	return 0, false
}

// Place returns the index of a place by its name; ok is false when the harness
// does not touch it.
func (t *Tree) Place(name string) (index int, ok bool) {
	for i := range t.Places {
		if t.Places[i].Name == name {
			return i, true
		}
	}
	return 0, false
}

// tree gathers the branches once every wire has its way and its cable.
func (p *planner) tree() {
	t := &p.loom.Tree
	t.Exact = p.lay.pick.Exact
	on := map[int][]int{} // route → wires
	for i := range p.loom.Wires {
		w := &p.loom.Wires[i]
		if apart(w) {
			t.Apart = append(t.Apart, i)
			continue
		}
		for _, r := range w.Routes {
			on[r] = append(on[r], i)
		}
	}
	p.treePlaces(on)
	p.bind()
	for i := range t.Branches {
		p.strands(&t.Branches[i])
	}
	for i := range p.loom.Wires {
		w := &p.loom.Wires[i]
		for _, end := range []End{w.From, w.To} {
			if k, ok := t.Place(end.Place); ok && (end == w.From || w.From.Place != w.To.Place) {
				t.Places[k].Wires = append(t.Places[k].Wires, i)
			}
		}
	}
	t.Trunk = t.trunk()
}

// treePlaces lists places and branches from the fuse box outwards, without the
// ends that no wire of the harness reaches.
func (p *planner) treePlaces(on map[int][]int) {
	t, r := &p.loom.Tree, p.lay.rooted
	live := make([]bool, len(p.paths.names))
	for i := len(r.Order) - 1; i >= 0; i-- {
		n := r.Order[i]
		if r.Parent[n] >= 0 && (live[n] || len(on[p.lay.route[r.Way[n]]]) > 0) {
			live[n], live[r.Parent[n]] = true, true
		}
	}
	at := map[int]int{}
	for _, n := range r.Order {
		root := n == p.paths.index[p.box]
		if !root && (!live[n] || r.Parent[n] < 0) {
			continue
		}
		v := &p.d.File.Places[n]
		at[n] = len(t.Places)
		place := TreePlace{Name: v.Name, Landmark: v.Value.Landmark, HotK: p.hotAt(v.Name), Flexes: v.Value.Flexes, Parent: -1}
		if !root {
			place.Parent = at[r.Parent[n]]
			from := &t.Places[place.Parent]
			from.Branches = append(from.Branches, len(t.Branches))
			t.Branches = append(t.Branches, p.branch(p.lay.route[r.Way[n]], from, &place, at[n], on))
		}
		t.Places = append(t.Places, place)
	}
}

func (p *planner) branch(route int, from, to *TreePlace, index int, on map[int][]int) Branch {
	measured := p.d.File.Routes[route].LengthM.SI
	b := Branch{
		Name: fmt.Sprintf("%s – %s", from.Name, to.Name), Route: route, From: to.Parent, To: index, MeasuredM: measured,
		LengthM: LengthM(measured, p.d.Cat.Scheme.SlackFrac.SI, 0, 0), HotK: from.HotK, Flexes: from.Flexes || to.Flexes, Wires: on[route],
		Room: p.d.File.Routes[route].RoomM,
	}
	if to.HotK.SI > b.HotK.SI {
		b.HotK = to.HotK
	}
	return b
}

// trunk is the way through the tree with the most metres of wire on it.
func (t *Tree) trunk() []int {
	best := make([]float64, len(t.Places)) // from the place outwards
	via := make([]int, len(t.Places))
	top, second := -1, -1
	most := 0.0
	for n := len(t.Places) - 1; n >= 0; n-- {
		via[n] = -1
		a, b := -1, -1 // the two heaviest arms
		var wa, wb float64
		for _, i := range t.Places[n].Branches {
			br := &t.Branches[i]
			v := best[br.To] + br.LengthM*float64(len(br.Wires))
			switch {
			case a < 0 || v > wa:
				a, wa, b, wb = i, v, a, wa
			case b < 0 || v > wb:
				b, wb = i, v
			}
		}
		best[n], via[n] = wa, a
		if a >= 0 && wa+wb > most {
			most, top, second = wa+wb, a, b
		}
	}
	if most == 0 {
		return nil
	}
	var out []int
	for i := second; i >= 0; i = via[t.Branches[i].To] {
		out = append([]int{i}, out...)
	}
	for i := top; i >= 0; i = via[t.Branches[i].To] {
		out = append(out, i)
	}
	return out
}

// apart reports whether a wire lies outside the bundle.
func apart(w *Wire) bool { return w.Kind == Post || w.Kind == Strap }
