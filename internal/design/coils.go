package design

import "fettle/internal/ignition"

// Windings counts the coils' primaries: a pack has several.
func (d *Design) Windings() int {
	n := 0
	for _, it := range d.OfKind("coil") {
		n += it.Part.Windings()
	}
	return n
}

// SparksRatio returns how many sparks a coil of this vehicle makes in one turn of
// the crankshaft.
//
//	z = n/(2 w), and 1 for wasted spark on a winding of each cylinder's own
//
// where n is the number of cylinders and w that of windings that share them.
//
// Valid: four strokes; coils that all serve alike.
// Accuracy: exact.
// Source: ignition.SparksRatio.
// Errors: none
func (d *Design) SparksRatio() float64 {
	e := &d.File.Engine
	return ignition.SparksRatio(e.Cylinders, d.Windings(), e.Spark == "wasted spark")
}
