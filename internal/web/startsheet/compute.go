package startsheet

import (
	"context"
	"fmt"
	"math"

	"fettle/internal/driver"
	"fettle/internal/rehearsal"
	"fettle/internal/run"
	"fettle/internal/web/shell"
)

const (
	endS  = 33.0
	mildK = 293.15
	logHz = 20.0
)

// Hills is the word of the route that is built in.
const Hills = "hills"

// MostSeed bounds what may be asked for.
const MostSeed = 999999

// Tell hears what is being done and which share of the simulated time is behind it.
type Tell func(stage string, doneFrac float64)

// one is a run that is to be made.
type one struct {
	key, name string
	k         float64
	route     driver.Route
}

func (o *one) lastsS() float64 { return driver.Usual().StartS + endS + o.route.EndS() }

// Compute makes the starting tables and runs the vehicle by them: on the coldest day
// of the file, on a mild one, and over a route when one is asked for.
func Compute(ctx context.Context, r *run.Result, ask shell.Rehearsal, tell Tell) ([]shell.Rehearsed, error) {
	if err := rehearsal.Prevented(r.Solved); err != nil {
		return nil, err
	}
	tell("making the starting tables", 0)
	maps, err := run.Maps(ctx, r, func(done, of int) { tell(fmt.Sprintf("making the starting tables, %d of %d inputs", done, of), 0) })
	if err != nil {
		return nil, err
	}
	rules, err := run.Settings(r)
	if err != nil {
		return nil, err
	}
	setup, err := rehearsal.Of(r.Solved, maps, rules, "starting tables of "+r.Input.File+" "+r.Hash[:min(12, len(r.Hash))])
	if err != nil {
		return nil, err
	}
	list := []one{
		{key: "coldest", name: "coldest day", k: math.Max(243.15, r.Design.File.Climate.ColdestK.SI)},
		{key: "mild", name: "mild day", k: mildK},
	}
	if ask.Route == Hills {
		list = append(list, one{key: Hills, name: "drive over the hills", k: mildK, route: driver.Hills()})
	}
	total, done := 0.0, 0.0
	for _, o := range list {
		total += o.lastsS()
	}
	var out []shell.Rehearsed
	for _, o := range list {
		got, err := o.run(ctx, setup, ask.Seed, func(frac float64) { tell(o.name, (done+frac*o.lastsS())/total) })
		if err != nil {
			return nil, err
		}
		done += o.lastsS()
		out = append(out, got)
	}
	return out, nil
}

// run makes one run.
func (o *one) run(ctx context.Context, setup *rehearsal.Setup, seed uint64, tell func(frac float64)) (shell.Rehearsed, error) {
	w := rehearsal.Wishes{AmbientK: o.k, Seed: seed, Manner: driver.Usual(), LogHz: logHz, Route: o.route}
	if len(o.route.TimeS) == 0 {
		w.Manner.IdleS, w.EndS = 2*endS, w.Manner.StartS+endS
	}
	v, err := setup.Begin(w)
	if err != nil {
		return shell.Rehearsed{}, err
	}
	if err := v.Finish(func(frac float64) error { tell(frac); return ctx.Err() }); err != nil {
		return shell.Rehearsed{}, err
	}
	got := shell.Rehearsed{Key: o.key, Name: o.name, AmbientK: o.k, Log: v.Log(), Start: v.Start(), Cuts: v.Control.LeanCuts, Stopped: v.Control.StopReason()}
	if len(o.route.TimeS) > 0 {
		b := v.Breakdown()
		got.Drive = &b
	}
	return got, nil
}
