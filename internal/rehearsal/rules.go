package rehearsal

import (
	"fmt"
	"slices"

	"fettle/internal/buildfile"
	"fettle/internal/calibrate"
	"fettle/internal/catalogue"
	"fettle/internal/control"
	"fettle/internal/design"
)

// ruled are the settings that the controller runs, by group and name.
func ruled(r *control.Rules, lean *float64) map[string]*float64 {
	return map[string]*float64{
		"fuel pump/prime": &r.PrimeS, "fuel pump/stops after the last crank signal": &r.PumpStopS,
		"starting/flood clear above pedal": &r.FloodPedalFrac, "starting/hot restart fuel, factor": &r.HotFuelRatio,
		"starting/hot restart fuel, falls to 1/e in": &r.HotFadeS, "starting/running above": &r.RunRadPerS, "spark/cranking spark, at most": &r.CrankSparkRad,
		"injection/least pulse without dead time":   &r.LeastPulseS,
		"idle/air added for the air-con compressor": &r.AirConKgPerS, "idle/air added for a fan": &r.FanKgPerS, "idle/spark held back as reserve": &r.ReserveRad,
		"fans/first fan on at": &r.FanOnK, "fans/first fan off at": &r.FanOffK,
		"limits/oil pressure cut below": &r.OilLeastPa, "limits/coolant cut above": &r.CoolMostK, "limits/half the load above coolant": &r.CoolHalfK,
		"limits/fuel cut above the spark cut": &r.SparkToFuelRadPerS, "limits/boost cut above target by": &r.BoostOverPa, "limits/lean cut above lambda": lean,
		"over-run/cut above the resume speed by": &r.OverrunAboveRadPerS, "over-run/cut after": &r.OverrunAfterS, "over-run/no cut below coolant": &r.OverrunColdK,
		"cams/parked until oil pressure": &r.CamOilPa, "cams/parked below oil or coolant": &r.CamColdK, "cams/parked above oil": &r.CamOilK,
		"knock/taken off at once": &r.KnockBackRad, "throttle/two tracks apart by at most": &r.TracksFrac,
		"throttle/plate off its target by at most": &r.PlateOffFrac, "cams/off target by at most": &r.CamOffRad,
	}
}

// rules gives the controller the single values that stand beside the tables. What
// the list does not hold is of no use to this engine and stays as common practice
// has it.
func (s *Setup) rules(list []calibrate.Setting) error {
	r := control.Usual()
	into := ruled(&r, &s.Settings.LeanRatio)
	found := 0
	for _, set := range list {
		if p, ok := into[set.Group+"/"+set.Name]; ok && set.In != nil {
			*p = set.In.SI
			found++
		}
	}
	if found == 0 {
		return fmt.Errorf("the settings beside the tables are missing: a controller is given both")
	}
	if waiting, _ := calibrate.FirstFire(list); len(waiting) > 0 {
		s.Notes = append(s.Notes, fmt.Sprintf("%d values that close the first fire on the vehicle are taken as verified", len(waiting)))
	}
	s.Settings.Rules = r
	return nil
}

// hasCompressor reports whether the engine drives an air-con compressor.
func hasCompressor(d *design.Design) bool {
	return slices.ContainsFunc(d.Devices, func(i design.Item) bool {
		return i.Part != nil && i.Part.Kind == "solenoid" && slices.ContainsFunc(i.Part.Terminals, func(t buildfile.Named[catalogue.Terminal]) bool { return t.Value.Feed == "aircon" })
	})
}
