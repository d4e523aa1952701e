package main

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"

	"fettle/internal/channel"
	"fettle/internal/diag"
	"fettle/internal/driver"
	"fettle/internal/plant"
	"fettle/internal/quantity"
	"fettle/internal/rehearsal"
	"fettle/internal/run"
)

type rehearseCmd struct {
	Dir   string `arg:"" help:"The build folder." default:"."`
	At    string `help:"The air outside, and the engine as it is found." default:"20 °C" placeholder:"TEMPERATURE"`
	Seed  uint64 `help:"Draws what is hidden from the tables." default:"1"`
	Route string `help:"Drive a speed over time from a CSV file, or hills for the route that is built in." placeholder:"FILE"`
	Log   string `help:"Write the drive log as CSV." placeholder:"FILE"`
	Hz    int    `help:"Samples a second in the log, 1 to 100." default:"20"`
	JSON  bool   `name:"json" help:"Print what came of it as an object."`
}

// Run starts the vehicle in simulation with its starting tables, and drives it.
func (c *rehearseCmd) Run(e *env) error {
	w, err := c.wishes(e)
	if err != nil {
		return err
	}
	s, err := open(e, c.Dir, c.JSON)
	if err != nil {
		return err
	}
	r := s.result
	if !r.OK() {
		return jsonErrors(e, r)
	}
	maps, err := run.Maps(context.Background(), r, nil)
	if err != nil {
		return fmt.Errorf("the starting tables can't all be made: %w", err)
	}
	rules, err := run.Settings(r)
	if err != nil {
		return err
	}
	setup, err := rehearsal.Of(r.Solved, maps, rules, "starting tables of "+r.Input.File+" "+r.Hash[:12])
	if err != nil {
		return err
	}
	v, err := setup.Begin(w)
	if err != nil {
		return err
	}
	if err := v.Finish(func(float64) error { return e.ctx.Err() }); err != nil {
		return err
	}
	if c.Log != "" {
		var b bytes.Buffer
		if err := channel.Write(&b, v.Log()); err != nil {
			return err
		}
		if err := writeWhole(c.Log, b.Bytes()); err != nil {
			return err
		}
	}
	if c.JSON {
		return writeJSON(e.out, map[string]any{"start": v.Start(), "wrong": v.Start().Wrong(), "drive": driven(v), "log": c.Log, "simulation": true})
	}
	c.print(e, setup, v)
	return nil
}

// driven is the breakdown, without what can't be written as a number.
func driven(v *rehearsal.Run) rehearsal.Breakdown {
	b := v.Breakdown()
	if math.IsNaN(b.FuelM3PerM) {
		b.FuelM3PerM = 0
	}
	return b
}

// wishes reads the options.
func (c *rehearseCmd) wishes(e *env) (w rehearsal.Wishes, err error) {
	kelvin, err := quantity.Parse(c.At, quantity.Temperature)
	if err != nil {
		return w, fmt.Errorf("--at %q: %w", c.At, err)
	}
	if err := plant.CheckAmbient(kelvin.SI); err != nil {
		return w, fmt.Errorf("--at %q: %w", c.At, err)
	}
	if c.Hz < 1 || c.Hz > 100 {
		return w, fmt.Errorf("--hz %d is outside 1 … 100", c.Hz)
	}
	if c.Log != "" {
		if err := writable(c.Log); err != nil {
			return w, err // before the drive, not after it
		}
	}
	w = rehearsal.Wishes{AmbientK: kelvin.SI, Seed: c.Seed, Manner: driver.Usual()}
	if c.Log != "" {
		w.LogHz = float64(c.Hz)
	}
	switch c.Route {
	case "":
		w.Manner.IdleS, w.EndS = 1e6, 45
	case "hills":
		w.Route = driver.Hills()
	default:
		text, err := os.ReadFile(c.Route)
		if err != nil {
			return w, fmt.Errorf("--route %q: %w; name a CSV file of speed over time, or hills", c.Route, bare(err))
		}
		route, found := driver.ReadRoute(bytes.NewReader(text), filepath.Base(c.Route))
		if len(found) > 0 {
			diag.Print(e.err, found, func(string) []byte { return text }, e.colour)
			return w, quiet(2)
		}
		w.Route = route
	}
	return w, nil
}

func (c *rehearseCmd) print(e *env, setup *rehearsal.Setup, v *rehearsal.Run) {
	st := v.Start()
	fmt.Fprintf(e.out, "a virtual start of %q at %s: a simulation, no engine has run\n", setup.Name, c.At)
	for _, n := range setup.Notes {
		fmt.Fprintf(e.out, "  assumed: %s\n", n)
	}
	if st.FiredAfterS >= 0 {
		fmt.Fprintf(e.out, "  fired after         %s of cranking, battery down to %s\n", quantity.Format(st.FiredAfterS, "s", 2), quantity.Format(st.LeastBusV, "V", 3))
	}
	if st.IdleS > 0 {
		fmt.Fprintf(e.out, "  idle off by         %+.0f rpm at most from 20 s on, %+.0f rpm in the mean\n", st.IdleOffRadPerS*30/math.Pi, st.IdleMeanRadPerS*30/math.Pi)
	}
	if w := st.Wrong(); w != "" && (c.Route == "" || st.IdleS >= 5) {
		fmt.Fprintf(e.out, "  not a good start:   %s\n", w)
	}
	if s := v.Control.StopReason(); s != "" {
		fmt.Fprintf(e.out, "  protection stopped the engine: %s\n", s)
	}
	if v.Control.LeanCuts > 0 {
		fmt.Fprintf(e.out, "  lean cuts           %d\n", v.Control.LeanCuts)
	}
	if c.Route != "" {
		printDrive(e, v.Breakdown())
	}
	if c.Log != "" {
		fmt.Fprintf(e.out, "%s written\n", c.Log)
	}
}

func printDrive(e *env, b rehearsal.Breakdown) {
	fmt.Fprintf(e.out, "  drove               %s in %s\n", quantity.Format(b.DistanceM, "km", 4), quantity.Format(b.TimeS, "s", 0))
	use := "no distance to tell a consumption for"
	if !math.IsNaN(b.FuelM3PerM) {
		use = fmt.Sprintf("%.2f L/100 km", b.FuelM3PerM*1e8)
	}
	fmt.Fprintf(e.out, "  fuel                %.3f L, %s; %.1f %% of it at rest in %s\n", b.FuelM3*1e3, use, 100*b.StandingKg/math.Max(b.FuelKg, 1e-9), quantity.Format(b.StandingS, "s", 0))
	fmt.Fprintf(e.out, "  work at the crank   %.2f MJ, %.1f %% of the fuel's heat; of it\n", b.WorkJ/1e6, 100*b.EfficiencyFrac)
	shares := slices.Clone(b.Shares)
	slices.SortStableFunc(shares, func(a, c rehearsal.Share) int {
		switch {
		case a.J > c.J:
			return -1
		case a.J < c.J:
			return 1
		}
		return 0
	})
	for _, s := range shares {
		fmt.Fprintf(e.out, "    %-34s %6.1f %%\n", s.Name, 100*s.Frac)
	}
	fmt.Fprintf(e.out, "    %-34s %6.2g %%\n", "not accounted for", 100*b.MissJ/math.Max(b.WorkJ, 1))
}
