package rule_test

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fettle/internal/buildfile"
	"fettle/internal/diag"
	"fettle/internal/run"
)

// ranges are quantities of the build file with the range it takes.
var ranges = []struct {
	path     string
	low, top float64
	unit     string
}{
	{"vehicle/mass", 300, 6000, "kg"},
	{"vehicle/axle ratio", 1.5, 10, ""},
	{"vehicle/cruise speed", 20, 200, "km/h"},
	{"climate/altitude", 0, 5000, "m"},
	{"climate/coldest", -29, 20, "°C"},
	{"climate/hottest", 21, 60, "°C"},
	{"fuel/ethanol", 0, 100, "%"},
	{"engine/bore", 50, 150, "mm"},
	{"engine/stroke", 40, 139, "mm"},
	{"engine/rod", 70, 300, "mm"},
	{"engine/compression ratio", 5, 20, ""},
	{"engine/intake valve", 15, 70, "mm"},
	{"engine/intake closes", 10, 110, "°"},
	{"engine/idle speed", 400, 2000, "rpm"},
	{"engine/full power speed", 2001, 6000, "rpm"},
	{"engine/lambda at full power", 0.7, 1.1, ""},
	{"engine/exhaust drop", 0, 50, "kPa"},
	{"fuel system/rail pressure", 1, 9, "bar"},
	{"fuel system/line bore", 3, 25, "mm"},
	{"loom/wires/engine strap/size", 0.2, 120, "mm²"},
	{"loom/wires/body strap/size", 0.2, 120, "mm²"},
	{"loom/wires/battery main/size", 0.2, 120, "mm²"},
	{"loom/wires/alternator cable/size", 0.2, 120, "mm²"},
	{"loom/wires/fuel pump 1/size", 0.2, 120, "mm²"},
	{"loom/wires/injection trunk/size", 0.2, 120, "mm²"},
	{"loom/wires/controller P3/size", 0.2, 120, "mm²"},
	{"loom/feeds/fans/fuse", 1, 300, "A"},
}

// TestAnyValueInRangeHasAnAnswer draws vehicles from all that the file takes:
// each reads with errors that have a place, or solves, and every finding is as
// sound as those of the examples. A state that does not settle is a finding.
func TestAnyValueInRangeHasAnAnswer(t *testing.T) {
	b := base(t)
	c, err := cache()
	if err != nil {
		t.Fatal(err)
	}
	solved, refused, unsolved := 0, 0, 0
	rapid.Check(t, func(rt *rapid.T) {
		var edits []buildfile.Edit
		for range rapid.IntRange(1, 4).Draw(rt, "edits") {
			q := rapid.SampledFrom(ranges).Draw(rt, "quantity")
			x := rapid.OneOf(rapid.Just(q.low), rapid.Just(q.top), rapid.Float64Range(q.low, q.top)).Draw(rt, "value")
			edits = append(edits, buildfile.Edit{Path: strings.Split(q.path, "/"), Text: strings.TrimSpace(fmt.Sprintf("%.6g %s", x, q.unit))})
		}
		r, err := run.Nominal(context.Background(), edited(t, b, edits...), c)
		if err != nil {
			rt.Fatal(err)
		}
		if !r.OK() {
			refused++
			for _, d := range r.Errors {
				if d.Severity != diag.Error || d.Pos.Line == 0 || d.Msg.String() == "" {
					rt.Errorf("an error without place or words: %v", d)
				}
			}
			return
		}
		solved++
		for i := range r.Findings {
			sound(t, r, &r.Findings[i])
		}
		for _, s := range r.Solved.States {
			if s.Ended.OK {
				continue
			}
			unsolved++
			if !said(r, s.Name) {
				rt.Errorf("the state %s did not settle and no finding says so: %s", s.Name, s.Ended.Why)
			}
		}
	})
	t.Logf("%d vehicles solved, %d refused, %d states without an answer", solved, refused, unsolved)
	if solved < refused {
		t.Errorf("%d vehicles solved and %d refused: the ranges of the file promise more than the models keep", solved, refused)
	}
}

// said reports whether a finding, or what stands under one, speaks of a state
// without an answer.
func said(r *run.Result, state string) bool {
	for _, f := range r.Findings {
		for _, g := range append(f.Under, f) {
			if g.Rule == "unsolved" && g.State == state {
				return true
			}
		}
	}
	return false
}
