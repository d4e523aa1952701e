package formboard

import (
	"cmp"
	"math"
	"slices"
	"strconv"

	"fettle/internal/drawing"
	"fettle/internal/drawing/harness"
	"fettle/internal/figure"
	"fettle/internal/loom"
	"fettle/internal/quantity"
	"fettle/internal/vehicle"
)

// route is a way between two places with the wires on it.
type route struct {
	index, from, to int
	wires           []int
	cables          []int // of battery, starter and alternator: outside the bundle
}

// join makes bundles of the routes that wires take: a tree of those with the most
// wires; a route that would close a ring is shown by a sign at both its ends.
func (b *Board) join() {
	routes := b.routes()
	slices.SortStableFunc(routes, func(x, y route) int {
		return cmp.Or(cmp.Compare(len(y.wires), len(x.wires)), cmp.Compare(len(y.cables), len(x.cables)), cmp.Compare(x.index, y.index))
	})
	part := make([]int, len(b.places))
	for i := range part {
		part[i] = i
	}
	for _, r := range routes {
		if part[r.from] == part[r.to] {
			b.ring(r)
			continue
		}
		old, now := part[r.to], part[r.from]
		for i := range part {
			if part[i] == old {
				part[i] = now
			}
		}
		ref, beside := "", 0.0
		if i, ok := b.Loom.Tree.Branch(r.index); ok {
			br := &b.Loom.Tree.Branches[i]
			ref = string(vehicle.BranchLengthID(br))
			if len(br.Strands) > 1 {
				beside = br.Strands[1].DiameterM
			}
		}
		b.bundles = append(b.bundles, harness.Bundle{
			Ref:  ref,
			From: r.from, To: r.to, LengthMM: drawing.Number(b.lengthM(r.index) * 1000), DiameterMM: drawing.Number(b.thickM(r) * 1000),
			BesideMM: drawing.Number(beside * 1000),
			Assumed:  b.Design.File.Routes[r.index].LengthM.Assumed(),
		})
	}
}

// routes lists the routes that some wire takes.
func (b *Board) routes() []route {
	all := make([]route, len(b.Design.File.Routes))
	for i := range all {
		v := &b.Design.File.Routes[i]
		all[i] = route{index: i, from: b.placeAt[v.From.Name], to: b.placeAt[v.To.Name]}
	}
	for i := range b.Loom.Wires {
		w := &b.Loom.Wires[i]
		for _, r := range w.Routes {
			if w.Kind == loom.Post || w.Kind == loom.Strap {
				all[r].cables = append(all[r].cables, i)
			} else {
				all[r].wires = append(all[r].wires, i)
			}
		}
	}
	return slices.DeleteFunc(all, func(r route) bool { return len(r.wires)+len(r.cables) == 0 })
}

// ring shows a route at both its ends.
func (b *Board) ring(r route) {
	length := mm(b.lengthM(r.index))
	for _, e := range [][2]int{{r.from, r.to}, {r.to, r.from}} {
		to := b.places[e[1]].Name
		what := "to " + to
		if len(r.wires) == 0 && len(r.cables) == 1 {
			what = b.Loom.Wires[r.cables[0]].Name + " to " + to
		}
		row := harness.Row{Sign: harness.Onward, Label: what + ", " + length, Things: []harness.Thing{{ID: "to " + to + " from " + b.places[e[0]].Name, Title: what}}}
		b.places[e[0]].Rows = append(b.places[e[0]].Rows, row)
		b.onward[r.index] = append(b.onward[r.index], harness.Spot{Place: e[0], Row: len(b.places[e[0]].Rows) - 1})
	}
}

// lengthM is a route's length with the allowance for bends.
func (b *Board) lengthM(r int) float64 {
	return loom.LengthM(b.Design.File.Routes[r].LengthM.SI, b.Design.Cat.Scheme.SlackFrac.SI, 0, 0)
}

// thickM is the diameter of a branch of the harness, or of the thickest cable
// where only cables lie.
func (b *Board) thickM(r route) float64 {
	if i, ok := b.Loom.Tree.Branch(r.index); ok && b.Loom.Tree.Branches[i].DiameterM > 0 {
		return b.Loom.Tree.Branches[i].DiameterM
	}
	most := 0.0
	for _, i := range r.cables {
		if c := b.Loom.Wires[i].Cable; c != nil && c.OverallM != nil {
			most = math.Max(most, c.OverallM.SI)
		}
	}
	return most
}

// drop leaves out places that nothing of the harness touches, and sorts the rows
// of the others.
func (b *Board) drop() {
	used := make([]bool, len(b.places))
	used[b.root] = true
	for i, p := range b.places {
		used[i] = used[i] || len(p.Rows) > 0
	}
	for _, r := range b.bundles {
		used[r.From], used[r.To] = true, true
	}
	to := make([]int, len(b.places))
	var kept []harness.Place
	for i, p := range b.places {
		to[i] = -1
		if used[i] {
			to[i] = len(kept)
			kept = append(kept, p)
		}
	}
	rowTo := make([][]int, len(kept))
	for i := range kept {
		rowTo[i] = sortRows(&kept[i])
	}
	move := func(s harness.Spot) harness.Spot {
		p := to[s.Place]
		return harness.Spot{Place: p, Row: rowTo[p][s.Row], Thing: s.Thing}
	}
	for node, s := range b.spots {
		s.Spot = move(s.Spot)
		b.spots[node] = s
	}
	for r, ends := range b.onward {
		for i := range ends {
			b.onward[r][i] = move(ends[i])
		}
	}
	for i := range b.bundles {
		b.bundles[i].From, b.bundles[i].To = to[b.bundles[i].From], to[b.bundles[i].To]
	}
	for name, i := range b.placeAt {
		b.placeAt[name] = to[i]
	}
	b.root, b.places = to[b.root], kept
}

// sortRows puts the rows of a place in order and says where each went.
func sortRows(p *harness.Place) (to []int) {
	at := make([]int, len(p.Rows))
	for i := range at {
		at[i] = i
	}
	slices.SortStableFunc(at, func(x, y int) int { return order(p.Rows[x].Sign) - order(p.Rows[y].Sign) })
	to = make([]int, len(at))
	rows := make([]harness.Row, len(at))
	for now, was := range at {
		to[was], rows[now] = now, p.Rows[was]
	}
	p.Rows = rows
	return to
}

func mm(m float64) string { return quantity.NumberTo(m*1000, "", 0) }

func celsius(in *figure.Input) string {
	s := quantity.Format(in.SI, "°C", 0)
	if in.Assumed() {
		return "(" + s + ")"
	}
	return s
}

func rating(f *loom.Fuse) string {
	decimals := 0
	if f.RatingA.SI != math.Trunc(f.RatingA.SI) {
		decimals = 1
	}
	return quantity.NumberTo(f.RatingA.SI, "A", decimals) + "\u00a0A"
}

func digits(n int) string { return strconv.Itoa(n) }
