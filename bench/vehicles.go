package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"fettle/internal/buildfile"
	"fettle/internal/dcnet"
	"fettle/internal/dcnet/dcnettest"
	"fettle/internal/demo"
	"fettle/internal/run"
	"fettle/internal/vehicle"
)

// vehicles prints what the demo's states take, beside ngspice on as many
// operating points of a network of the same size: ngspice solves the circuit
// only, fettle the engine, fuel and alternator with it.
func vehicles(w io.Writer) error {
	fmt.Fprintf(w, "\n## Vehicle\n\nThe demo, nine states. Beside it ngspice on nine operating points of an invented network with as many nodes: the circuit\nalone, where fettle solves engine, fuel and alternator with it.\n\n| what | fettle | beside it | its time | ratio |\n|---|--:|---|--:|--:|\n")
	was, now, err := twoCampers()
	if err != nil {
		return err
	}
	start, err := was.Vehicle.Solve(nil)
	if err != nil {
		return err
	}
	tw := dcnettest.Harness(was.Vehicle.NodeCount(), false)
	var s dcnet.Solution
	if e := tw.Net.SolveInto(&s, tw.Sw, nil); !e.OK {
		return errors.New(e.Why)
	}
	op, err := spiceS(tw.Deck("harness", s.Dead, 13))
	if err != nil {
		return err
	}
	theirs := float64(len(start.States)) * op
	beside := fmt.Sprintf("ngspice `op`, %d times", len(start.States))
	row(w, "states from nothing, without the start", meanS(func() { solveFrom(was.Vehicle, nil) }), beside, theirs)
	row(w, "one load changed, all states again", meanS(func() { solveFrom(now.Vehicle, start) }), beside, theirs)
	row(w, "states from nothing, with the first second of a cold start", meanS(func() {
		if _, err := was.Vehicle.Solve(nil); err != nil {
			panic(err)
		}
	}), beside, theirs)
	return nil
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
	c, err := run.NewCache()
	if err != nil {
		return nil, nil, err
	}
	r, err := run.Nominal(context.Background(), in, c)
	if err != nil || !r.OK() {
		return nil, nil, errors.Join(err, errors.New("the demo does not solve"))
	}
	after, err := c.Mended(context.Background(), r, []buildfile.Edit{{Path: []string{"devices", "left fan", "part"}, Text: "small radiator fan"}})
	if err != nil || after == nil {
		return nil, nil, errors.Join(err, errors.New("the fan can't be changed"))
	}
	return r.Solved, after.Solved, nil
}
