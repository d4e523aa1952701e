package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"fettle/internal/demo"
	"fettle/internal/run"
)

// anEdit is a change of the demo's text, told apart from the one before it.
type anEdit struct {
	name, old, now string
	wantedS        float64
}

// edits prints how long the demo takes from an edit to fresh findings, mends
// tried, and what `fettle check` adds to it.
func edits(w io.Writer) error {
	fmt.Fprintf(w, "\n## From an edit to findings\n\nThe demo with its five findings: read, wired, solved, every mend tried. Load average of the machine at the time: %s.\n\n| what | processor time | elapsed | wanted |\n|---|--:|--:|--:|\n", loadAverage())
	files, err := demo.Files("camper")
	if err != nil {
		return err
	}
	in := run.Input{File: "build.yaml", Src: files["build.yaml"], Parts: map[string][]byte{}}
	for name, b := range files {
		if strings.HasPrefix(name, "parts/") {
			in.Parts[name] = b
		}
	}
	c, err := run.NewCache()
	if err != nil {
		return err
	}
	var r *run.Result
	if err := waited(w, "first, with the engine's tables", 0, func() (err error) {
		r, err = run.Nominal(context.Background(), in, c)
		return err
	}); err != nil {
		return err
	}
	if !r.OK() {
		return errors.New("the demo does not read")
	}
	for _, e := range []anEdit{
		{"a load changed: the left fan", "part: radiator fan, at: nose}", "part: small radiator fan, at: nose}", 1},
		{"the vehicle's mass changed", "mass: 2150 kg", "mass: 2160 kg", 1},
		{"the engine changed: its bore", "bore: 82.5 mm", "bore: 82.6 mm", 0},
	} {
		next := in
		next.Src = []byte(strings.Replace(string(in.Src), e.old, e.now, 1))
		if string(next.Src) == string(in.Src) {
			return fmt.Errorf("the demo has no %q to change", e.old)
		}
		if err := waited(w, e.name, e.wantedS, func() error {
			r, err := run.Nominal(context.Background(), next, c)
			if err == nil && !r.OK() {
				err = fmt.Errorf("%s: does not read", e.name)
			}
			return err
		}); err != nil {
			return err
		}
	}
	if err := waited(w, fmt.Sprintf("the chances, %d draws", run.Draws), 0, func() error {
		_, err := run.Spread(context.Background(), r, run.Draws, nil)
		return err
	}); err != nil {
		return err
	}
	return waited(w, "what moves each margin most", 0, func() error { run.Movers(r); return nil })
}

// waited runs a thing once, as a user does, and prints what it took.
func waited(w io.Writer, name string, wantedS float64, one func() error) error {
	used, from := usedS(), time.Now()
	if err := one(); err != nil {
		return err
	}
	wanted := ""
	if wantedS > 0 {
		wanted = show(wantedS)
	}
	fmt.Fprintf(w, "| %s | %s | %s | %s |\n", name, show(usedS()-used), show(time.Since(from).Seconds()), wanted)
	return nil
}
