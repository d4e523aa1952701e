package fettle_test

import (
	"go/ast"
	"go/doc/comment"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// policy: do not edit to fix a build.
func TestFormulasShowTheirWorking(t *testing.T) {
	misses, unused := checkFormulas(readTree(t), accessors)
	report(t, "a formula's comment has the formula, indented, then lines that begin with Valid:, Accuracy:, Source: and Errors:", misses)
	report(t, "accessors in formulas_test.go that nothing needs any more: take them out", unused)
}

// accessors hand out a number that was computed elsewhere, though not by a plain
// return of a field, which the check sees for itself.
var accessors = map[string]string{
	"dcnet.Solution.ElementA": "picks from the solution",
	"dcnet.Solution.ElementV": "picks from the solution",
}

// formulaHeadings must stand in the comment of every formula, each at the
// beginning of a line. "Errors: none" is said where none can come.
var formulaHeadings = []string{"Valid:", "Accuracy:", "Source:", "Errors:"}

// The comments are shown on the pages, so that their numbers look as all do.
var comma = regexp.MustCompile(`\b\d{1,3},\d{3}\b`)

// checkFormulas looks at every function of a solver that returns a number with
// a unit, and at every such function elsewhere that claims a source.
func checkFormulas(tr *tree, allowed map[string]string) (misses, unused []string) {
	needed := map[string]bool{}
	for _, s := range tr.files {
		solver := slices.Contains(tierRooms("solvers"), s.room)
		eachFunc(s, func(name string, d *ast.FuncDecl) {
			if !returnsUnit(d) || isGetter(d) {
				return
			}
			doc := d.Doc.Text()
			if !solver && !hasHeading(doc, "Source:") {
				return
			}
			if m := comma.FindString(doc); m != "" {
				misses = append(misses, tr.miss(d.Pos(), "%s.%s says %q: a comma in a number is read as a decimal sign by half of those who see it; write a thin space (U+2009)", s.file.Name.Name, name, m))
			}
			var lacks []string
			if !hasCode(doc) {
				lacks = append(lacks, "the formula")
			}
			for _, h := range formulaHeadings {
				if !hasHeading(doc, h) {
					lacks = append(lacks, h)
				}
			}
			switch key := s.file.Name.Name + "." + name; {
			case len(lacks) == 0:
			case allowed[key] != "":
				needed[key] = true
			default:
				misses = append(misses, tr.miss(d.Pos(), "%s lacks %s", key, strings.Join(lacks, ", ")))
			}
		})
	}
	return misses, unneeded(allowed, needed)
}

// unneeded lists the allowances that no miss made use of.
func unneeded(allowed map[string]string, needed map[string]bool) (out []string) {
	for name := range allowed {
		if !needed[name] {
			out = append(out, name)
		}
	}
	return out
}

// returnsUnit reports whether a function returns a float64 whose name, or else
// the function's, ends in a unit.
func returnsUnit(d *ast.FuncDecl) bool {
	if d.Type.Results == nil {
		return false
	}
	for i, r := range d.Type.Results.List {
		if id, ok := r.Type.(*ast.Ident); !ok || id.Name != "float64" {
			continue
		}
		if i == 0 && endsInUnit(d.Name.Name) {
			return true
		}
		for _, n := range r.Names {
			if endsInUnit(n.Name) {
				return true
			}
		}
	}
	return false
}

// isGetter reports whether a function only hands out what it holds.
func isGetter(d *ast.FuncDecl) bool {
	if d.Body == nil || len(d.Body.List) != 1 {
		return false
	}
	ret, ok := d.Body.List[0].(*ast.ReturnStmt)
	if !ok || len(ret.Results) != 1 {
		return false
	}
	e := ret.Results[0]
	for {
		switch x := e.(type) {
		case *ast.SelectorExpr:
			e = x.X
		case *ast.IndexExpr:
			e = x.X
		case *ast.Ident:
			return true
		default:
			return false
		}
	}
}

func hasHeading(doc, heading string) bool {
	return slices.ContainsFunc(strings.Split(doc, "\n"), func(line string) bool {
		rest, ok := strings.CutPrefix(line, heading)
		return ok && strings.TrimSpace(rest) != ""
	})
}

func hasCode(doc string) bool {
	var p comment.Parser
	return slices.ContainsFunc(p.Parse(doc).Content, func(b comment.Block) bool {
		_, ok := b.(*comment.Code)
		return ok
	})
}
