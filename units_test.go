package fettle_test

import (
	"fmt"
	"go/ast"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// policy: do not edit to fix a build.
func TestNumbersEndInTheirUnit(t *testing.T) {
	misses, unused := checkUnits(readTree(t), bare)
	report(t, "an exported float64 ends in its unit (LengthM, DropV, FlowKgPerS, ShareFrac, GearRatio): field, parameter, named result, or the name of the function", misses)
	report(t, "allowances in units_test.go that nothing needs any more: take them out", unused)
}

// unitWords are the units a name may end in, alone, run together (PaS, KgM2) or
// with Per between them (KgPerM3, JPerKgK, PerK). All are coherent SI; the last
// two lines are what has no unit.
var unitWords = []string{
	"M", "M2", "M3", "M4", "Kg", "Kg2", "S", "S2", "A", "A2", "K", "K2", "K3", "K4", "Mol",
	"V", "V2", "Ohm", "W", "J", "Pa", "Pa2", "N", "Nm", "Hz", "H", "Henry", "Farad", "As", "Coulomb", "Weber", "Siemens",
	"Rad", "Rad2",
	"Ratio", "Frac", "Count",
	"SI", "SdSI", // the unit stands beside it
}

// drawn packages measure paper, in the units said in their package comment;
// quantity is the border where units end.
var drawn = []string{"drawing", "paper", "typeface", "quantity"}

// bare lists what may stay without a unit, each with its reason; "package.*" is
// all of a package. The list is short, and an entry that nothing needs is a miss.
var bare = map[string]string{
	"table.*":                 "a grid holds any quantity: the unit stands at the axis and at the grid",
	"figure.Ended.Residual":   "relative to the size of what is iterated",
	"study.*":                 "a margin holds any quantity: its unit stands beside it",
	"vehicle.Margin.Value":    "the unit stands beside it",
	"vehicle.Margin.Limit":    "the unit stands beside it",
	"vehicle.Margin.Left()":   "the unit is that of the margin",
	"figure.Draw.Of()":        "the unit is that of the input",
	"figure.Ledger.Put()":     "hands back the value it was given",
	"figure.Ledger.PutLoop()": "hands back the value it was given",
}

// unitEnd finds a unit at the end of a name, where a word begins: after a small
// letter or digit, or, for units of three letters and more, after an
// abbreviation (VEFrac, RONCount). In a product K comes last and M is followed by
// K at most, so that KW, KPa, MPa and MS are not taken for one. A resistance may
// carry the 20 °C at which cable standards state it: OhmPerM20.
var unitEnd = func() *regexp.Regexp {
	words := slices.Clone(unitWords)
	slices.SortFunc(words, func(a, b string) int { return len(b) - len(a) })
	var long, inner []string
	for _, w := range words {
		if len(w) >= 3 {
			long = append(long, w)
		}
		if w != "K" && w != "M" {
			inner = append(inner, w)
		}
	}
	in := "(?:" + strings.Join(inner, "|") + ")"
	product := "(?:" + in + "*(?:" + in + "|MK|M|K))"
	per := "(?:Per" + product + ")"
	return regexp.MustCompile("(?:^|[a-z0-9_])(?:" + product + per + "*|" + per + "+)$" +
		"|[A-Z](?:(?:" + strings.Join(long, "|") + ")" + per + "*|" + per + "+)$" +
		"|(?:^|[a-z0-9_])Ohm(?:PerM)?20$")
}()

// endsInUnit reports whether a name ends in a unit that begins a word: LengthM
// and lengthM do, RPM and Item don't.
func endsInUnit(name string) bool {
	name = strings.ToUpper(name[:1]) + name[1:]
	return unitEnd.MatchString(name) || slices.Contains(unitWords, name) || name == "Si"
}

// checkUnits lists the numbers without a unit, and the allowances not needed.
func checkUnits(tr *tree, allowed map[string]string) (misses, unused []string) {
	needed := map[string]bool{}
	for _, s := range tr.files {
		if s.room == "cmd" || slices.Contains(drawn, s.room) {
			continue
		}
		seek := &numbers{tr: tr, allowed: allowed, needed: needed, pkg: s.file.Name.Name}
		for _, d := range s.file.Decls {
			if g, ok := d.(*ast.GenDecl); ok {
				seek.types(g)
			}
		}
		eachFunc(s, func(name string, d *ast.FuncDecl) { seek.signature(name, d.Type) })
		misses = append(misses, seek.misses...)
	}
	return misses, unneeded(allowed, needed)
}

// numbers collects the misses of one file.
type numbers struct {
	tr      *tree
	allowed map[string]string
	needed  map[string]bool
	pkg     string
	misses  []string
}

func (n *numbers) miss(at ast.Node, name, format string, args ...any) {
	for _, key := range []string{n.pkg + "." + name, n.pkg + ".*"} {
		if n.allowed[key] != "" {
			n.needed[key] = true
			return
		}
	}
	n.misses = append(n.misses, n.tr.miss(at.Pos(), "%s.%s: %s", n.pkg, name, fmt.Sprintf(format, args...)))
}

func (n *numbers) types(g *ast.GenDecl) {
	for _, spec := range g.Specs {
		ts, ok := spec.(*ast.TypeSpec)
		if !ok || !ts.Name.IsExported() {
			continue
		}
		switch t := ts.Type.(type) {
		case *ast.StructType:
			n.fields(ts.Name.Name, t)
		case *ast.FuncType:
			n.signature(ts.Name.Name, t)
		case *ast.InterfaceType:
			for _, m := range t.Methods.List {
				if f, ok := m.Type.(*ast.FuncType); ok && len(m.Names) == 1 && m.Names[0].IsExported() {
					n.signature(ts.Name.Name+"."+m.Names[0].Name, f)
				}
			}
		}
	}
}

func (n *numbers) fields(owner string, t *ast.StructType) {
	for _, f := range t.Fields.List {
		for _, id := range f.Names {
			if !id.IsExported() {
				continue
			}
			if inner, ok := f.Type.(*ast.StructType); ok {
				n.fields(owner+"."+id.Name, inner)
			}
			if isFloat(f.Type) && !endsInUnit(id.Name) {
				n.miss(id, owner+"."+id.Name, "the field has no unit")
			}
		}
	}
}

func (n *numbers) signature(name string, t *ast.FuncType) {
	for _, p := range t.Params.List {
		if !isFloat(p.Type) {
			continue
		}
		if len(p.Names) == 0 {
			n.miss(p, name+"(_)", "a parameter has no name")
		}
		for _, id := range p.Names {
			if id.Name != "_" && !endsInUnit(id.Name) {
				n.miss(id, name+"("+id.Name+")", "the parameter has no unit")
			}
		}
	}
	if t.Results == nil {
		return
	}
	unnamed := 0
	for _, r := range t.Results.List {
		if !isFloat(r.Type) {
			continue
		}
		for _, id := range r.Names {
			// one named result may lean on the name of the function
			if !endsInUnit(id.Name) && !endsInUnit(lastName(name)) {
				n.miss(id, name+"() "+id.Name, "the result has no unit")
			}
		}
		if len(r.Names) == 0 {
			unnamed++
		}
	}
	switch {
	case unnamed > 1:
		n.miss(t.Results, name+"()", "returns several numbers: name them, each with its unit")
	case unnamed == 1 && !endsInUnit(lastName(name)):
		n.miss(t.Results, name+"()", "returns a number, and its name has no unit")
	}
}

func lastName(name string) string { return name[strings.LastIndexByte(name, '.')+1:] }

// isFloat reports whether a type is float64, or a slice, array, map, variadic
// or pointer of it.
func isFloat(t ast.Expr) bool {
	switch x := t.(type) {
	case *ast.Ident:
		return x.Name == "float64"
	case *ast.ArrayType:
		return isFloat(x.Elt)
	case *ast.MapType:
		return isFloat(x.Value)
	case *ast.Ellipsis:
		return isFloat(x.Elt)
	case *ast.StarExpr:
		return isFloat(x.X)
	}
	return false
}
