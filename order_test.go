package fettle_test

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// policy: do not edit to fix a build.
//
// order is the order of the rooms, bottom to top. A package imports only rooms
// that stand before its own, and packages of its own room. A new package gets
// its place here in the change that adds it.
var order = []tier{
	{"ground", []string{"diag", "quantity", "figure", "formula", "study"}},
	{"data", []string{"table", "channel", "typeface"}},
	{"solvers", []string{
		"gas", "petrol", "crank", // the engine
		"pipeflow", "injector", "pump", "breathing", "cycle", "enginemap", // fuel and air
		"driveline",
		"wire", "fuse", "relay", "battery", "alternator", "starter", "ignition", "dcnet", "cranking", // electrics
		"assign", "harness", // pins, and the loom's shape
	}},
	{"text", []string{"folder", "buildfile", "demo"}},
	{"parts", []string{"catalogue", "design", "schema", "questions"}},
	{"loom", []string{"loom"}},
	{"balance", []string{"balance"}},
	{"vehicle", []string{"vehicle"}}, // design and loom, made into what balance solves
	{"rule", []string{"rule"}},
	{"calibrate", []string{"calibrate"}},
	{"car", []string{"plant", "control", "driver"}}, // the engine and car as they are; what controls them; who drives
	{"rehearsal", []string{"rehearsal"}},            // the three together, from a solved vehicle and its tables
	{"spine", []string{"run"}},
	{"outputs", []string{"drawing", "formboard", "supply", "plate", "paper", "report", "web"}},
	{"command", []string{"cmd"}},
}

type tier struct {
	name  string
	rooms []string
}

// narrow lists rooms that may import less than stands below them.
func narrow(room string) (allowed []string, why string, ok bool) {
	ground := tierRooms("ground")
	switch {
	case room == "formula":
		return []string{"figure"}, "the register holds no more than formulas", true
	case room == "typeface":
		return ground, "lettering knows nothing of vehicles", true
	case room == "drawing":
		return append(slices.Clone(ground), "typeface"), "the drawing model knows nothing of vehicles", true
	case slices.Contains(tierRooms("solvers"), room):
		solvers := tierRooms("solvers")
		below := solvers[:slices.Index(solvers, room)]
		return slices.Concat(ground, []string{"table"}, below), "a solver takes small inputs of its own, so that it can be tested from a textbook page", true
	}
	return nil, "", false
}

func tierRooms(name string) []string {
	for _, t := range order {
		if t.name == name {
			return t.rooms
		}
	}
	panic("no tier " + name)
}

// rank is the place of a room in the order, or -1.
func rank(room string) int {
	n := 0
	for _, t := range order {
		if i := slices.Index(t.rooms, room); i >= 0 {
			return n + i
		}
		n += len(t.rooms)
	}
	return -1
}

// policy: do not edit to fix a build.
func TestImportsRunOneWay(t *testing.T) {
	report(t, "imports against the order of the rooms (order_test.go)", checkOrder(readTree(t)))
}

func checkOrder(tr *tree) (misses []string) {
	unplaced := map[string]bool{}
	for _, s := range tr.files {
		if rank(s.room) < 0 {
			if !unplaced[s.room] {
				misses = append(misses, fmt.Sprintf("%s: room %q is not in the order: name its place in order_test.go", s.path, s.room))
			}
			unplaced[s.room] = true
			continue
		}
		allowed, why, isNarrow := narrow(s.room)
		for _, imp := range s.file.Imports {
			name, err := strconv.Unquote(imp.Path.Value)
			local, ours := strings.CutPrefix(name, module+"/")
			if err != nil || !ours {
				continue
			}
			to := roomOf(local)
			switch {
			case forTests(local):
				misses = append(misses, tr.miss(imp.Pos(), "imports %s, which is for tests", name))
			case to == s.room || unplaced[to]:
			case rank(to) < 0:
				misses = append(misses, tr.miss(imp.Pos(), "imports %s, whose room %q is not in the order", name, to))
			case rank(to) > rank(s.room):
				misses = append(misses, tr.miss(imp.Pos(), "%s imports %s, which stands above it", s.room, to))
			case isNarrow && !slices.Contains(allowed, to):
				misses = append(misses, tr.miss(imp.Pos(), "%s imports %s, but %s; it may import %s", s.room, to, why, strings.Join(allowed, ", ")))
			}
		}
	}
	return misses
}
