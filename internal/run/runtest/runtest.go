// Package runtest makes a vehicle for the tests and benchmarks of the spine that
// is larger than the examples are.
//
// Conventions: those of the build file. Start reading at [FullCar].
package runtest

import (
	_ "embed" // the build

	"fettle/internal/run"
)

//go:embed full-car.yaml
var fullCar []byte

//go:embed further-unit.yaml
var furtherUnit []byte

// LeastWires is how many wires the full car has at least.
const LeastWires = 400

// FullCar is a V12 saloon with three control units and 400 wires and a few. All
// of it is invented.
func FullCar() run.Input {
	return run.Input{File: "build.yaml", Src: fullCar, Parts: map[string][]byte{"parts/further unit.yaml": furtherUnit}}
}
