package report

import (
	"strconv"
	"strings"

	"fettle/internal/calibrate"
	"fettle/internal/paper"
	"fettle/internal/table"
)

// scale is how a table's cells are printed and shaded: the ends are fixed, so
// that two books can be laid side by side.
type scale struct {
	low, high float64
	decimals  int
}

var scales = map[string]scale{
	calibrate.VE:       {0.4, 1.1, 2},
	calibrate.Spark:    {-5, 45, 1},
	calibrate.Lambda:   {0.8, 1.1, 2},
	calibrate.Dwell:    {0, 8, 2},
	calibrate.DeadTime: {0, 4, 2},

	calibrate.IntakeCam: {0, 60, 1}, calibrate.ExhaustCam: {0, 60, 1},

	calibrate.ThrottleMap: {0, 100, 0}, calibrate.SafeFuel: {1, 1.35, 2}, calibrate.BoostTarget: {80, 300, 0},
	calibrate.CrankFuel: {1, 8, 2}, calibrate.PrimePulse: {0, 100, 1}, calibrate.AfterStart: {1, 2, 2}, calibrate.AfterStartS: {0, 25, 1},
	calibrate.WarmUp: {1, 1.5, 2}, calibrate.FilmShare: {0, 1, 2}, calibrate.FilmTime: {0, 4, 2}, calibrate.IdleAir: {0, 20, 2},
	calibrate.IdleSpeed: {500, 1500, 0}, calibrate.IdleSpark: {-8, 8, 1}, calibrate.SpeedLimit: {0, 8000, 0}, calibrate.Resume: {0, 2500, 0},
	calibrate.SparkHot: {-6, 0, 1}, calibrate.SparkAir: {-10, 0, 1}, calibrate.LoadCap: {0, 300, 0}, calibrate.InjectionEnd: {0, 720, 0},
	calibrate.InjectorFlow: {0, 20, 2}, calibrate.DeadPressure: {0.8, 1.5, 2}, calibrate.ShortPulse: {-1, 1, 2},
}

func (b *book) tables() {
	d := b.doc
	d.Sheet("Tables")
	d.Verdict(paper.Run{Text: "Starting tables"})
	d.Lede("They are there to fire the engine and not to hurt it, and to be corrected by what is measured. Every cell rests on physics alone and stands in brackets.")
	if len(b.stops) > 0 {
		d.Draw(b.stopBox("tables-stops"), "")
	}
	if b.NoMaps != "" {
		d.Say(paper.Run{Text: "Not every table could be made: " + sentence(b.NoMaps), Bold: true})
	}
	if len(b.Maps) == 0 {
		d.Para("No table was made for this vehicle.")
	}
	for i := range b.Maps {
		m := &b.Maps[i]
		if m.Grid.Dims() == 2 {
			d.Heading(headOf(m))
			d.Shaded(shaded(m))
		}
	}
	b.againstVoltage()
	b.settings()
	b.bases()
}

// abreast is how many tables over one variable stand side by side, with their
// spreads.
const abreast = 3

// againstVoltage sets the tables over one variable side by side when they share
// their points, else one below the other.
func (b *book) againstVoltage() {
	var lines []*calibrate.Map
	for i := range b.Maps {
		if b.Maps[i].Grid.Dims() == 1 {
			lines = append(lines, &b.Maps[i])
		}
	}
	for len(lines) > 0 {
		n := 1
		for n < len(lines) && n < abreast && lines[n].Grid.X.Equal(lines[0].Grid.X) && lines[n].Grid.X.Unit == lines[0].Grid.X.Unit {
			n++
		}
		var titles []string
		for _, m := range lines[:n] {
			titles = append(titles, strings.ToLower(m.Title[:1])+m.Title[1:])
		}
		b.doc.Heading(capital(strings.Join(titles, " and ")))
		b.doc.Table(line(lines[:n]))
		lines = lines[n:]
	}
}

// bases says of every table what it rests on and how far it may be off.
func (b *book) bases() {
	if len(b.Maps) == 0 {
		return
	}
	b.doc.Heading("What they rest on")
	for i := range b.Maps {
		m := &b.Maps[i]
		b.doc.Say(paper.Run{Text: m.Title + ". ", Bold: true}, paper.Run{Text: noteOf(m)})
	}
}

func headOf(m *calibrate.Map) string {
	switch m.Name {
	case calibrate.VE:
		return m.Title + ", fraction of the manifold's density"
	case calibrate.Spark:
		return m.Title + ", ° before top dead centre"
	}
	if u := m.Unit(); u != "" {
		return m.Title + ", " + u
	}
	return m.Title
}

// scaleOf is the table's scale; one that is not known is shaded from its least
// to its greatest cell.
func scaleOf(m *calibrate.Map) scale {
	if s, ok := scales[m.Name]; ok {
		return s
	}
	s := scale{m.Grid.Z[0], m.Grid.Z[0], 2}
	for _, z := range m.Grid.Z {
		s.low, s.high = min(s.low, z), max(s.high, z)
	}
	return s
}

func shaded(m *calibrate.Map) paper.Shaded {
	s := scaleOf(m)
	out := paper.Shaded{
		Name: m.Name, Corner: m.Grid.X.Unit + ` \ ` + m.Grid.Y.Unit,
		LoLabel: withUnit(s.low, m), HiLabel: withUnit(s.high, m),
	}
	for _, y := range m.Grid.Y.At {
		out.ColHeads = append(out.ColHeads, plain(y))
	}
	for i, x := range m.Grid.X.At {
		out.RowHeads = append(out.RowHeads, plain(x))
		row := make([]paper.ShadedCell, m.Grid.Columns())
		for j := range row {
			z := m.Grid.Z[m.Grid.Cell(i, j)]
			row[j] = paper.ShadedCell{Text: "(" + fixed(z, s.decimals) + ")", LevelFrac: (z - s.low) / (s.high - s.low)}
		}
		out.Cells = append(out.Cells, row)
	}
	return out
}

// line sets tables over the same points with the spread of every cell.
func line(ms []*calibrate.Map) paper.Table {
	x := ms[0].Grid.X
	t := paper.Table{Cols: []paper.Col{{Head: acrossOf(x), Right: true}}}
	for _, m := range ms {
		unit := m.Unit()
		if unit != "" {
			unit = ", " + unit
		}
		t.Cols = append(t.Cols, paper.Col{Head: m.Title + unit, Right: true}, paper.Col{Head: "within ±" + unit, Right: true})
	}
	for i, v := range x.At {
		row := paper.Row(plain(v))
		for _, m := range ms {
			d := scaleOf(m).decimals
			spread := "not known"
			if m.Grid.Spread != nil {
				spread = fixed(2*m.Grid.Spread[i], d)
			}
			row = append(row, paper.Row("("+fixed(m.Grid.Z[i], d)+")", spread)...)
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// acrossOf heads the points that tables stand over.
func acrossOf(x table.Axis) string {
	if x.Unit == "V" {
		return "Across the device, V"
	}
	return capital(x.Name) + ", " + x.Unit
}

// settings lists the single values that stand beside the tables.
func (b *book) settings() {
	if len(b.Settings) == 0 {
		return
	}
	b.doc.Heading("Settings")
	b.doc.Para(calibrate.FirstFireSays(b.Settings) + ".")
	t := paper.Table{Cols: []paper.Col{{Head: "Setting"}, {Head: "Value", Right: true}, {Head: "First fire"}, {Head: "Rests on"}}}
	for _, s := range b.Settings {
		value, unit, sd := s.Value()
		if sd != "" {
			value += " ± " + sd
		}
		if unit != "" {
			value += "\u00a0" + unit
		}
		t.Rows = append(t.Rows, paper.Row(capital(s.Group)+": "+s.Name, value, s.GateSays(), s.Why))
	}
	b.doc.Table(t)
	b.doc.Heading("What is held on the safe side")
	for _, r := range calibrate.SafeSide {
		b.doc.Say(paper.Run{Text: capital(r.Name) + ". ", Bold: true}, paper.Run{Text: sentence(r.Why)})
	}
}

func noteOf(m *calibrate.Map) string {
	s := sentence(m.Basis) + " " + sentence(m.Uncertainty)
	for _, n := range m.Meta.Notes {
		if n.Key == "note" {
			s += " " + sentence(n.Text)
		}
	}
	return s
}

// plain prints an axis point, whose unit stands in the head.
func plain(v float64) string { return fixed(v, -1) }

// fixed prints a number with so many decimals, or as few as it needs, with the
// signs of print.
func fixed(v float64, decimals int) string {
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if s[0] == '-' {
		s = "−" + s[1:]
	}
	return s
}

func withUnit(v float64, m *calibrate.Map) string {
	switch u := m.Unit(); u {
	case "":
		return plain(v)
	case "°":
		return plain(v) + u
	default:
		return plain(v) + "\u00a0" + u
	}
}
