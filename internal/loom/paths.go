package loom

import (
	"math"

	"fettle/internal/design"
	"fettle/internal/diag"
	"fettle/internal/figure"
)

// paths holds the shortest way between every two places.
type paths struct {
	index map[string]int
	names []string
	dist  [][]float64
	via   [][]int // route taken last on the way from i to j, −1 for none
	prev  [][]int // place before j on the way from i
}

func newPaths(d *design.Design) *paths {
	p := &paths{index: map[string]int{}}
	for _, v := range d.File.Places {
		p.index[v.Name] = len(p.names)
		p.names = append(p.names, v.Name)
	}
	n := len(p.names)
	p.dist, p.via, p.prev = make([][]float64, n), make([][]int, n), make([][]int, n)
	for i := range n {
		p.dist[i], p.via[i], p.prev[i] = make([]float64, n), make([]int, n), make([]int, n)
		for j := range n {
			p.dist[i][j], p.via[i][j], p.prev[i][j] = math.Inf(1), -1, -1
		}
		p.dist[i][i] = 0
	}
	for r, v := range d.File.Routes {
		a, b := p.index[v.From.Name], p.index[v.To.Name]
		if v.LengthM.SI < p.dist[a][b] {
			p.dist[a][b], p.via[a][b], p.prev[a][b] = v.LengthM.SI, r, a
			p.dist[b][a], p.via[b][a], p.prev[b][a] = v.LengthM.SI, r, b
		}
	}
	p.close()
	return p
}

// close runs the all-pairs recurrence of Floyd and Warshall.
func (p *paths) close() {
	n := len(p.names)
	for k := range n {
		for i := range n {
			for j := range n {
				if d := p.dist[i][k] + p.dist[k][j]; d < p.dist[i][j] {
					p.dist[i][j], p.via[i][j], p.prev[i][j] = d, p.via[k][j], p.prev[k][j]
				}
			}
		}
	}
}

// between lists the routes from one place to another.
func (p *paths) between(from, to string) []int {
	i, j := p.index[from], p.index[to]
	var out []int
	for j != i {
		if p.via[i][j] < 0 {
			return nil
		}
		out = append(out, p.via[i][j])
		j = p.prev[i][j]
	}
	return out
}

func (p *paths) lengthM(from, to string) float64 { return p.dist[p.index[from]][p.index[to]] }

// gaps reports the places with devices that no route reaches from the fuse box.
func (p *paths) gaps(d *design.Design, box string) []diag.Diagnostic {
	var ds []diag.Diagnostic
	said := map[string]bool{}
	for _, it := range d.Devices {
		if math.IsInf(p.lengthM(box, it.At), 1) && !said[it.At] {
			said[it.At] = true
			ds = append(ds, diag.Errorf(it.Pos, "route-gap", "no route leads from %q to %q, where %q is", box, it.At, it.Name).
				WithHint("add a route with its length under routes"))
		}
	}
	return ds
}

// hottest returns the highest temperature that a wire meets: of its two ends
// and of every place on its way.
func (p *planner) hottest(from, to string, routes []int) *figure.Input {
	best := p.hotAt(from)
	take := func(place string) {
		if in := p.hotAt(place); in.SI > best.SI {
			best = in
		}
	}
	take(to)
	for _, r := range routes {
		take(p.d.File.Routes[r].From.Name)
		take(p.d.File.Routes[r].To.Name)
	}
	return best
}

func (p *planner) hotAt(place string) *figure.Input {
	if i, ok := p.paths.index[place]; ok && p.d.File.Places[i].Value.HotK != nil {
		return p.d.File.Places[i].Value.HotK
	}
	return p.d.Cat.Scheme.PlaceK
}
