package calibrate

import (
	"bytes"
	"context"
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fettle/internal/breathing"
	"fettle/internal/catalogue"
	"fettle/internal/crank"
	"fettle/internal/figure"
	"fettle/internal/gas"
	"fettle/internal/petrol"
	"fettle/internal/table"
)

func leaf(id string, si, sd float64, unit string) *figure.Input {
	in := &figure.Input{ID: figure.ID(id), SI: si, SdSI: sd, Unit: unit, Source: "invented", Origin: figure.Stated}
	in.Seal()
	return in
}

// engine is an invented four of two litres, 86 mm square.
func engine() Input {
	e := breathing.Input{
		Geometry:         crank.Geometry{CylinderCount: 4, BoreM: 0.086, StrokeM: 0.086, RodM: 0.143, CompressionRatio: 10},
		IntakeValveCount: 2, IntakeValveM: 0.0335, IntakeLiftM: 0.0095,
		IntakeOpensRad: 8 * degree, IntakeClosesRad: 48 * degree,
		IdleRadPerS: 800 * rpm, MaxRadPerS: 6500 * rpm,
		Fuel: petrol.Petrol(), FullLambdaRatio: 0.88, CruiseLambdaRatio: 1,
		RunnerM: 0.4, RunnerBoreM: 0.042,
		AmbientPa: 99e3, ChargeK: 313.15, CoolantK: 363.15, IntakeDropPa: 4e3, ExhaustDropPa: 15e3,
	}
	return Input{
		Engine: e,
		Leaves: []Leaf{
			{leaf("bore", 0.086, 0.0005, "mm"), func(e *breathing.Input, by float64) { e.Geometry.BoreM += by }},
			{leaf("closes", 48*degree, 5*degree, "°"), func(e *breathing.Input, by float64) { e.IntakeClosesRad += by }},
			{leaf("ratio", 10, 0.2, ""), func(e *breathing.Input, by float64) { e.Geometry.CompressionRatio += by }},
			{leaf("full", 0.88, 0.01, ""), func(e *breathing.Input, by float64) { e.FullLambdaRatio += by }},
		},
		SparksRatio: 0.5, Coil: &catalogue.Coil{
			Ohm: leaf("ohm", 0.5, 0.02, "Ω"), Henry: leaf("henry", 3e-3, 0.2e-3, "mH"), ChargeA: leaf("charge", 7, 0.2, "A"),
		},
		Injector: &catalogue.Injector{
			DeadAt8S: leaf("at 8", 2e-3, 0.1e-3, "ms"), DeadAt14S: leaf("at 14", 0.75e-3, 0.04e-3, "ms"),
			FlowKgPerS: leaf("flow", 3e-3, 0.09e-3, "g/s"), RatedPa: leaf("rated", 300e3, 3e3, "kPa"),
		},
		Fitted: Fitted{Electronic: true, CrankWheel: "60-2", IntakeRad: 40 * degree},
	}
}

func tables(t *testing.T, in Input) map[string]*Map {
	t.Helper()
	ms, err := Tables(t.Context(), in)
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]*Map{}
	for i := range ms {
		out[ms[i].Name] = &ms[i]
	}
	return out
}

// The dwell table against the current of a coil that SciPy and a circuit
// simulator gave. A cell is rounded to 0.01 ms.
func TestDwellTableRows(t *testing.T) {
	const source = "first-order R–L circuit, SciPy 1.10; five rows also with ngspice 39"
	m := tables(t, engine())[Dwell]
	for _, r := range []struct{ volts, wantMs float64 }{{8, 3.452}, {10, 2.585}, {12, 2.069}, {14, 1.726}, {16, 1.481}} {
		got, err := m.Grid.At(r.volts, 0)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(got-r.wantMs) > 0.0056 {
			t.Errorf("dwell at %g V: %g ms, want %g (%s)", r.volts, got, r.wantMs, source)
		}
	}
}

// A coil that its supply can't charge gets the longest time, and the table says
// what it reaches: V/R (1 − exp(−tR/L)) by hand.
func TestDwellOutOfReach(t *testing.T) {
	in := engine()
	in.Coil.ChargeA = leaf("charge", 10, 0.2, "A")
	in.Coil.Ohm = leaf("ohm", 0.75, 0.02, "Ω")
	m := tables(t, in)[Dwell]
	at7, _ := m.Grid.At(7, 0)
	if at7 != 8 {
		t.Errorf("dwell at 7 V for a current of 10 A through 0.75 Ω: %g ms, want the longest, 8", at7)
	}
	_, reached, err := BoundedDwellS(10, 7, 0.75, 3e-3, 8e-3)
	if want := 7 / 0.75 * (1 - math.Exp(-8e-3*0.75/3e-3)); err != nil || math.Abs(reached-want) > 1e-9 {
		t.Errorf("it reaches %g A (%v), want %g by hand", reached, err, want)
	}
	if text := m.Meta.Notes[0].Text; !strings.Contains(text, "at 7\u00a0V it reaches 8.07\u00a0A") {
		t.Errorf("the table does not say that the current is not reached: %q", text)
	}
	if _, _, err := BoundedDwellS(7, -1, 0.5, 3e-3, 8e-3); err == nil || !strings.Contains(err.Error(), "voltage") {
		t.Errorf("a negative voltage: error %v names no voltage", err)
	}
	if _, _, err := BoundedDwellS(7, 12, 0, 3e-3, 8e-3); err == nil || !strings.Contains(err.Error(), "resistance") {
		t.Errorf("a coil without resistance: error %v names no resistance", err)
	}
}

// The dead time passes its two stated points and goes straight in 1/U.
func TestDeadTime(t *testing.T) {
	m := tables(t, engine())[DeadTime]
	for _, r := range []struct{ volts, wantMs float64 }{
		{8, 2}, {14, 0.75}, // as stated
		{112.0 / 11, 1.375}, // half way in 1/U: the mean of the two, by hand
	} {
		got, err := DeadS(r.volts, 2e-3, 0.75e-3)
		if err != nil || math.Abs(1e3*got-r.wantMs) > 1e-9 {
			t.Errorf("dead time at %.4g V: %g ms (%v), want %g", r.volts, 1e3*got, err, r.wantMs)
		}
	}
	if at8, _ := m.Grid.At(8, 0); at8 != 2 {
		t.Errorf("table at 8 V: %g ms, want 2 as stated", at8)
	}
	if _, err := DeadS(4, 2e-3, 0.75e-3); err == nil || !strings.Contains(err.Error(), "4 V is outside 5 … 18 V") {
		t.Errorf("4 V: error %v", err)
	}
	// A sheet whose two points fall apart would give a time below nothing at 16 V.
	in := engine()
	in.Injector.DeadAt14S = leaf("at 14", 0.1e-3, 0, "ms")
	ms, err := Tables(t.Context(), in)
	if err == nil || !strings.Contains(err.Error(), "dead time") {
		t.Errorf("a dead time below 0: error %v", err)
	}
	names := map[string]bool{}
	for _, m := range ms {
		names[m.Name] = true
	}
	if names[DeadTime] || !names[VE] || !names[Dwell] || !names[WarmUp] {
		t.Errorf("beside the bad one stand %v", names)
	}
}

// Speed-density: air = VE p V ω/(4π R T). The published row fixes the law; the
// table times the law must then give the air that the engine model trapped.
func TestSpeedDensity(t *testing.T) {
	air := func(ve, pa, k, m3, speed, r float64) float64 { return ve * pa * m3 * speed / (4 * math.Pi * r * k) }
	if got := 1e3 * air(0.95, 98e3, 300, 2e-3, 6000*rpm, 287.05); math.Abs(got-108.11) > 0.006 {
		t.Errorf("2.0 L at 6000 rpm, 0.95, 98 kPa, 300 K: %.3f g/s, want 108.11 (ideal gas, recomputed with SciPy)", got)
	}
	in := engine()
	m := tables(t, in)[VE]
	e := in.Engine
	e.SpeedRadPerS, e.ManifoldPa = scaled(m.Grid.X.At, rpm), scaled(m.Grid.Y.At, 1e3)
	r, err := breathing.Solve(e)
	if err != nil {
		t.Fatal(err)
	}
	for i, n := range e.SpeedRadPerS {
		for j, p := range e.ManifoldPa {
			k := m.Grid.Cell(i, j)
			got := air(m.Grid.Z[k], p, e.ChargeK, e.Geometry.DisplacementM3(), n, gas.AirJPerKgK)
			if want := r.AirKgPerS.Z[k]; math.Abs(got-want) > 0.0006/m.Grid.Z[k]*want { // a cell is rounded to 0.001
				t.Errorf("%g rpm %g kPa: the table gives %g kg/s, the engine takes %g", m.Grid.X.At[i], m.Grid.Y.At[j], got, want)
			}
		}
	}
}

// What the trade sees in starting tables; wide, and all that is known outside.
func TestTablesAreOrdinary(t *testing.T) {
	ms := tables(t, engine())
	for _, r := range []struct {
		name, what   string
		speed, kPa   float64
		least, most  float64
		source       string
		fromMemoryOf string
	}{
		{VE, "peak torque, open throttle", 4000, 98, 0.80, 1.10, "common practice", "0.85 … 1.0 without tuned runners"},
		{Spark, "peak torque, open throttle", 4000, 98, 8, 25, "common practice", "15 … 25°, a start below it"},
		{Spark, "cruise", 2500, 50, 22, 45, "common practice", "30 … 45°, a start below it"},
		{Spark, "high speed, open throttle", 6000, 96, 10, 35, "common practice", "25 … 35°, a start below it"},
		{Lambda, "cruise", 2500, 50, 1, 1, "common practice", "1.0"},
		{Lambda, "open throttle", 4000, 98, 0.85, 0.90, "common practice", "0.85 … 0.90"},
	} {
		got, err := ms[r.name].Grid.At(r.speed, r.kPa)
		if err != nil || got < r.least || got > r.most {
			t.Errorf("%s, %s: %g (%v), want %g … %g (%s: %s)", r.name, r.what, got, err, r.least, r.most, r.source, r.fromMemoryOf)
		}
	}
	kick, err := ms[Spark].Grid.At(500, 98)
	if err != nil || kick > 10 {
		t.Errorf("spark while a starter turns the engine: %g° (%v), want at most 10 (common practice)", kick, err)
	}
}

// Safe side: never more than the estimate of best torque less 3°, nor more
// advance for the same engine with more compression or less octane.
func TestSparkIsOnTheSafeSide(t *testing.T) {
	in := engine()
	base := tables(t, in)[Spark]
	hot := engine()
	hot.Engine.Geometry.CompressionRatio, hot.Engine.Fuel.OctaneCount = 12, 91
	worse := tables(t, hot)[Spark]
	less := 0
	for i, n := range base.Grid.X.At {
		for j, p := range base.Grid.Y.At {
			k := base.Grid.Cell(i, j)
			best, err := breathing.BestSparkRad(n*rpm, p*1e3, in.Engine.Geometry.BoreM)
			if err != nil {
				t.Fatal(err)
			}
			if got := base.Grid.Z[k]; got > best/degree-3+1e-9 {
				t.Errorf("%g rpm %g kPa: %g° is less than 3° short of %.1f°", n, p, got, best/degree)
			}
			if worse.Grid.Z[k] > base.Grid.Z[k]+1e-9 {
				t.Errorf("%g rpm %g kPa: more knock gives %g°, more than %g°", n, p, worse.Grid.Z[k], base.Grid.Z[k])
			}
			if worse.Grid.Z[k] < base.Grid.Z[k]-1 {
				less++
			}
		}
	}
	if less == 0 {
		t.Error("compression 12 on 91 octane takes no advance anywhere")
	}
}

// The lambda that the table aims at is the one that the engine model burns.
func TestLambdaIsTheModels(t *testing.T) {
	in := engine()
	m := tables(t, in)[Lambda]
	e := in.Engine
	e.SpeedRadPerS, e.ManifoldPa = scaled(m.Grid.X.At, rpm), scaled(m.Grid.Y.At, 1e3)
	r, err := breathing.Solve(e)
	if err != nil {
		t.Fatal(err)
	}
	for k, got := range m.Grid.Z {
		if math.Abs(got-r.LambdaRatio.Z[k]) > 0.00051 {
			t.Fatalf("cell %d: target %g, the engine model burns %g", k, got, r.LambdaRatio.Z[k])
		}
	}
	if _, _, err := TargetRatio(-1, 98e3, 1, 0.88); err == nil || !strings.Contains(err.Error(), "manifold pressure") {
		t.Errorf("a negative pressure: error %v", err)
	}
}

// Spread to first order against its definition: the spread of the dwell of a
// coil whose inductance alone is uncertain is that of the inductance.
func TestSpreadOfOneInput(t *testing.T) {
	in := engine()
	in.Coil.Ohm, in.Coil.ChargeA = leaf("ohm", 0.5, 0, "Ω"), leaf("charge", 7, 0, "A")
	m := tables(t, in)[Dwell]
	for k, z := range m.Grid.Z {
		if rel := m.Grid.Spread[k] / z; math.Abs(rel-0.2/3) > 0.005 { // the dwell is proportional to L; a cell is rounded
			t.Errorf("%g V: spread %.4f of the dwell, want %.4f", m.Grid.X.At[k], rel, 0.2/3)
		}
	}
	// An engine whose inputs have no spread has the models' alone.
	in.Leaves = nil
	ms := tables(t, in)
	e := in.Engine
	e.SpeedRadPerS, e.ManifoldPa = scaled(ms[VE].Grid.X.At, rpm), scaled(ms[VE].Grid.Y.At, 1e3)
	r, err := breathing.Solve(e)
	if err != nil {
		t.Fatal(err)
	}
	for k := range r.VolEffFrac.Z {
		if got, want := ms[VE].Grid.Spread[k], r.VolEffFrac.Spread[k]; math.Abs(got-want) > 1e-9 || want == 0 {
			t.Fatalf("volumetric efficiency, cell %d: spread %g, the model's is %g", k, got, want)
		}
		if got, want := ms[Spark].Grid.Spread[k], r.SparkRad.Spread[k]/degree; math.Abs(got-want) > 1e-9 || want == 0 {
			t.Fatalf("spark, cell %d: spread %g°, the model's is %g°", k, got, want)
		}
	}
}

// The first-order spread against a sample of the same inputs. The sample's own
// error is 1/√(2·400) = 4 %, and the law bends a little: 12 % in all.
func TestSpreadAgainstDraws(t *testing.T) {
	if testing.Short() {
		t.Skip("solves the engine 400 times")
	}
	in := engine()
	m := tables(t, in)[VE]
	e := in.Engine
	const n, p = 4000 * rpm, 80e3
	var sum, squares float64
	const draws = 400
	for k := 1; k <= draws; k++ {
		d := figure.Draw{Seed: 7, K: k}
		drawn := e
		for _, l := range in.Leaves {
			l.Shift(&drawn, d.Of(l.In)-l.In.SI)
		}
		v, err := breathing.VolEffFrac(drawn, n, p)
		if err != nil {
			t.Fatal(err)
		}
		sum, squares = sum+v, squares+v*v
	}
	mean := sum / draws
	want := math.Sqrt(squares/draws - mean*mean)
	w, err := m.Grid.Weights(n/rpm, p/1e3)
	if err != nil {
		t.Fatal(err)
	}
	all := w.SpreadOf(&m.Grid)
	in.Leaves = nil
	alone := tables(t, in)[VE] // the model's own spread
	got := math.Sqrt(all*all - math.Pow(w.SpreadOf(&alone.Grid), 2))
	if math.Abs(got-want) > 0.12*want {
		t.Errorf("spread of the inputs at 4000 rpm, 80 kPa: %.5f to first order, %.5f drawn", got, want)
	}
}

func TestOutOfRange(t *testing.T) {
	for _, r := range []struct {
		name string
		bend func(*Input)
		want string
	}{
		{"speed limit below idle", func(in *Input) { in.Engine.MaxRadPerS = 50 }, "speed limit"},
		{"compression", func(in *Input) { in.Engine.Geometry.CompressionRatio = 0.5 }, "compression ratio"},
		{"boost", func(in *Input) { in.Engine.BoostPa = 2e6 }, "manifold pressure"},
		{"charge", func(in *Input) { in.Engine.ChargeK = 900 }, "charge temperature"},
		{"not a number", func(in *Input) { in.Engine.MaxRadPerS = math.NaN() }, "speed limit"},
		{"octane", func(in *Input) { in.Engine.Fuel.OctaneCount = 20 }, "octane"},
	} {
		in := engine()
		r.bend(&in)
		ms, err := Tables(t.Context(), in)
		if err == nil || !strings.Contains(err.Error(), r.want) {
			t.Errorf("%s: error %v names no %q", r.name, err, r.want)
		}
		for _, m := range ms {
			if m.Name == VE {
				t.Errorf("%s: a table of an engine that can't be", r.name)
			}
		}
	}
	in := engine()
	in.Coil, in.Injector = nil, nil
	ms, err := Tables(t.Context(), in)
	if err != nil {
		t.Error(err)
	}
	for _, m := range ms {
		if m.Name == Dwell || m.Name == DeadTime || m.Name == InjectorFlow || m.Name == PrimePulse {
			t.Errorf("an engine without coils and injectors has a table %q", m.Name)
		}
	}
}

// A file reads back as it was written, with its basis and uncertainty.
func TestFiles(t *testing.T) {
	ms, err := Tables(t.Context(), engine())
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range ms {
		b, err := CSV(m)
		if err != nil {
			t.Fatal(err)
		}
		g, meta, ds := table.Read(bytes.NewReader(b), m.Name+".csv")
		if len(ds) > 0 {
			t.Fatalf("%s: %v", m.Name, ds)
		}
		if !g.X.Equal(m.Grid.X) || !g.Y.Equal(m.Grid.Y) || g.Unit != m.Grid.Unit {
			t.Errorf("%s: axes or unit changed on the way", m.Name)
		}
		for k := range g.Z {
			if g.Z[k] != m.Grid.Z[k] {
				t.Fatalf("%s: cell %d is %g in the file, %g in the table", m.Name, k, g.Z[k], m.Grid.Z[k])
			}
		}
		if meta.Basis != m.Basis || meta.Uncertainty != m.Uncertainty || m.Basis == "" || m.Uncertainty == "" {
			t.Errorf("%s: basis or uncertainty changed on the way", m.Name)
		}
		again, _ := CSV(m)
		if !bytes.Equal(b, again) {
			t.Errorf("%s: two writings differ", m.Name)
		}
	}
	if head, _, _ := strings.Cut(string(mustCSV(t, ms[0])), "rpm"); !strings.Contains(head, "# basis: ") {
		t.Errorf("ve.csv says no basis:\n%s", head)
	}
}

func mustCSV(t *testing.T, m Map) []byte {
	t.Helper()
	b, err := CSV(m)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// Every cell opens to its formula and its inputs.
func TestAccount(t *testing.T) {
	ms, err := Tables(t.Context(), engine())
	if err != nil {
		t.Fatal(err)
	}
	l := figure.NewLedger()
	if err := Account(l, ms); err != nil {
		t.Fatal(err)
	}
	for _, m := range ms {
		for r := range m.Grid.Rows() {
			for c := range m.Grid.Columns() {
				if bad := l.Unresolved(CellID(m.Name, r, c)); len(bad) > 0 {
					t.Fatalf("%s row %d column %d leans on %v", m.Name, r+1, c+1, bad)
				}
			}
		}
	}
	f, _ := l.Why(CellID(Spark, 0, 0))
	if want := ms[1].Grid.Z[0] * math.Pi / 180; math.Abs(f.SI-want) > 1e-12 {
		t.Errorf("spark cell in the ledger: %g rad, want %g", f.SI, want)
	}
	if err := Account(nil, ms); err != nil {
		t.Errorf("a nil ledger: %v", err)
	}
}

// Axes rise, cover what they say and stand on round numbers, for every engine.
func TestAxes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := engine().Engine
		e.IdleRadPerS = rapid.Float64Range(400, 2000).Draw(t, "idle rpm") * rpm
		e.MaxRadPerS = rapid.Float64Range(2500, 13000).Draw(t, "limit rpm") * rpm
		e.AmbientPa = rapid.Float64Range(54e3, 106e3).Draw(t, "ambient")
		e.BoostPa = rapid.Float64Range(0, 300e3).Draw(t, "boost")
		x, y, err := axes(&e)
		if err != nil {
			t.Fatal(err)
		}
		g := table.New("axes", "1", x, y)
		if err := g.Check(); err != nil {
			t.Fatal(err)
		}
		if x.At[0]*rpm > e.IdleRadPerS || x.At[len(x.At)-1]*rpm < e.MaxRadPerS-1e-9 {
			t.Fatalf("speeds %v do not cover idle %g rpm to the limit %g rpm", x.At, e.IdleRadPerS/rpm, e.MaxRadPerS/rpm)
		}
		if y.At[0] != 20 || y.At[len(y.At)-1]*1e3 < math.Max(gas.StandardPa, e.AmbientPa+e.BoostPa) {
			t.Fatalf("pressures %v do not reach %g Pa", y.At, e.AmbientPa+e.BoostPa)
		}
	})
}

// Whoever asked for the tables may give up, and gets none; how much is done is told.
func TestTablesGiveUp(t *testing.T) {
	in := engine()
	ctx, cancel := context.WithCancel(t.Context())
	last, total := 0, 0
	in.Tell = func(done, of int) {
		if last, total = done, of; done > 1 {
			cancel()
		}
	}
	if ms, err := Tables(ctx, in); !errors.Is(err, context.Canceled) || ms != nil {
		t.Errorf("cancelled: %d tables, %v", len(ms), err)
	}
	if last >= total {
		t.Errorf("gave up at %d of %d", last, total)
	}
	in.Tell = func(done, of int) { last, total = done, of }
	if _, err := Tables(t.Context(), in); err != nil || last != total || total == 0 {
		t.Errorf("ended at %d of %d: %v", last, total, err)
	}
}
