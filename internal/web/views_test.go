package web

import (
	"html/template"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"fettle/internal/design"
	"fettle/internal/vehicle"
	"fettle/internal/web/drivesheet"
	"fettle/internal/web/enginesheet"
	"fettle/internal/web/fuelsheet"
	"fettle/internal/web/loomsheet"
	"fettle/internal/web/overview"
	"fettle/internal/web/power"
	"fettle/internal/web/shell"
)

// solved is the demo with its chances, as the views are given it.
func solved(t *testing.T) shell.Ask {
	t.Helper()
	b := newBench(t)
	cur, err := b.s.current(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return shell.Ask{Result: cur.Result, State: "full", Seen: string(cur.Stamp)}
}

// TestOverviewSaysWhatWasSolved: the list below is what the headline counts, and
// every margin of the state stands in the table with its own sense.
func TestOverviewSaysWhatWasSolved(t *testing.T) {
	a := solved(t)
	b := overview.View(a)
	v := a.Result.Verdict
	open := 0
	for _, f := range b.Findings {
		if f.Severity != "note" {
			open++
		}
		for _, m := range f.Mends {
			if m.First != (m.N == 0) || !strings.Contains(m.Action, "seen="+a.Seen) {
				t.Errorf("mend %+v", m)
			}
		}
	}
	if open != v.Stops+v.Fixes || open == 0 {
		t.Errorf("%d in the list, %d in the verdict", open, v.Stops+v.Fixes)
	}
	if all, on := shell.Counts(a.Result); all != open || on["power"] > all {
		t.Errorf("counts %d, %v", all, on)
	}
	margins := 0
	for _, m := range a.Result.Solved.Margins {
		if m.State != design.Full || math.IsNaN(m.Value) {
			continue
		}
		margins++
		i := slices.IndexFunc(b.Rooms.Rows, func(r overview.RoomRow) bool { return r.Value.ID == string(m.ID) })
		if i < 0 {
			t.Errorf("%s is not in the table", m.ID)
			continue
		}
		if r := b.Rooms.Rows[i]; r.Left.Bad != (m.Left() < 0) || (r.Sense == "at least") != m.AtLeast || r.Chance.Text != "…" {
			t.Errorf("%s: %+v", m.ID, r)
		}
	}
	if margins != len(b.Rooms.Rows) || b.Rooms.Src == "" {
		t.Errorf("%d rows of %d margins, chances from %q", len(b.Rooms.Rows), margins, b.Rooms.Src)
	}
}

// TestUnsettledStateHasNoFigures takes the settling away from a solved state.
func TestUnsettledStateHasNoFigures(t *testing.T) {
	a := solved(t)
	broken := *a.Result
	answer := *broken.Solved
	answer.States = slices.Clone(answer.States)
	for i := range answer.States {
		if answer.States[i].Name == design.Full {
			answer.States[i].Ended.OK, answer.States[i].Ended.Why = false, "the rail did not come to rest"
		}
	}
	broken.Solved = &answer
	a.Result = &broken
	o, p := overview.View(a), power.View(a)
	if !strings.Contains(o.Unsettled, "did not come to rest") || len(o.Stations) > 0 || len(o.Rooms.Rows) > 0 || o.Rooms.Empty == "" {
		t.Errorf("the overview shows figures: %+v", o.Rooms)
	}
	if !strings.Contains(p.Unsettled, "did not come to rest") || len(p.Devices) > 0 || len(p.Wires) > 0 || len(p.Balance) > 0 || p.Ladder.Wide != "" {
		t.Error("the sheet of power shows figures")
	}
	if i := slices.IndexFunc(o.Tabs, func(t shell.Tab) bool { return t.Current }); i < 0 || !o.Tabs[i].Unsettled {
		t.Errorf("tabs %+v", o.Tabs)
	}
}

// TestPowerPutsTheWorstFirst: devices by their volts, wires by the share of
// their permitted drop, and the ladder shows the device behind the wire that fails.
func TestPowerPutsTheWorstFirst(t *testing.T) {
	a := solved(t)
	b := power.View(a)
	volts := func(s string) float64 {
		x, err := strconv.ParseFloat(strings.ReplaceAll(s, "−", "-"), 64)
		if err != nil {
			t.Fatal(err)
		}
		return x
	}
	for i := 1; i < len(b.Devices); i++ {
		if volts(b.Devices[i].Volts.Text) < volts(b.Devices[i-1].Volts.Text) {
			t.Errorf("%s stands after %s", b.Devices[i].Name, b.Devices[i-1].Name)
		}
	}
	const halfDigit = 0.006 // the printed drops end at a thousandth of a volt, limits are 0.18 V and more
	share := func(w power.Wire) float64 { return volts(w.Drop.Text) / volts(w.Limit.Text) }
	for i := 1; i < len(b.Wires); i++ {
		if share(b.Wires[i]) > share(b.Wires[i-1])+halfDigit {
			t.Errorf("wire %s stands after %s", b.Wires[i].Number, b.Wires[i-1].Number)
		}
	}
	if n := len(b.Wires) + len(b.Others); n != len(a.Result.Loom.Wires) || len(b.Wires) < 20 || len(b.Devices) < 20 {
		t.Errorf("%d of %d wires, %d devices", n, len(a.Result.Loom.Wires), len(b.Devices))
	}
	if b.Ladder.Device != "fuel pump" || b.Ladder.Wide == "" {
		t.Errorf("the ladder is of %q", b.Ladder.Device)
	}
}

// TestLoomShowsThePickedWay: each plug is drawn from both sides for sheet and
// phone, its list counts what is in use, and the picked way tells its wire.
func TestLoomShowsThePickedWay(t *testing.T) {
	a := solved(t)
	for _, c := range []struct{ pin, serves, why string }{
		{a.Result.Loom.Pins[0].Pin, a.Result.Loom.Pins[0].Device, "can be " + a.Result.Loom.Pins[0].Can},
		{"controller P1", "memory supply", "has this terminal"},
		{"A76", "", ""},
	} {
		a.Pin = c.pin
		b := loomsheet.View(a)
		var picked *loomsheet.Picked
		used := 0
		for _, u := range b.Units {
			for _, p := range u.Plugs {
				used += len(p.Ways)
				if p.Picked != nil {
					picked = p.Picked
				}
				for name, svg := range map[string]template.HTML{"wires": p.Wires, "mating": p.Mating, "phone": p.Phone, "phone mating": p.PhoneMate} {
					if n := strings.Count(string(svg), "<g id="); n < len(p.Ways) {
						t.Errorf("%s, %s: %d ways drawn of %d in use", p.Title, name, n, len(p.Ways))
					}
				}
			}
		}
		if picked == nil || picked.Name != c.pin || picked.Serves != c.serves || !strings.Contains(picked.Why, c.why) {
			t.Errorf("%s: %+v", c.pin, picked)
			continue
		}
		if (picked.Empty != "") != (c.serves == "") || (len(picked.Wires) > 0) != (c.serves != "") {
			t.Errorf("%s: %+v", c.pin, picked)
		}
		if used < len(a.Result.Loom.Pins) {
			t.Errorf("%d ways in use, %d pins", used, len(a.Result.Loom.Pins))
		}
	}
}

// TestFuelSheetSaysWhatIsShort: the plot, its numbers and the room left agree
// with the solved state, and a state in which the pump rests has no curve.
func TestFuelSheetSaysWhatIsShort(t *testing.T) {
	a := solved(t)
	b := fuelsheet.View(a)
	if len(b.Table.Rows) != vehicle.PumpRows || !strings.Contains(string(b.Plot), "burnt") || !strings.Contains(string(b.Phone), "burnt") {
		t.Errorf("%d rows, plot %.200s", len(b.Table.Rows), b.Plot)
	}
	bad := 0
	for _, l := range b.Point {
		if l.Fig.Bad {
			bad++
		}
	}
	if bad == 0 || !strings.Contains(string(b.Plot), "f-accent") {
		t.Error("fuel is short at full power, and nothing on the plot says so")
	}
	margins := 0
	for _, m := range a.Result.Solved.Margins {
		if slices.Contains([]string{"fuel pump", "injector", "rail"}, m.Subject) && !math.IsNaN(m.Value) {
			margins++
		}
	}
	if len(b.Left.Rows) != margins || margins < 4 {
		t.Errorf("%d rows of %d margins", len(b.Left.Rows), margins)
	}
	a.State = "parked"
	if p := fuelsheet.View(a); len(p.Table.Rows) > 0 || len(p.Point) > 0 || !strings.Contains(string(p.Plot), "does not turn") {
		t.Errorf("a resting pump has a curve: %.300s", p.Plot)
	}
}

// TestDrivelineSheetShowsEveryGear: a line and a row a gear, the marks of cruise
// and full power, and room against every limit that is recorded.
func TestDrivelineSheetShowsEveryGear(t *testing.T) {
	a := solved(t)
	b := drivesheet.View(a)
	gears := a.Result.Design.File.Gearbox.Ratios
	if n := len(b.Tables[0].Rows); n != len(gears) {
		t.Errorf("%d rows of %d gears", n, len(gears))
	}
	for name, svg := range map[string]string{"wide": string(b.Plot), "phone": string(b.Phone)} {
		if n := strings.Count(svg, "-curve-"); n != len(gears) || !strings.Contains(svg, "cruise, ") || !strings.Contains(svg, "full power, ") || !strings.Contains(svg, "speed limit ") {
			t.Errorf("%s: %d lines of %d gears, or a mark is missing", name, n, len(gears))
		}
	}
	if len(b.Held) != 3 || b.NoShaft == "" || len(b.Shaft) > 0 {
		t.Errorf("held %+v, shaft %+v", b.Held, b.Shaft)
	}
}

// TestEngineSheetShowsEveryCylinder: plan, list and top dead centres agree with
// the file, for sheet and phone.
func TestEngineSheetShowsEveryCylinder(t *testing.T) {
	a := solved(t)
	b := enginesheet.View(a)
	n := a.Result.Design.File.Engine.Cylinders
	for name, svg := range map[string]template.HTML{"plan": b.Plan, "plan on a phone": b.PhonePlan} {
		if got := strings.Count(string(svg), "-bore-"); got != n {
			t.Errorf("%s: %d cylinders of %d", name, got, n)
		}
		if !strings.Contains(string(svg), "fires 5th") || !strings.Contains(string(svg), "injector A1") || !strings.Contains(string(svg), "coil A9") {
			t.Errorf("%s lacks order or channels", name)
		}
	}
	if len(b.Cylinders.Rows) != n || b.Cylinders.Rows[2][2].Text != "5" { // 1-2-4-5-3: cylinder 3 fires last
		t.Errorf("rows %+v", b.Cylinders.Rows)
	}
	for name, svg := range map[string]template.HTML{"trigger": b.Trigger, "trigger on a phone": b.PhoneTrigger} {
		for _, want := range []string{"crank wheel, 60 places less 2", "intake cam's wheel, 4 windows", "intake valves of cylinder 1 open", "exhaust valves of cylinder 1 open"} {
			if !strings.Contains(strings.ReplaceAll(string(svg), "&#39;", "'"), want) {
				t.Errorf("%s lacks %q", name, want)
			}
		}
	}
	if len(b.Cams.Rows) != len(a.Result.Design.File.Engine.Cams) || b.Cams.Rows[0][2].Fig == nil || len(b.CurveTable.Rows) < 5 {
		t.Errorf("cams %+v, curve %d", b.Cams.Rows, len(b.CurveTable.Rows))
	}
}

// TestOverviewNamesTheNextStep: every open cause stands before one step and leads
// to its finding below; mended, nothing stands before any.
func TestOverviewNamesTheNextStep(t *testing.T) {
	a := solved(t)
	b := overview.View(a)
	blocks, firsts, blocked := 0, 0, false
	for _, s := range b.Next.Steps {
		for _, k := range s.Blocks {
			blocks++
			if !slices.ContainsFunc(b.Findings, func(f shell.Finding) bool { return "#"+f.ID == k.Href }) {
				t.Errorf("%s leads to %s, which is not below", s.Name, k.Href)
			}
		}
		blocked = blocked || len(s.Blocks) > 0
		if s.Open == blocked {
			t.Errorf("%s: open %v, something stands before it %v", s.Name, s.Open, blocked)
		}
		if s.Next {
			firsts++
			if len(s.Blocks) == 0 {
				t.Errorf("%s is said to be blocked, by nothing", s.Name)
			}
		}
	}
	if blocks != a.Result.Verdict.Stops+a.Result.Verdict.Fixes || firsts != 1 {
		t.Errorf("%d blocks of %d causes, %d first", blocks, a.Result.Verdict.Stops+a.Result.Verdict.Fixes, firsts)
	}
	mended := begunBench(t)
	if page := mended.get("/"); !strings.Contains(page, "Nothing that was computed stands before a step.") {
		t.Error("a build without findings has a step that waits")
	}
}
