package plate

import (
	"fmt"
	"math"
	"strconv"

	"fettle/internal/design"
	"fettle/internal/drawing"
	"fettle/internal/figure"
)

// turns are the degrees of two turns of the crankshaft, overlap the place of the
// top dead centre of gas exchange of cylinder 1 among them.
const (
	turns   = 720
	overlap = 360
)

// Trigger draws what wheels and cams do over two turns.
func Trigger(d *design.Design, name string, width drawing.Px) *drawing.Drawing {
	e := &d.File.Engine
	g := drawing.Trigger{Name: name, Title: "Two turns of the crankshaft: top dead centres, wheels and the valves of cylinder 1", Width: width}
	g.Lanes = append(g.Lanes, deadCentres(d))
	if w, ok := design.ParseWheel(e.CrankWheel); ok && e.CrankWheel != "" {
		g.Lanes = append(g.Lanes, drawing.Lane{Name: drawing.Label{Text: fmt.Sprintf("crank wheel, %s", wheelWords(w))}, Spans: teeth(w, turns/2)})
	}
	for _, c := range e.Cams {
		g.Lanes = append(g.Lanes, camLanes(c)...)
	}
	g.Foot = firedFoot(d) + " Where the wheels' gaps and windows stand to top dead centre the file does not say: a timing light shows it at bring-up. Windows are drawn half as wide as their spacing. Hatched: what a phaser sweeps over its travel."
	return g.Draw()
}

// deadCentres are the firing top dead centres.
func deadCentres(d *design.Design) drawing.Lane {
	l := drawing.Lane{Name: drawing.Label{Text: "firing top dead centre of cylinder"}}
	after, uneven := secondBank(d)
	for i, c := range d.Firing {
		at := drawing.Number(i) * turns / drawing.Number(len(d.Firing))
		if uneven && i%2 == 1 {
			at = drawing.Number(i-1)*turns/drawing.Number(len(d.Firing)) + after
		}
		l.Marks = append(l.Marks, drawing.AngleMark{At: at, Text: strconv.Itoa(c)})
	}
	return l
}

// secondBank is by how many degrees of the crankshaft a cylinder of the other bank
// fires after its neighbour, where an engine fires unevenly: two rods on a crank
// pin reach their tops the angle between the banks apart, and each bank by itself
// fires evenly, every 1440°/n. It is not known unless the banks fire in turn.
func secondBank(d *design.Design) (after drawing.Number, ok bool) {
	e := &d.File.Engine
	n := len(d.Firing)
	if e.Fires != unevenly || e.BankAngleRad == nil || n == 0 || n%2 != 0 {
		return 0, false
	}
	for i, c := range d.Firing {
		if d.BankOf(c) == d.BankOf(d.Firing[(i+1)%n]) {
			return 0, false
		}
	}
	after = drawing.Number(math.Mod(float64(degrees(e.BankAngleRad)), 2*turns/float64(n)))
	return after, after > 0
}

const unevenly = "unevenly"

// firedFoot says how the firings are drawn.
func firedFoot(d *design.Design) string {
	after, ok := secondBank(d)
	switch {
	case ok:
		return fmt.Sprintf("The banks fire %.0f° and %.0f° apart in turn, as two rods on a crank pin do; which of the two follows cylinder 1 the file does not say.", float64(after), 2*turns/float64(len(d.Firing))-float64(after))
	case d.File.Engine.Fires == unevenly:
		return "The engine fires unevenly, at intervals that the file does not say; they are drawn even."
	}
	return "Firings are drawn at even intervals."
}

func wheelWords(w design.Wheel) string {
	if w.Missing == 0 {
		if w.Teeth == 1 {
			return "1 window"
		}
		return fmt.Sprintf("%d windows", w.Teeth)
	}
	return fmt.Sprintf("%d places less %d", w.Teeth, w.Missing)
}

// teeth are those of a wheel that turns once in some degrees of the crankshaft.
func teeth(w design.Wheel, once drawing.Number) (out []drawing.Span) {
	pitch := once / drawing.Number(w.Teeth)
	for from := drawing.Number(0); from < turns-1e-6; from += once {
		for i := range w.Teeth - w.Missing {
			at := from + drawing.Number(i)*pitch
			out = append(out, drawing.Span{From: at, To: at + pitch/2})
		}
	}
	return out
}

// camLanes are a camshaft's wheel and the valves of cylinder 1 that it moves.
func camLanes(c design.Cam) (out []drawing.Lane) {
	name := c.Moves + " cam"
	if c.Moves == "both" {
		name = "cam"
	}
	if c.Bank > 0 {
		name += fmt.Sprintf(" of bank %d", c.Bank)
	}
	swept := degrees(c.TravelRad)
	if c.Moves != "exhaust" { // at rest it is latest, and moves earlier
		swept = -swept
	}
	if w, ok := design.ParseWheel(c.Wheel); ok && c.Wheel != "" {
		out = append(out, drawing.Lane{Name: drawing.Label{Text: name + "'s wheel, " + wheelWords(w)}, Spans: teeth(w, turns), Swept: swept})
	}
	if c.Bank > 1 || c.DurationRad == nil || c.CentreRad == nil {
		return out
	}
	half, centre := degrees(c.DurationRad)/2, degrees(c.CentreRad)
	for _, k := range []struct {
		valve string
		at    drawing.Number
	}{{"intake", overlap + centre}, {"exhaust", overlap - centre}} {
		if c.Moves == k.valve || c.Moves == "both" {
			out = append(out, drawing.Lane{Name: drawing.Label{Text: k.valve + " valves of cylinder 1 open"}, Spans: []drawing.Span{{From: k.at - half, To: k.at + half}}, Swept: swept})
		}
	}
	return out
}

// degrees is an angle as the diagram counts, 0 when none is stated.
func degrees(in *figure.Input) drawing.Number {
	if in == nil {
		return 0
	}
	return drawing.Number(in.SI * 180 / math.Pi)
}
