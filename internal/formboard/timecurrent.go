package formboard

import (
	"fmt"
	"math"
	"strconv"

	"fettle/internal/drawing"
	"fettle/internal/loom"
	"fettle/internal/vehicle"
)

// The span of a time–current chart, and how many currents each curve is drawn
// through.
const (
	chartLeastS = 1e-3
	chartMostS  = 1e4
	chartPoints = 80
)

// Weakest is the wire behind a fuse that is protected with the least margin; ok
// is false when the fuse guards none.
func (b *Board) Weakest(fuse string) (w *loom.Wire, ok bool) {
	for i := range b.Loom.Wires {
		v := &b.Loom.Wires[i]
		if v.Guard.Fuse != fuse || v.Guard.Declared || !(v.Guard.ShortA > v.Guard.RatingA) {
			continue
		}
		if w == nil || v.Guard.MarginRatio < w.Guard.MarginRatio {
			w = v
		}
	}
	return w, w != nil
}

// TimeCurrent is the chart of a fuse at its slowest against what its wire stands,
// up to the bolted short; hatched is what the wire does not stand.
func (b *Board) TimeCurrent(w *loom.Wire, name string, width drawing.Px) drawing.Plot {
	g := &w.Guard
	p := drawing.Plot{
		Name: name, Title: fmt.Sprintf("Fuse %s against wire %d over time and current", g.Fuse, w.Number), Width: width,
		X: drawing.Axis{Name: "current", Unit: "A", Log: true}, Y: drawing.Axis{Name: "time", Unit: "s", Log: true, From: chartLeastS, To: chartMostS},
		Empty: "No fuse has to open for this wire.",
	}
	if g.Fuse == "" || !(g.ShortA > g.RatingA) {
		return p
	}
	if width < 400 { // the decades alone, every second one
		for e := -2; e <= 4; e += 2 {
			at := math.Pow10(e)
			p.Y.Ticks = append(p.Y.Ticks, drawing.Tick{At: drawing.Number(at), Text: strconv.FormatFloat(at, 'f', -1, 64)})
		}
	}
	p.X.From, p.X.To = drawing.Number(g.RatingA*0.8), drawing.Number(g.ShortA*1.25)
	opens := drawing.Curve{Label: drawing.Label{Text: "fuse " + g.Fuse + " at its slowest", Ref: b.ratingID(g.Fuse)}, Weight: drawing.Picked, Bad: !g.Holds}
	stands := drawing.Curve{Label: drawing.Label{Text: fmt.Sprintf("wire %d stands", w.Number), Ref: string(w.Area.ID)}}
	barred := drawing.Region{Side: drawing.Above}
	for k := range chartPoints {
		a := g.RatingA * math.Pow(g.ShortA/g.RatingA, float64(k)/(chartPoints-1))
		fuseS, wireS := g.Against(a)
		opens.X, opens.Y = append(opens.X, drawing.Number(a)), append(opens.Y, onChart(fuseS))
		stands.X, stands.Y = append(stands.X, drawing.Number(a)), append(stands.Y, onChart(wireS))
		if y := onChart(wireS); !math.IsNaN(float64(y)) {
			barred.X, barred.Y = append(barred.X, drawing.Number(a)), append(barred.Y, y)
		}
	}
	p.Curves = []drawing.Curve{stands, opens}
	if len(barred.X) > 1 {
		p.Barred = []drawing.Region{barred}
	}
	p.Limits = []drawing.Limit{{Label: drawing.Label{Text: "bolted short", Ref: b.shortRef(w)}, At: drawing.Number(g.ShortA), OfX: true}}
	return p
}

func onChart(s float64) drawing.Number {
	if !(s >= chartLeastS && s <= chartMostS) {
		return drawing.Number(math.NaN())
	}
	return drawing.Number(s)
}

func (b *Board) ratingID(fuse string) string {
	for i := range b.Loom.Fuses {
		if b.Loom.Fuses[i].Name == fuse {
			return string(b.Loom.Fuses[i].RatingA.ID)
		}
	}
	return ""
}

// shortRef is the figure of the bolted short, which only a loop that nothing
// else limits has.
func (b *Board) shortRef(w *loom.Wire) string {
	if w.Guard.LimitA != 0 {
		return ""
	}
	return string(vehicle.WireFigureID(w, "ShortA"))
}
