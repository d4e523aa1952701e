package formboard

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"fettle/internal/loom"
)

// piece is what is cut off a reel: a wire, or a screened cable with its cores.
type piece struct {
	wires         []int // the cores and the drain of a cable
	name          string
	colour, cover string
	lengthM       float64
}

// pieces lists what is cut, one reel after the other, the longest first, so that
// what is left of a reel still serves a short one.
func (b *Board) pieces() []piece {
	var out []piece
	for i := range b.Loom.Wires {
		w := &b.Loom.Wires[i]
		g, ok := b.Loom.Tree.GroupOf(i)
		if !ok || g.Kind != "screened" || !b.oneCable(g) {
			out = append(out, piece{[]int{i}, w.Name, w.Colour, w.Cover, w.LengthM})
			continue
		}
		if i != g.Wires[0] {
			continue // cut with the first
		}
		p := piece{wires: slices.Clone(g.Wires), name: "cable of " + g.Name, cover: fmt.Sprintf("screened, %d cores, %s", len(g.Wires), w.Cover), lengthM: g.LengthM}
		if g.Drain >= 0 {
			p.wires = append(p.wires, g.Drain)
		}
		out = append(out, p)
	}
	slices.SortStableFunc(out, func(x, y piece) int {
		return cmp.Or(cmp.Compare(b.areaM2(x), b.areaM2(y)), strings.Compare(x.colour, y.colour), strings.Compare(x.cover, y.cover), cmp.Compare(y.lengthM, x.lengthM))
	})
	return out
}

// oneCable reports a group whose cores are of one size and insulation, as those of
// a bought cable are.
func (b *Board) oneCable(g *loom.Group) bool {
	first := &b.Loom.Wires[g.Wires[0]]
	return !slices.ContainsFunc(g.Wires, func(i int) bool {
		w := &b.Loom.Wires[i]
		return w.Area.SI != first.Area.SI || w.Cover != first.Cover
	})
}

func (b *Board) areaM2(p piece) float64 { return b.Loom.Wires[p.wires[0]].Area.SI }

func (b *Board) cutRows() (rows [][]string) {
	with := b.together()
	for _, p := range b.pieces() {
		w := &b.Loom.Wires[p.wires[0]]
		rows = append(rows, []string{squares(w.Area.SI), p.colour, p.cover, strconv.Itoa(w.Number), b.numbers(p.wires[1:]), p.name, metres(p.lengthM), with[p.wires[0]]})
	}
	return rows
}

// reel is the wire of one size, colour and cover, or the cable of one kind.
type reel struct {
	first             *loom.Wire
	colour, cover     string
	pieces            int
	lengthM, longestM float64
}

func (b *Board) reels() (out []reel) {
	for _, p := range b.pieces() {
		w := &b.Loom.Wires[p.wires[0]]
		if n := len(out); n == 0 || out[n-1].first.Area.SI != w.Area.SI || out[n-1].colour != p.colour || out[n-1].cover != p.cover {
			out = append(out, reel{first: w, colour: p.colour, cover: p.cover})
		}
		r := &out[len(out)-1]
		r.pieces++
		r.lengthM += p.lengthM
		r.longestM = math.Max(r.longestM, p.lengthM)
	}
	return out
}

func (b *Board) reelRows() (rows [][]string) {
	for _, r := range b.reels() {
		rows = append(rows, []string{squares(r.first.Area.SI), r.colour, r.cover, strconv.Itoa(r.pieces), metres(r.lengthM), metres(r.longestM)})
	}
	return rows
}

func (b *Board) spliceRows() (rows [][]string) {
	for _, s := range b.Loom.Splices {
		copper := 0.0
		for _, i := range b.wires[s.Node] {
			copper += b.Loom.Wires[i].Area.SI
		}
		hot := ""
		if i, ok := b.Loom.Tree.Place(s.Place); ok {
			hot = warmth(b.Loom.Tree.Places[i].HotK)
		}
		rows = append(rows, []string{
			s.Name, strings.TrimPrefix(s.Node, "splice "), s.Place, b.landmark(s.Place), hot,
			strconv.Itoa(len(b.wires[s.Node])), b.numbers(b.wires[s.Node]), squares(copper),
		})
	}
	return rows
}

func (b *Board) groundRows() (rows [][]string) {
	for _, g := range b.Loom.Grounds {
		rows = append(rows, []string{g.Name, g.In, g.Place, b.landmark(g.Place), strconv.Itoa(len(b.wires[g.Node])), b.numbers(b.wires[g.Node])})
	}
	return rows
}

// boxRows has a row for each end of a fuse and each terminal of a relay, so that
// a box can be wired and checked terminal by terminal.
func (b *Board) boxRows() (rows [][]string) {
	box := b.boxPlace()
	for i := range b.Loom.Fuses {
		f := &b.Loom.Fuses[i]
		at := f.Place
		if at == "" {
			at = box
		}
		for _, side := range []struct{ name, node, feeds string }{{"supply", f.From, ""}, {"load", f.To, strings.Join(b.behind(f.To), ", ")}} {
			rows = append(rows, []string{
				f.Name, "fuse, " + FuseSays(f), at, side.name, strconv.FormatFloat(f.RatingA.SI, 'g', -1, 64), amps(f.LoadA),
				b.numbers(b.wires[side.node]), side.node, side.feeds,
			})
		}
	}
	for i := range b.Loom.Relays {
		r := &b.Loom.Relays[i]
		for _, s := range b.Loom.Sockets(r) {
			feeds := ""
			if s.Terminal == "87" {
				feeds = strings.Join(r.Feeds, ", ")
			}
			rows = append(rows, []string{
				r.Name, "relay, " + r.Group, box, s.Terminal, strconv.FormatFloat(r.Part.Relay.ContactA.SI, 'g', -1, 64), "",
				b.numbers(s.Wires), strings.Join(s.Fuses, " "), feeds,
			})
		}
	}
	return rows
}

// behind lists the terminals that the wires at a node serve; of one that serves
// no device, its far end.
func (b *Board) behind(node string) (out []string) {
	for _, i := range b.wires[node] {
		if len(b.Loom.Wires[i].Served) == 0 {
			out = append(out, b.far(i, node))
		}
		for _, end := range b.Loom.Wires[i].Served {
			if !slices.Contains(out, end) {
				out = append(out, end)
			}
		}
	}
	return out
}

func (b *Board) branchRows() (rows [][]string) {
	t := &b.Loom.Tree
	for i := range t.Branches {
		br := &t.Branches[i]
		flexes := "no"
		if br.Flexes {
			flexes = "yes"
		}
		second := ""
		if len(br.Strands) > 1 {
			second = millimetres(br.Strands[1].DiameterM)
		}
		rows = append(rows, []string{
			br.Name, metres(br.LengthM), millimetres(br.DiameterM), second, strconv.Itoa(len(br.Wires)),
			warmth(br.HotK), flexes, t.Places[br.To].Landmark,
		})
	}
	return rows
}

// labelRows has a label for both ends of every wire, and one for each thing that
// has a name.
func (b *Board) labelRows() (rows [][]string) {
	for i := range b.Loom.Wires {
		w := &b.Loom.Wires[i]
		for _, e := range []struct{ here, there loom.End }{{w.From, w.To}, {w.To, w.From}} {
			rows = append(rows, []string{strconv.Itoa(w.Number) + " " + w.Name, "to " + b.end(e.there), "wire, end at " + b.end(e.here), e.here.Place})
		}
	}
	for i := range b.Loom.Tree.Groups {
		g := &b.Loom.Tree.Groups[i]
		first, says := &b.Loom.Wires[g.Wires[0]], "twisted, wires "
		if g.Kind == "screened" {
			says = "screened, wires "
		}
		for _, e := range []loom.End{first.From, first.To} {
			rows = append(rows, []string{g.Name, says + b.numbers(g.Wires), "cable, end at " + b.end(e), e.Place})
		}
	}
	for _, c := range b.Connectors {
		rows = append(rows, []string{c.ID(), c.Says(), "connector", c.At})
	}
	for _, n := range b.Loom.Splices {
		rows = append(rows, []string{n.Name, strings.TrimPrefix(n.Node, "splice "), "splice", n.Place})
	}
	for _, g := range b.Loom.Grounds {
		if g.Node == "ground "+g.Place {
			rows = append(rows, []string{g.Name, g.In, "ground bolt", g.Place})
		}
	}
	box := b.boxPlace()
	for i := range b.Loom.Fuses {
		f := &b.Loom.Fuses[i]
		at := f.Place
		if at == "" {
			at = box
		}
		rows = append(rows, []string{f.Name + " " + rating(f), FuseSays(f), "fuse", at})
	}
	for _, r := range b.Loom.Relays {
		rows = append(rows, []string{r.Name, r.Group, "relay", box})
	}
	return rows
}
