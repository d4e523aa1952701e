package formboard

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"fettle/internal/harness"
	"fettle/internal/loom"
)

// bill gathers rows of the bill, adding up what is the same.
type bill struct {
	rows []billRow
	at   map[string]int
}

type billRow struct {
	group, item, unit string
	n                 float64
	uses              []string
}

func (l *bill) add(group, item string, n float64, unit, use string) {
	key := group + "\x00" + item
	k, ok := l.at[key]
	if !ok {
		k = len(l.rows)
		l.at[key] = k
		l.rows = append(l.rows, billRow{group: group, item: item, unit: unit})
	}
	r := &l.rows[k]
	r.n += n
	if use != "" && !slices.Contains(r.uses, use) {
		r.uses = append(r.uses, use)
	}
}

// The order of the bill, and what is bought beyond what is counted, in per cent
// (common practice: wire for the ends that are cut back and the piece that comes
// out short, terminals and seals for the crimp that is cut off again, tape and
// tube for overlaps; a part is bought once).
var waste = []struct {
	group   string
	percent float64
}{
	{"device", 0},
	{"wire", 10},
	{"fuse", 0},
	{"relay", 0},
	{"connector", 0},
	{"terminal", 10},
	{"seal", 10},
	{"cavity plug", 10},
	{"splice", 10},
	{"heat-shrink", 15},
	{"conduit", 10},
	{"tape", 15},
	{"label", 5},
}

func (b *Board) materialRows() (rows [][]string) {
	l := &bill{at: map[string]int{}}
	for _, it := range b.Design.Devices {
		l.add("device", it.Part.Name, 1, "pieces", it.Name)
	}
	for _, r := range b.reels() {
		l.add("wire", strings.Join(strings.Fields(r.first.Size+" "+r.colour+" "+r.cover), " "), r.lengthM, "m", "")
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
	b.joints(l)
	b.covers(l)
	l.add("label", "label", float64(len(b.labelRows())), "pieces", "")
	for _, w := range waste {
		for _, r := range l.rows {
			if r.group == w.group {
				rows = append(rows, r.row(w.percent))
			}
		}
	}
	return rows
}

func (r *billRow) row(percent float64) []string {
	buy := r.n * (1 + percent/100)
	count, take := strconv.FormatFloat(r.n, 'f', -1, 64), strconv.FormatFloat(math.Ceil(buy-1e-9), 'f', -1, 64)
	if r.unit == "m" {
		count, take = metres(r.n), strconv.FormatFloat(math.Ceil(buy*10-1e-9)/10, 'f', 1, 64)
	}
	return []string{r.group, r.item, count, r.unit, strconv.FormatFloat(percent, 'f', -1, 64), take, strings.Join(r.uses, ", ")}
}

// size is a step of a range that is bought: up to so much.
type size struct {
	upTo float64
	says string
}

// Ranges that are bought, smallest first (common practice).
var (
	// crimps are the conductors a terminal is made for, m².
	crimps = []size{{0.5e-6, "0.2 … 0.5 mm²"}, {1e-6, "0.75 … 1 mm²"}, {2.5e-6, "1.5 … 2.5 mm²"}, {6e-6, "4 … 6 mm²"}, {10e-6, "10 mm²"}, {16e-6, "16 mm²"}, {25e-6, "25 mm²"}, {35e-6, "35 mm²"}, {50e-6, "50 mm²"}, {70e-6, "70 mm²"}}
	// seals are the insulations a seal closes on, m.
	seals = []size{{1.6e-3, "1.2 … 1.6 mm"}, {2.2e-3, "1.6 … 2.2 mm"}, {3e-3, "2.2 … 3.0 mm"}, {3.7e-3, "3.0 … 3.7 mm"}, {5e-3, "3.7 … 5.0 mm"}}
	// tubes are the inner diameters of split conduit, m.
	tubes = []size{{4.5e-3, "4.5 mm"}, {7.5e-3, "7.5 mm"}, {8.5e-3, "8.5 mm"}, {10e-3, "10 mm"}, {13e-3, "13 mm"}, {17e-3, "17 mm"}, {23e-3, "23 mm"}, {29e-3, "29 mm"}, {37e-3, "37 mm"}, {48e-3, "48 mm"}}
	// shrinks are the inner diameters of heat-shrink before it shrinks to a third.
	shrinks = []size{{3e-3, "3 mm"}, {6e-3, "6 mm"}, {9e-3, "9 mm"}, {12e-3, "12 mm"}, {19e-3, "19 mm"}, {24e-3, "24 mm"}, {39e-3, "39 mm"}, {52e-3, "52 mm"}}
)

// pick is the smallest step that takes a value; beyond the last, the value itself.
func pick(steps []size, v float64, beyond string) string {
	for _, s := range steps {
		if v <= s.upTo*(1+1e-9) {
			return s.says
		}
	}
	return beyond
}

// terminals counts what is crimped on: a contact and a seal in a way of a plug,
// an eyelet on a bolt or a post, a contact of the box; and what closes the ways
// that stay free.
func (b *Board) terminals(l *bill) {
	ways := map[string]bool{}
	for _, c := range b.Connectors {
		for _, n := range c.Ways {
			ways[n] = true
			if len(b.wires[n]) == 0 {
				l.add("cavity plug", "cavity plug, a sealed connector's", 1, "pieces", c.ID())
			}
		}
	}
	sealed := map[string]bool{}
	for i := range b.Loom.Wires {
		w := &b.Loom.Wires[i]
		conductor := pick(crimps, w.Area.SI, w.Size)
		for _, e := range []loom.End{w.From, w.To} {
			switch {
			case strings.HasPrefix(e.Node, "splice "), b.Loom.OpenEnd(e.Node):
			case ways[e.Node]:
				l.add("terminal", "contact of a connector for "+conductor, 1, "pieces", "")
				if !sealed[e.Node] { // wires that share a way share its seal
					sealed[e.Node] = true
					l.add("seal", "wire seal for an insulation of "+pick(seals, w.Cable.OverallM.SI, fmt.Sprintf("%.1f mm", w.Cable.OverallM.SI*1e3)), 1, "pieces", "")
				}
			case w.Kind == loom.Post || w.Kind == loom.Strap || strings.HasPrefix(e.Node, "ground "):
				l.add("terminal", "eyelet for "+conductor, 1, "pieces", "")
			default:
				l.add("terminal", "contact of the fuse box for "+conductor, 1, "pieces", "")
			}
		}
	}
}

// Lengths of heat-shrink (common practice).
const (
	spliceShrinkM = 0.05 // over a splice, with adhesive
	eyeletShrinkM = 0.03 // over the barrel of an eyelet
	forkShrinkM   = 0.06 // where branches part
	screenShrinkM = 0.03 // over a screen that is cut back
)

// joints counts splices and the heat-shrink over them, over the eyelets of
// cables, and where branches part.
func (b *Board) joints(l *bill) {
	shrink := func(overM, longM float64, use string) {
		l.add("heat-shrink", "with adhesive, 3 : 1, of "+pick(shrinks, 1.2*overM, fmt.Sprintf("%.0f mm", 1200*overM)), longM, "m", use)
	}
	for _, s := range b.Loom.Splices {
		l.add("splice", fmt.Sprintf("splice of %d wires", len(b.wires[s.Node])), 1, "pieces", s.Name)
		var across []float64
		for _, i := range b.wires[s.Node] {
			across = append(across, b.Loom.Wires[i].Cable.OverallM.SI)
		}
		if d, err := harness.BundleM(across); err == nil {
			shrink(d, spliceShrinkM, s.Name)
		}
	}
	for i := range b.Loom.Tree.Groups {
		if g := &b.Loom.Tree.Groups[i]; g.Kind == "screened" {
			ends := 1.0 // the open one
			if g.Grounded == loom.AtBoth {
				ends = 0
			}
			shrink(g.DiameterM, ends*screenShrinkM, "screens")
		}
	}
	for _, i := range b.Loom.Tree.Apart {
		shrink(b.Loom.Wires[i].Cable.OverallM.SI, 2*eyeletShrinkM, "eyelets")
	}
	for i := range b.Loom.Tree.Places {
		p := &b.Loom.Tree.Places[i]
		for _, k := range p.Branches {
			if d := b.Loom.Tree.Branches[k].DiameterM; d > 0 && len(p.Branches) > 1 {
				shrink(d, forkShrinkM, "forks")
			}
		}
	}
}

const (
	tapeM    = 0.019 // width of cloth tape
	tapeStep = 0.5   // of its width from turn to turn
	bareK    = 353   // from 80 °C on the tape is the heat-resistant one
)

// covers counts the split conduit over every bundle and the tape under or over
// it: the length of a spiral that overlaps by half.
func (b *Board) covers(l *bill) {
	type cover struct {
		br        *loom.Branch
		diameterM float64
	}
	var order []cover
	for i := range b.Loom.Tree.Branches {
		br := &b.Loom.Tree.Branches[i]
		for _, s := range br.Strands {
			order = append(order, cover{br, s.DiameterM})
		}
	}
	slices.SortStableFunc(order, func(x, y cover) int { return cmp.Compare(x.diameterM, y.diameterM) })
	for _, c := range order {
		br := c.br
		l.add("conduit", "split conduit of "+pick(tubes, c.diameterM, fmt.Sprintf("%.0f mm", math.Ceil(c.diameterM*1e3)))+" inside", br.LengthM, "m", br.Name)
		kind := "cloth tape"
		if br.HotK != nil && br.HotK.SI >= bareK {
			kind = "cloth tape for 150 °C"
		}
		l.add("tape", kind+", 19 mm wide", math.Pi*c.diameterM*br.LengthM/(tapeM*tapeStep), "m", "")
	}
}
