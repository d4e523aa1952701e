package main

import (
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"

	"gonum.org/v1/gonum/mat"

	"fettle/internal/dcnet"
	"fettle/internal/dcnet/dcnettest"
)

// networks prints dcnet beside gonum's dense LU and beside ngspice.
func networks(w io.Writer) error {
	fmt.Fprintf(w, "## Network\n\n| operating point of | fettle | beside it | its time | ratio |\n|---|--:|---|--:|--:|\n")
	for _, nodes := range []int{250, 500} {
		if err := againstDense(w, nodes); err != nil {
			return err
		}
	}
	for _, nodes := range []int{250, 1000} {
		if err := againstSpice(w, nodes); err != nil {
			return err
		}
	}
	return again(w)
}

func row(w io.Writer, what string, ourS float64, beside string, theirS float64) {
	fmt.Fprintf(w, "| %s | %s | %s | %s | %.3g |\n", what, show(ourS), beside, show(theirS), theirS/ourS)
}

func show(s float64) string {
	switch {
	case s < 1e-3:
		return fmt.Sprintf("%.3g µs", s*1e6)
	case s < 1:
		return fmt.Sprintf("%.3g ms", s*1e3)
	}
	return fmt.Sprintf("%.3g s", s)
}

// againstDense: the loads are resistances, so one factorisation is the answer.
func againstDense(w io.Writer, nodes int) error {
	tw := dcnettest.Harness(nodes, true)
	var s dcnet.Solution
	if e := tw.Net.SolveInto(&s, tw.Sw, nil); !e.OK {
		return errors.New(e.Why)
	}
	g, in := tw.Dense()
	var lu mat.LU
	var v mat.VecDense
	dense := func() {
		lu.Factorize(g)
		if err := lu.SolveVecTo(&v, false, in); err != nil {
			panic(err)
		}
	}
	dense()
	for k := range v.Len() {
		if math.Abs(v.AtVec(k)-s.NodeV[k+1]) > 1e-8 {
			return fmt.Errorf("node %d: %g V, dense %g V", k+1, s.NodeV[k+1], v.AtVec(k))
		}
	}
	ours := meanS(func() { tw.Net.SolveInto(&s, tw.Sw, nil) })
	row(w, fmt.Sprintf("%d nodes, loads resistances", nodes), ours, "gonum dense LU, matrix given", meanS(dense))
	return nil
}

// againstSpice: loads of every kind, from nothing.
func againstSpice(w io.Writer, nodes int) error {
	tw := dcnettest.Harness(nodes, false)
	var s dcnet.Solution
	if e := tw.Net.SolveInto(&s, tw.Sw, nil); !e.OK {
		return errors.New(e.Why)
	}
	theirs, err := spiceS(tw.Deck("harness", s.Dead, 13))
	if err != nil {
		return err
	}
	ours := meanS(func() { tw.Net.SolveInto(&s, tw.Sw, nil) })
	row(w, fmt.Sprintf("%d nodes, loads of every kind", nodes), ours, "ngspice `op`, circuit loaded", theirs)
	return nil
}

// spiceS is the time ngspice takes for one operating point, from the difference
// between a run with many and one with few.
func spiceS(deck string) (float64, error) {
	dir, err := os.MkdirTemp("", "bench")
	if err != nil {
		return 0, err
	}
	defer os.RemoveAll(dir)
	if err := os.WriteFile(filepath.Join(dir, "net.cir"), []byte(deck), 0o600); err != nil {
		return 0, err
	}
	run := func(times int) (float64, error) {
		control := "run\n.control\nsource net.cir\n" + strings.Repeat("op\ndestroy all\n", times) + "quit\n.endc\n.end\n"
		if err := os.WriteFile(filepath.Join(dir, "run.cir"), []byte(control), 0o600); err != nil {
			return 0, err
		}
		cmd := exec.Command("ngspice", "-b", "run.cir")
		cmd.Dir = dir
		out, err := cmd.CombinedOutput()
		if cmd.ProcessState == nil {
			return 0, err
		}
		if strings.Contains(string(out), "aborted") {
			return 0, errors.New("ngspice found no operating point")
		}
		return (cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()).Seconds(), nil
	}
	const few, many = 5, 205
	a, err := run(few)
	if err != nil {
		return 0, err
	}
	b, err := run(many)
	return (b - a) / (many - few), err
}

// again: one load changed, from the answer before, against from nothing.
func again(w io.Writer) error {
	tw := dcnettest.Harness(250, false)
	s, e := tw.Net.Solve(tw.Sw, nil)
	if !e.OK {
		return errors.New(e.Why)
	}
	k := 0
	next := func(start []float64) {
		k++
		tw.Net.SetLoad(tw.Loads[0], dcnet.Power{PowerW: float64(20 + k%20), DropOutV: 7})
		tw.Net.SolveInto(&s, tw.Sw, start)
	}
	row(w, "250 nodes, one load changed, from the answer before", meanS(func() { next(s.NodeV) }), "fettle from nothing", meanS(func() { next(nil) }))
	return nil
}
