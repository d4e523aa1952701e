package formula_test

import (
	"slices"
	"strings"
	"testing"

	"fettle/internal/figure"
	"fettle/internal/formula"
)

func TestByIDFindsEveryFormula(t *testing.T) {
	if len(formula.All) == 0 {
		t.Fatal("the register is empty: run `go generate ./internal/formula`")
	}
	if !slices.IsSortedFunc(formula.All, func(a, b *figure.Formula) int { return strings.Compare(a.ID, b.ID) }) {
		t.Error("All is not sorted by ID")
	}
	for _, f := range formula.All {
		if got, ok := formula.ByID(f.ID); !ok || got != f {
			t.Errorf("ByID(%q) = %v, %v; want the entry itself", f.ID, got, ok)
		}
	}
	if got, ok := formula.ByID("wire.NoSuchThing"); ok {
		t.Errorf("ByID of an unknown name found %v", got)
	}
}
