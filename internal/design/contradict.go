package design

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"fettle/internal/diag"
	"fettle/internal/quantity"
)

// roundingFrac is how far a displacement on a badge may lie from bore and
// stroke: badges round to a tenth of a litre.
const roundingFrac = 0.03

// displacement holds a stated displacement against bore, stroke and cylinders.
func (d *Design) displacement() []diag.Diagnostic {
	e := &d.File.Engine
	if e.DisplacementM3 == nil || e.BoreM == nil || e.StrokeM == nil || e.Cylinders == 0 || e.BoreM.Assumed() || e.StrokeM.Assumed() {
		return nil
	}
	swept := math.Pi / 4 * e.BoreM.SI * e.BoreM.SI * e.StrokeM.SI * float64(e.Cylinders)
	if math.Abs(swept-e.DisplacementM3.SI) <= math.Max(roundingFrac*swept, 2*e.DisplacementM3.SdSI) {
		return nil
	}
	return []diag.Diagnostic{
		diag.Errorf(e.DisplacementM3.Pos, "displacement", "displacement %s disagrees with %d cylinders of bore %s and stroke %s, which make %s",
			e.DisplacementM3.Literal, e.Cylinders, e.BoreM.Literal, e.StrokeM.Literal, quantity.Format(swept, "L", 3)).
			WithRelated(e.BoreM.Pos, "the bore").WithRelated(e.StrokeM.Pos, "the stroke").
			WithHint("measure again; one of the three is another engine's"),
	}
}

// banks checks that bank 1 names cylinders of the engine, once each.
func (d *Design) banks() []diag.Diagnostic {
	e := &d.File.Engine
	seen := map[int]bool{}
	for i, c := range e.BankOne {
		pos := d.Place("engine", "bank 1", strconv.Itoa(i))
		switch {
		case c == 0 && !d.wholeNumber("engine", "bank 1", strconv.Itoa(i)):
			return nil // that it can't be read is said
		case c < 1 || c > e.Cylinders:
			return []diag.Diagnostic{diag.Errorf(pos, "bank", "bank 1 names cylinder %d; the engine has 1 to %d", c, e.Cylinders).
				WithRelated(d.Place("engine", "cylinders"), "the number of cylinders").WithHint("name the cylinders of the bank that holds cylinder 1")}
		case seen[c]:
			return []diag.Diagnostic{diag.Errorf(pos, "bank", "bank 1 names cylinder %d twice", c).WithHint("name every cylinder of the bank once")}
		}
		seen[c] = true
	}
	if len(e.BankOne) > 0 && (e.Layout == "" || e.Layout == "inline") && len(e.BankOne) != e.Cylinders {
		return []diag.Diagnostic{diag.Errorf(d.Place("engine", "bank 1"), "bank", "an inline engine has one bank; bank 1 names %d of %d cylinders", len(e.BankOne), e.Cylinders).
			WithHint("leave %q out, or state the layout", "bank 1")}
	}
	return nil
}

// wholeNumber reports whether a whole number is written at a path, or at its
// nearest written parent: a list of one may stand without brackets.
func (d *Design) wholeNumber(path ...string) bool {
	n := d.Tree.Nearest(path...)
	if n == nil {
		return false
	}
	_, err := strconv.Atoi(strings.TrimSpace(n.Text))
	return err == nil
}

// BankOf is the bank of a cylinder, 1 or 2.
func (d *Design) BankOf(cylinder int) int {
	e := &d.File.Engine
	if len(e.BankOne) == 0 || slices.Contains(e.BankOne, cylinder) {
		return 1
	}
	return 2
}

// Wheel is a trigger wheel: places for teeth, and how many are missing.
type Wheel struct{ Teeth, Missing int }

// ParseWheel reads 60-2, 36-1 or 4.
func ParseWheel(text string) (Wheel, bool) {
	a, b, gap := strings.Cut(text, "-")
	n, err := strconv.Atoi(strings.TrimSpace(a))
	if err != nil || n < 1 || n > 360 {
		return Wheel{}, false
	}
	if !gap {
		return Wheel{Teeth: n}, true
	}
	m, err := strconv.Atoi(strings.TrimSpace(b))
	if err != nil || m < 0 || m >= n {
		return Wheel{}, false
	}
	return Wheel{Teeth: n, Missing: m}, true
}

func (d *Design) wheels() []diag.Diagnostic {
	e := &d.File.Engine
	var ds []diag.Diagnostic
	bad := func(pos diag.Pos, text string) {
		if _, ok := ParseWheel(text); text != "" && !ok {
			ds = append(ds, diag.Errorf(pos, "wheel", "%q is no trigger wheel", text).WithHint("write its tooth places and the missing ones, as 60-2, or windows alone, as 4"))
		}
	}
	bad(d.Place("engine", "crank wheel"), e.CrankWheel)
	for i, c := range e.Cams {
		bad(d.Place("engine", "cams", strconv.Itoa(i), "wheel"), c.Wheel)
	}
	return ds
}
