package mapsheet

import (
	"fmt"
	"math"
	"net/url"
	"strconv"
	"strings"

	"fettle/internal/drawing"
	"fettle/internal/table"
	"fettle/internal/web/shell"
)

// The ways to look at a table.
const (
	showValue      = "value"
	showSpread     = "spread"
	showDifference = "difference"
)

// AskedView reads how a table is looked at from an address.
func AskedView(q url.Values) shell.MapView {
	v := shell.MapView{Show: q.Get("show"), Against: q.Get("against"), Row: -1, Col: -1}
	if v.Show != showSpread && v.Show != showDifference {
		v.Show = showValue
	}
	if v.Against == "" {
		v.Against = "computed"
	}
	if r, c, ok := strings.Cut(q.Get("at"), "-"); ok {
		row, err1 := strconv.Atoi(r)
		col, err2 := strconv.Atoi(c)
		if err1 == nil && err2 == nil {
			v.Row, v.Col = row, col
		}
	}
	return v
}

// shows lists the ways to look at a table.
func (b *Body) shows(a shell.Ask, m shell.MapFile) {
	link := func(name, show string) {
		q := url.Values{"map": {m.Name}, "show": {show}}
		b.Shows = append(b.Shows, Tab{Name: name, Href: "/maps?" + q.Encode(), Current: show == a.MapView.Show})
	}
	link("value", showValue)
	if m.Spread != nil {
		link("spread", showSpread)
	}
	link("difference", showDifference)
	if a.MapView.Show != showDifference {
		return
	}
	b.Against = append(b.Against, Against{"computed", "the table as it is computed now", a.MapView.Against == "computed"})
	for _, r := range m.Revisions {
		n := strconv.Itoa(r.N)
		b.Against = append(b.Against, Against{n, fmt.Sprintf("revision %d, %s", r.N, r.By), a.MapView.Against == n})
	}
}

// seen is what is shown of a table.
type seen struct {
	show      string
	grid      *table.Grid
	low, high float64
}

// seen chooses what is shown; what can't be shown falls back to the values, and
// says why.
func (b *Body) seen(a shell.Ask, m shell.MapFile) seen {
	unit := ""
	if m.Grid.Unit != "" && m.Grid.Unit != "1" {
		unit = ", " + m.Grid.Unit
	}
	switch {
	case a.MapView.Show == showSpread && m.Spread != nil:
		b.What = "One standard deviation of the computed cells" + unit
		_, high := extremes(m.Spread)
		return seen{showSpread, m.Spread, 0, niceEnd(high)}
	case a.MapView.Show == showDifference && m.Against != nil:
		b.What = "This table less the other" + unit + "; a filled square goes up, a hollow one down, its area is the amount"
		low, high := extremes(m.Against)
		if low == 0 && high == 0 {
			b.What = "No cell differs"
		}
		end := niceEnd(math.Max(math.Abs(low), math.Abs(high)))
		return seen{showDifference, m.Against, -end, end}
	case a.MapView.Show == showDifference:
		b.NoView = m.NoView
	}
	low, high := span(m.Name, &m.Grid)
	return seen{showValue, &m.Grid, low, high}
}

// squareSteps is how many sizes of square there are, by the side.
const squareSteps = 8

// class is how a cell is shaded; a difference is a square, filled up, hollow down.
func (v seen) class(z float64) string {
	if v.show != showDifference {
		return drawing.ShadeClass((z - v.low) / (v.high - v.low))
	}
	k := int(math.Round(squareSteps * math.Sqrt(math.Abs(z)/v.high)))
	switch {
	case k == 0:
		return "sq"
	case z > 0:
		return fmt.Sprintf("sq up k%d", k)
	}
	return fmt.Sprintf("sq down k%d", k)
}

// text is a cell. A value that rests on physics alone stands in brackets; a
// difference carries its sign; no difference is empty.
func (v seen) text(z float64, digits int, byHand bool) string {
	text := signed(strconv.FormatFloat(z, 'f', digits, 64))
	switch {
	case v.show == showDifference && strings.Trim(text, "−0.") == "":
		return ""
	case v.show == showDifference && z > 0:
		return "+" + text
	case v.show == showValue && !byHand:
		return "(" + text + ")"
	}
	return text
}

// signed writes the minus as it is printed.
func signed(s string) string { return strings.ReplaceAll(s, "-", "−") }

func extremes(g *table.Grid) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, z := range g.Z {
		low, high = min(low, z), max(high, z)
	}
	return low, high
}

// niceEnd is the end of a scale that holds a value: 1, 2 or 5 times a power of ten.
func niceEnd(v float64) float64 {
	if !(v > 0) {
		return 1
	}
	p := math.Pow(10, math.Floor(math.Log10(v)))
	for _, k := range []float64{1, 2, 5} {
		if v <= k*p*(1+1e-9) {
			return k * p
		}
	}
	return 10 * p
}

// Effect says what a change does to a block of a table, before it is made.
func Effect(name string, from, to *table.Grid, b table.Block) string {
	low, high := span(name, from)
	digits := decimals(low, high)
	n, moved, most := 0, 0, 0.0
	was, is := [2]float64{math.Inf(1), math.Inf(-1)}, [2]float64{math.Inf(1), math.Inf(-1)}
	for r := b.Row0; r <= b.Row1; r++ {
		for c := b.Col0; c <= b.Col1; c++ {
			i := from.Cell(r, c)
			n++
			if from.Z[i] != to.Z[i] {
				moved++
			}
			if d := to.Z[i] - from.Z[i]; math.Abs(d) > math.Abs(most) {
				most = d
			}
			was[0], was[1] = min(was[0], from.Z[i]), max(was[1], from.Z[i])
			is[0], is[1] = min(is[0], to.Z[i]), max(is[1], to.Z[i])
		}
	}
	text := func(v float64) string {
		return signed(strconv.FormatFloat(v, 'f', digits, 64))
	}
	ends := func(e [2]float64) string {
		if text(e[0]) == text(e[1]) {
			return text(e[0])
		}
		return text(e[0]) + " … " + text(e[1])
	}
	sign := ""
	if most > 0 {
		sign = "+"
	}
	return fmt.Sprintf("%d of %d cells would go from %s to %s, the most by %s%s.", moved, n, ends(was), ends(is), sign, text(most)) + supported(from, to, b)
}

// supported says how many cells leave the band that their spread supports.
func supported(from, to *table.Grid, b table.Block) string {
	if from.Spread == nil {
		return ""
	}
	n := 0
	for r := b.Row0; r <= b.Row1; r++ {
		for c := b.Col0; c <= b.Col1; c++ {
			i := from.Cell(r, c)
			if math.Abs(to.Z[i]-from.Z[i]) > 2*from.Spread[i] {
				n++
			}
		}
	}
	if n == 0 {
		return ""
	}
	return fmt.Sprintf(" %d of them go further than twice the spread of the estimate.", n)
}
