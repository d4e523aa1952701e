package table

import (
	"bufio"
	"fmt"
	"io"
	"strconv"
	"strings"
)

// Meta is what a table file says about itself beside its numbers.
type Meta struct {
	Basis       string // what the numbers rest on, in a sentence
	Uncertainty string // how far they may be off, with units
	Notes       []Note // further "# key: text" lines, kept in order
	Digits      int    // significant digits of the cells when written; 0 keeps all
}

// Note is one further line "# key: text"; an empty key is a plain remark.
type Note struct{ Key, Text string }

// Write writes a grid in its own units:
//
//	# name: volumetric efficiency
//	# unit: 1
//	# basis: …
//	# uncertainty: …
//	rpm \ kPa,30,40
//	500,0.61,0.66
//
// A table over one variable has the header "V,value" and two columns; a single
// value has the header "-,value" and the row "-,0.95".
func Write(w io.Writer, g Grid, meta Meta) error {
	if err := g.Check(); err != nil {
		return err
	}
	if err := checkText(g, meta); err != nil {
		return err
	}
	b := bufio.NewWriter(w)
	fmt.Fprintf(b, "# name: %s\n# unit: %s\n# basis: %s\n# uncertainty: %s\n", g.Name, g.Unit, meta.Basis, meta.Uncertainty)
	if g.X.Name != "" {
		fmt.Fprintf(b, "# rows: %s\n", g.X.Name)
	}
	if g.Y.Name != "" {
		fmt.Fprintf(b, "# columns: %s\n", g.Y.Name)
	}
	for _, n := range meta.Notes {
		if n.Key != "" {
			fmt.Fprintf(b, "# %s: %s\n", n.Key, n.Text)
		} else {
			fmt.Fprintf(b, "# %s\n", n.Text)
		}
	}
	writeCells(b, g, meta.Digits)
	return b.Flush()
}

func writeCells(b *bufio.Writer, g Grid, digits int) {
	b.WriteString(headCell(g))
	if len(g.Y.At) == 0 {
		b.WriteString(",value")
	}
	for _, y := range g.Y.At {
		b.WriteString("," + number(y, 0))
	}
	b.WriteByte('\n')
	for i := range g.Rows() {
		if len(g.X.At) == 0 {
			b.WriteByte('-')
		} else {
			b.WriteString(number(g.X.At[i], 0))
		}
		for j := range g.Columns() {
			b.WriteString("," + number(g.Z[g.Cell(i, j)], digits))
		}
		b.WriteByte('\n')
	}
}

func headCell(g Grid) string {
	switch g.Dims() {
	case 0:
		return "-"
	case 1:
		return g.X.Unit
	}
	return g.X.Unit + ` \ ` + g.Y.Unit
}

// number prints plainly, in the fewest digits that read back the same, after
// rounding to the significant digits asked for.
func number(v float64, digits int) string {
	if digits > 0 {
		v, _ = strconv.ParseFloat(strconv.FormatFloat(v, 'e', digits-1, 64), 64)
	}
	if v == 0 {
		return "0"
	}
	s := strconv.FormatFloat(v, 'f', -1, 64)
	if len(s) > 17 {
		return strconv.FormatFloat(v, 'g', -1, 64)
	}
	return s
}

// checkText refuses text that would not read back as it was written.
func checkText(g Grid, meta Meta) error {
	for _, a := range []Axis{g.X, g.Y} {
		if len(a.At) > 0 && (a.Unit == "" || a.Unit == "-" || strings.ContainsAny(a.Unit, "\\,\"\n\r#") || strings.TrimSpace(a.Unit) != a.Unit) {
			return fmt.Errorf("table %q: axis %q has the unit %q, which can't stand in a header", g.Name, a.Name, a.Unit)
		}
	}
	text := []string{g.Name, g.Unit, g.X.Name, g.Y.Name, meta.Basis, meta.Uncertainty}
	for _, n := range meta.Notes {
		text = append(text, n.Key, n.Text)
	}
	for _, s := range text {
		if strings.ContainsAny(s, "\n\r") {
			return fmt.Errorf("table %q: the line %q has a line break within", g.Name, s)
		}
	}
	return nil
}
