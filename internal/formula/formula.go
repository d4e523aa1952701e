// Package formula is the register of every documented formula of fettle: what
// it returns, the formula in Unicode, where it is valid, how good it is and who
// published it. Figures point into it, so that a number on a page opens to the
// working that produced it.
//
// Conventions: an entry's ID is package.Func or package.Type.Method
// ("wire.ResistanceOhm"), and its Go name the same run together
// (WireResistanceOhm). The entries are generated from the doc comments, which
// stay the only place where a formula is written down; nothing here is edited by
// hand. Start reading at [ByID], then at any function whose comment has a
// Source: line.
package formula

//go:generate go run ../../cmd/formulas -root ../..

import (
	"slices"
	"strings"

	"fettle/internal/figure"
)

// ByID finds a formula by its ID, such as "wire.ResistanceOhm".
func ByID(id string) (*figure.Formula, bool) {
	i, ok := slices.BinarySearchFunc(All, id, func(f *figure.Formula, id string) int {
		return strings.Compare(f.ID, id)
	})
	if !ok {
		return nil, false
	}
	return All[i], true
}
