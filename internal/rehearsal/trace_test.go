package rehearsal

import (
	"fmt"
	"os"
	"strconv"
	"testing"

	"fettle/internal/driver"
)

func TestTrace(t *testing.T) {
	k, err := strconv.Atoi(os.Getenv("ENGINE"))
	if err != nil {
		t.Skip("for debugging")
	}
	c, _ := strconv.ParseFloat(os.Getenv("AT"), 64)
	s := sane(t, k)
	m := driver.Usual()
	m.IdleS = 100
	r, err := s.Begin(Wishes{AmbientK: 273.15 + c, Seed: uint64(k), Manner: m, EndS: 30})
	if err != nil {
		t.Fatal(err)
	}
	for n := 0; !r.Over(); n++ {
		r.Step()
		if (n%20 == 0 && r.TimeS() > 2.9 && r.TimeS() < 9) || n%100 == 0 {
			tr := r.Plant.True()
			_, cmd, _ := r.Now()
			fmt.Printf("%6.2f %6.0f rpm %5.1f kPa lam %5.2f gross %6.1f film %6.1f mg pulse %5.2f fuel %v spark %v %5.1f dwell %.1f bus %5.2f st %v plate %.3f/%.3f iac %.3f idle %.0f rail %.0f pump %v\n", tr.TimeS, tr.SpeedRadPerS/rpm, tr.ManifoldPa/1e3, tr.LambdaRatio, tr.TorqueNm, tr.FilmKg*1e6, cmd.PulseS*1e3, cmd.FuelOn, cmd.SparkOn, cmd.SparkRad/deg, cmd.DwellS*1e3, tr.BusV, cmd.Status, tr.PlateFrac, cmd.PlateFrac, cmd.IdleFrac, r.Control.IdleTargetRadPerS()/rpm, tr.RailPa/1e3, cmd.PumpOn)
		}
	}
}
