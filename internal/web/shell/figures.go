package shell

import (
	"math"

	"fettle/internal/diag"
	"fettle/internal/drawing"
	"fettle/internal/figure"
	"fettle/internal/quantity"
)

// Fig is a finished stretch of text. With an ID it is a figure and opens to its
// working; without one it is plain words.
type Fig struct {
	ID, Text string
	Assumed  bool // stands in brackets
	Bad      bool // wrong now
}

// Href is the address of the figure's working.
func (f Fig) Href() string { return WhyHref(f.ID) }

// WhyHref is the address of a figure's working.
func WhyHref(id string) string { return "/why/" + drawing.PathOf(id) }

// Shown is the text as it stands on paper and in drawings: in brackets when it
// is assumed.
func (f Fig) Shown() string {
	if f.Assumed {
		return "(" + f.Text + ")"
	}
	return f.Text
}

// Label is the figure on a drawing.
func (f Fig) Label() drawing.Label {
	return drawing.Label{Text: f.Shown(), Ref: f.ID, Bad: f.Bad}
}

// Figures looks figures up by their ID, so that nothing is shown that has no
// working. A nil ledger has none.
type Figures struct{ Ledger *figure.Ledger }

// Of is a figure with its unit; ok is false when the ledger does not hold it.
func (f Figures) Of(id figure.ID) (fig Fig, ok bool) {
	g, ok := f.Ledger.Why(id)
	if !ok {
		return Fig{}, false
	}
	return Fig{ID: string(id), Text: quantity.Format(g.SI, g.Unit, 0), Assumed: g.Assumed()}, true
}

// In is a figure without its unit, for a column that has the unit in its head
// and whose figures stand under one another.
func (f Figures) In(id figure.ID, unit string, decimals int) (fig Fig, ok bool) {
	g, ok := f.Ledger.Why(id)
	if !ok {
		return Fig{}, false
	}
	return Fig{ID: string(id), Text: quantity.NumberTo(g.SI, unit, decimals), Assumed: g.Assumed()}, true
}

// Amount is In without the sign: what is lost or flows, whichever way the two
// ends are named.
func (f Figures) Amount(id figure.ID, unit string, decimals int) (fig Fig, ok bool) {
	g, ok := f.Ledger.Why(id)
	if !ok {
		return Fig{}, false
	}
	return Fig{ID: string(id), Text: quantity.NumberTo(math.Abs(g.SI), unit, decimals), Assumed: g.Assumed()}, true
}

// Phrase makes the spans of a message: numbers that know their figure open.
func (f Figures) Phrase(p diag.Phrase) []Fig {
	out := make([]Fig, 0, len(p))
	for _, s := range p {
		g := Fig{Text: s.Text}
		if w, ok := f.Ledger.Why(figure.ID(s.Ref)); ok {
			g.ID, g.Assumed = s.Ref, w.Assumed()
		}
		out = append(out, g)
	}
	return out
}
