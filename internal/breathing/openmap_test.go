package breathing

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"fettle/internal/crank"
	"fettle/internal/petrol"
)

type mapRow struct{ rpm, torque, fuelGPerS, consumption float64 }

// openMap reads the map of a 2.5 litre four published by the US Environmental
// Protection Agency (2018, ALPHA map package of 2023-08), which is not part of
// the repository.
func openMap(t *testing.T) []mapRow {
	t.Helper()
	dir := os.Getenv("FETTLE_OPEN_DATA")
	if dir == "" {
		dir = filepath.Join("..", "..", "..", "shared", "data")
	}
	f, err := os.Open(filepath.Join(dir, "engine-maps", "na-2.5l-four.csv"))
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatalf("the open engine map is missing: %v", err)
		}
		t.Skipf("the open engine map is not at hand: %v", err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []mapRow
	for _, r := range rows[1:] {
		var v [4]float64
		for i := range v {
			if v[i], err = strconv.ParseFloat(r[i], 64); err != nil {
				t.Fatal(err)
			}
		}
		out = append(out, mapRow{v[0], v[1], v[2], v[3]})
	}
	return out
}

// fourOf25 is that engine's geometry; valves, runners and timing are those of
// any four-valve engine of its bore (0.40 and 0.10 of it, 38 cm), as its own
// are not published with the map.
func fourOf25() Input {
	return Input{
		Geometry:         crank.Geometry{CylinderCount: 4, BoreM: 0.089, StrokeM: 0.1, RodM: 0.155, CompressionRatio: 13},
		IntakeValveCount: 2, IntakeValveM: 0.40 * 0.089, IntakeLiftM: 0.10 * 0.089,
		IntakeOpensRad: 5 * deg, IntakeClosesRad: 65 * deg, IntakePhaserRad: 40 * deg,
		RunnerM: 0.38, RunnerBoreM: 0.04, IdleRadPerS: 680 * rpm, MaxRadPerS: 6000 * rpm,
		Fuel: petrol.Petrol(), FullLambdaRatio: 0.88, CruiseLambdaRatio: 1,
		AmbientPa: 100e3, ChargeK: 305, CoolantK: 363, IntakeDropPa: 4e3, ExhaustDropPa: 15e3,
	}
}

// Full load within two standard deviations at every speed above a third of the
// limit, and 1 in the mean square. Below it the tables are known to stand high,
// and more the slower: printed, not judged. (The fuel of the map's highest
// torque points to 0.84 of the swept air at 1497 rpm and 0.63 at 998 rpm, if
// burned at lambda 1; what holds it there is not in the model.)
func TestFullLoadOfOpenMap(t *testing.T) {
	rows := openMap(t)
	most := map[float64]float64{}
	var speeds []float64
	for _, r := range rows {
		if most[r.rpm] == 0 {
			speeds = append(speeds, r.rpm)
		}
		most[r.rpm] = max(most[r.rpm], r.torque)
	}
	r, err := Solve(fourOf25())
	if err != nil {
		t.Fatal(err)
	}
	n, sum, square := 0.0, 0.0, 0.0
	for _, s := range speeds {
		p, err := r.WideOpen(s*rpm, Nominal())
		if err != nil {
			t.Fatal(err)
		}
		off := p.TorqueNm/most[s] - 1
		judged := s >= 2000-10
		t.Logf("%5.0f rpm: %.1f N·m, map %.1f, %+.1f %%, judged %v", s, p.TorqueNm, most[s], 100*off, judged)
		if !judged {
			continue
		}
		n, sum, square = n+1, sum+off, square+off*off
		if math.Abs(off) > 2*TorqueSdFrac {
			t.Errorf("%.0f rpm: %.1f N·m is more than two standard deviations from the map's %.1f", s, p.TorqueNm, most[s])
		}
	}
	rms := math.Sqrt(square / n)
	t.Logf("mean %+.1f %%, root mean square %.1f %% over %.0f speeds; stated spread %.0f %%", 100*sum/n, 100*rms, n, 100*TorqueSdFrac)
	if rms > TorqueSdFrac {
		t.Errorf("root mean square %.3f, stated %.3f", rms, TorqueSdFrac)
	}
}

// Fuel for the torques of the map between idle and four fifths of full load.
func TestFuelOfOpenMap(t *testing.T) {
	rows := openMap(t)
	in := fourOf25()
	r, err := Solve(in)
	if err != nil {
		t.Fatal(err)
	}
	n, sum, square := 0.0, 0.0, 0.0
	leastMap, least := math.Inf(1), math.Inf(1)
	for _, row := range rows {
		leastMap = min(leastMap, row.consumption)
		if row.torque < 40 || row.torque > 170 || row.rpm < 990 {
			continue
		}
		p, err := r.LoadFor(row.rpm*rpm, row.torque, Nominal())
		if err != nil {
			t.Fatal(err)
		}
		off := 1000*p.FuelKgPerS/row.fuelGPerS - 1
		n, sum, square = n+1, sum+off, square+off*off
		least = min(least, p.FuelKgPerS/(p.TorqueNm*p.SpeedRadPerS)*3.6e9)
	}
	rms := math.Sqrt(square / n)
	t.Logf("fuel: mean %+.1f %%, root mean square %.1f %% over %.0f points; least consumption %.1f g/kWh, map %.1f", 100*sum/n, 100*rms, n, least, leastMap)
	if math.Abs(leastMap-222.8) > 0.1 {
		t.Errorf("the map's least consumption is %.1f g/kWh, published 222.8", leastMap)
	}
	// Torque's spread, and what is not modelled of this engine: intake closing
	// late at part load.
	if rms > 0.16 || math.Abs(least/leastMap-1) > 0.1 {
		t.Errorf("root mean square %.3f, least consumption %.1f against %.1f g/kWh", rms, least, leastMap)
	}
}
