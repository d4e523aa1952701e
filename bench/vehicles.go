package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"strings"
	"time"

	"fettle/internal/buildfile"
	"fettle/internal/dcnet/dcnettest"
	"fettle/internal/demo"
	"fettle/internal/loom"
	"fettle/internal/run"
	"fettle/internal/run/runtest"
	"fettle/internal/vehicle"
)

// vehicles prints what a vehicle's states take, beside ngspice on the operating
// points of the same network: ngspice solves the circuit only, fettle the
// engine, fuel and alternator with it.
func vehicles(w io.Writer) error {
	fmt.Fprintf(w, "\n## Vehicle\n\nThe demo, nine states. Beside it ngspice on the operating points of the same network, the circuit alone, with what the\nbalance drives standing in it at the current it settled at; fettle solves engine, fuel and alternator with it.\n\n| what | fettle | beside it | its time | ratio |\n|---|--:|---|--:|--:|\n")
	was, now, err := twoCampers()
	if err != nil {
		return err
	}
	theirs, beside, err := statesInSpice(was)
	if err != nil {
		return err
	}
	row(w, "states from nothing, without the start", meanS(func() { solveFrom(was.Vehicle, nil) }), beside, theirs)
	row(w, "one load changed, all states again", meanS(func() { solveFrom(now.Vehicle, was) }), beside, theirs)
	row(w, "states from nothing, with the first second of a cold start", meanS(func() {
		if _, err := was.Vehicle.Solve(nil); err != nil {
			panic(err)
		}
	}), beside, theirs)
	return fullCar(w)
}

// statesInSpice is the time ngspice takes for the operating points of all states
// of a vehicle's network.
func statesInSpice(r *vehicle.Result) (seconds float64, beside string, err error) {
	for i := range r.States {
		s := &r.States[i]
		tw := dcnettest.NewTwin()
		for tw.Net.NodeCount() < r.Vehicle.NodeCount() {
			tw.Node()
		}
		if err := s.Tell(tw, 1e10); err != nil {
			return 0, "", err
		}
		op, err := spiceS(tw.Deck(s.Key, s.Point.Net.Dead, 0))
		if err != nil {
			return 0, "", fmt.Errorf("%s: %w", s.Name, err)
		}
		seconds += op
	}
	return seconds, fmt.Sprintf("ngspice `op`, its %d circuits", len(r.States)), nil
}

// fullCar prints what a vehicle of 400 wires takes against what it is to take,
// and how busy the machine was.
func fullCar(w io.Writer) error {
	was, now, err := twoOf(runtest.FullCar(), "fan")
	if err != nil {
		return err
	}
	d := was.Vehicle.Design
	fmt.Fprintf(w, "\n## A vehicle of %d wires\n\nInvented, of catalogue parts with three control units, %d points of the network; nine states. From pins to solved states\nwithout the engine's own tables, which hang on the engine alone and are kept. Load average of the machine at the time: %s.\n\n| what | processor time | elapsed | wanted | kept |\n|---|--:|--:|--:|---|\n", len(was.Vehicle.Loom.Wires), was.Vehicle.NodeCount(), loadAverage())
	var kept vehicle.Engines
	one := func(name string, wantedS float64, do func()) {
		usedS, elapsedS := meanS(do), leastS(do)
		says, wanted := "", ""
		if wantedS > 0 {
			says, wanted = "yes", show(wantedS)
			if usedS > wantedS {
				says = "**no**"
			}
		}
		fmt.Fprintf(w, "| %s | %s | %s | %s | %s |\n", name, show(usedS), show(elapsedS), wanted, says)
	}
	one("assign, route, size and solve all states", 0.1, func() {
		l, ds := loom.Plan(d)
		if len(ds) > 0 {
			panic(ds[0].Msg)
		}
		v, err := vehicle.New(context.Background(), d, l, &kept)
		if err != nil {
			panic(err)
		}
		solveFrom(v, nil)
	})
	one("of it the loom", 0, func() { loom.Plan(d) })
	one("of it the states", 0, func() { solveFrom(was.Vehicle, nil) })
	one("one load changed, all states again", 0.002, func() { solveFrom(now.Vehicle, was) })
	theirs, beside, err := statesInSpice(was)
	if err != nil {
		return err
	}
	fmt.Fprintf(w, "| beside it: %s | %s | | | |\n", beside, show(theirs))
	fmt.Fprint(w, "\nBy a profile of November 2026 the loom spends two thirds on sizes (a third of the whole on judging them against fuse and\nheat), a fifth on what each blown fuse does and a fifteenth on pins; one load changed spends seven tenths in the network, a\nfifth of that in storing and collecting answers, and a tenth in setting it. Kept is judged\nby processor time, which counts the collection of memory beside it; elapsed is the least of twenty calls.\n")
	return nil
}

// leastS is the shortest elapsed time of twenty calls.
func leastS(one func()) float64 {
	best := math.Inf(1)
	for range 20 {
		from := time.Now()
		one()
		best = math.Min(best, time.Since(from).Seconds())
	}
	return best
}

// loadAverage is the kernel's, over one minute.
func loadAverage() string {
	text, err := os.ReadFile("/proc/loadavg")
	if err != nil {
		return "not known"
	}
	first, _, _ := strings.Cut(string(text), " ")
	return first
}

func solveFrom(v *vehicle.Vehicle, before *vehicle.Result) {
	if _, err := v.SolveFrom(before); err != nil {
		panic(err)
	}
}

// twoCampers are the demo, and the demo with one fan changed.
func twoCampers() (was, now *vehicle.Result, err error) {
	files, err := demo.Files("camper")
	if err != nil {
		return nil, nil, err
	}
	in := run.Input{File: "build.yaml", Src: files["build.yaml"], Parts: map[string][]byte{}}
	for name, b := range files {
		if strings.HasPrefix(name, "parts/") {
			in.Parts[name] = b
		}
	}
	return twoOf(in, "left fan")
}

// twoOf are a vehicle, and the same with one fan changed.
func twoOf(in run.Input, fan string) (was, now *vehicle.Result, err error) {
	c, err := run.NewCache()
	if err != nil {
		return nil, nil, err
	}
	r, err := run.Nominal(context.Background(), in, c)
	if err != nil || !r.OK() {
		return nil, nil, errors.Join(err, errors.New("the vehicle does not solve"))
	}
	after, err := c.Mended(context.Background(), r, []buildfile.Edit{{Path: []string{"devices", fan, "part"}, Text: "small radiator fan"}})
	if err != nil || after == nil {
		return nil, nil, errors.Join(err, errors.New("the fan can't be changed"))
	}
	return r.Solved, after.Solved, nil
}
