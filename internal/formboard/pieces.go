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

// cutOrder is the order wires are cut in: one reel after the other, the longest
// first, so that what is left of a reel still serves a short one.
func (b *Board) cutOrder() []int {
	order := make([]int, len(b.Loom.Wires))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, j int) int {
		x, y := &b.Loom.Wires[i], &b.Loom.Wires[j]
		return cmp.Or(cmp.Compare(x.Area.SI, y.Area.SI), strings.Compare(x.Colour, y.Colour), strings.Compare(x.Cover, y.Cover), cmp.Compare(y.LengthM, x.LengthM))
	})
	return order
}

func (b *Board) cutRows() (rows [][]string) {
	with := b.together()
	for _, i := range b.cutOrder() {
		w := &b.Loom.Wires[i]
		rows = append(rows, []string{squares(w.Area.SI), w.Colour, w.Cover, strconv.Itoa(w.Number), w.Name, metres(w.LengthM), with[i]})
	}
	return rows
}

// reel is the wire of one size, colour and cover.
type reel struct {
	first             *loom.Wire
	pieces            int
	lengthM, longestM float64
}

func (b *Board) reels() (out []reel) {
	for _, i := range b.cutOrder() {
		w := &b.Loom.Wires[i]
		if n := len(out); n == 0 || out[n-1].first.Area.SI != w.Area.SI || out[n-1].first.Colour != w.Colour || out[n-1].first.Cover != w.Cover {
			out = append(out, reel{first: w})
		}
		r := &out[len(out)-1]
		r.pieces++
		r.lengthM += w.LengthM
		r.longestM = math.Max(r.longestM, w.LengthM)
	}
	return out
}

func (b *Board) reelRows() (rows [][]string) {
	for _, r := range b.reels() {
		rows = append(rows, []string{squares(r.first.Area.SI), r.first.Colour, r.first.Cover, strconv.Itoa(r.pieces), metres(r.lengthM), metres(r.longestM)})
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
		rows = append(rows, []string{
			br.Name, metres(br.LengthM), strconv.FormatFloat(br.DiameterM*1e3, 'f', 1, 64), strconv.Itoa(len(br.Wires)),
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

// bill gathers rows of the bill, adding up what is the same.
type bill struct {
	rows  [][]string
	count []float64
	at    map[string]int
	uses  [][]string
}

func (l *bill) add(group, item string, n float64, unit, use string) {
	key := group + "\x00" + item
	k, ok := l.at[key]
	if !ok {
		k = len(l.rows)
		l.at[key] = k
		l.rows, l.count, l.uses = append(l.rows, []string{group, item, "", unit, ""}), append(l.count, 0), append(l.uses, nil)
	}
	l.count[k] += n
	if use != "" && !slices.Contains(l.uses[k], use) {
		l.uses[k] = append(l.uses[k], use)
	}
}

func (b *Board) materialRows() [][]string {
	l := &bill{at: map[string]int{}}
	for _, it := range b.Design.Devices {
		l.add("device", it.Part.Name, 1, "pieces", it.Name)
	}
	for _, r := range b.reels() {
		l.add("wire", strings.TrimSpace(r.first.Size+" "+r.first.Colour+" "+r.first.Cover), r.lengthM, "m", "")
	}
	for i := range b.Loom.Fuses {
		f := &b.Loom.Fuses[i]
		l.add("fuse", rating(f), 1, "pieces", f.Name)
	}
	for _, r := range b.Loom.Relays {
		l.add("relay", r.Part.Name, 1, "pieces", r.Name)
	}
	for _, c := range b.Connectors {
		l.add("connector", fmt.Sprintf("%d-way connector", len(c.Ways)), 1, "pieces", c.ID())
	}
	b.terminals(l)
	for _, s := range b.Loom.Splices {
		l.add("splice", fmt.Sprintf("splice of %d wires", len(b.wires[s.Node])), 1, "pieces", s.Name)
	}
	for i := range b.Loom.Tree.Branches {
		if br := &b.Loom.Tree.Branches[i]; br.DiameterM > 0 {
			l.add("covering", fmt.Sprintf("for a bundle of %.0f mm", math.Ceil(br.DiameterM*1e3)), br.LengthM, "m", br.Name)
		}
	}
	l.add("label", "label", float64(len(b.labelRows())), "pieces", "")
	for k, r := range l.rows {
		r[2] = strconv.FormatFloat(l.count[k], 'f', -1, 64)
		if r[3] == "m" {
			r[2] = metres(l.count[k])
		}
		r[4] = strings.Join(l.uses[k], ", ")
	}
	return l.rows
}

// terminals counts what is crimped on: a contact in a way of a plug, an eyelet
// on a bolt or a post, a contact of the box.
func (b *Board) terminals(l *bill) {
	ways := map[string]bool{}
	for _, c := range b.Connectors {
		for _, n := range c.Ways {
			ways[n] = true
		}
	}
	for i := range b.Loom.Wires {
		w := &b.Loom.Wires[i]
		for _, e := range []loom.End{w.From, w.To} {
			switch {
			case strings.HasPrefix(e.Node, "splice "):
			case ways[e.Node]:
				l.add("terminal", "contact of a connector for "+w.Size, 1, "pieces", "")
			case w.Kind == loom.Post || w.Kind == loom.Strap || strings.HasPrefix(e.Node, "ground "):
				l.add("terminal", "eyelet for "+w.Size, 1, "pieces", "")
			default:
				l.add("terminal", "contact of the fuse box for "+w.Size, 1, "pieces", "")
			}
		}
	}
}
