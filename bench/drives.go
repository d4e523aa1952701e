package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"fettle/internal/demo"
	"fettle/internal/driver"
	"fettle/internal/rehearsal"
	"fettle/internal/run"
)

// drives prints how much faster than the road the virtual vehicle drives, and where
// the demo's fuel goes.
func drives(w io.Writer) error {
	s, err := camperToDrive()
	if err != nil {
		return err
	}
	wltc, err := wltcRoute()
	if err != nil {
		return err
	}
	fmt.Fprintf(w, "\n## Virtual vehicle\n\nThe invented camper, its switched supply mended, started at 20 °C and driven by its own starting tables, the log at 20 Hz kept.\nTimes of processor against times of road. Load average of the machine at the time: %s.\n\n| route | road | processor | times as fast | wanted | kept |\n|---|--:|--:|--:|--:|---|\n", loadAverage())
	var last rehearsal.Breakdown
	for _, route := range []driver.Route{driver.Hills(), wltc} {
		fastest := 0.0
		for range 3 {
			from := usedS()
			r, err := s.Begin(rehearsal.Wishes{AmbientK: 293.15, Seed: 1, Manner: driver.Usual(), Route: route, LogHz: 20})
			if err != nil {
				return err
			}
			if err := r.Finish(nil); err != nil {
				return err
			}
			last = r.Breakdown()
			fastest = max(fastest, last.TimeS/(usedS()-from))
		}
		says := "yes"
		if fastest < 500 {
			says = "**no**"
		}
		fmt.Fprintf(w, "| %s | %.0f s | %s | %.0f | 500 | %s |\n", route.Name, last.TimeS, show(last.TimeS/fastest), fastest, says)
	}
	fmt.Fprintf(w, "\nOver WLTC it burns %.2f L/100 km in simulation. Of the fuel's heat %.1f %% is work at the crank, which goes:", 1e8*last.FuelM3PerM, 100*last.EfficiencyFrac)
	for i, p := range last.Shares {
		if i > 0 {
			fmt.Fprint(w, ",")
		}
		fmt.Fprintf(w, " %s %.1f %%", p.Name, 100*p.Frac)
	}
	fmt.Fprintf(w, ". Not accounted for: %.1g %%.\n", 100*last.MissJ/last.WorkJ)
	return nil
}

// camperToDrive is the demo with what keeps it from starting mended.
func camperToDrive() (*rehearsal.Setup, error) {
	files, err := demo.Files("camper")
	if err != nil {
		return nil, err
	}
	src := bytes.Replace(files["build.yaml"], []byte("switched: {from: 75,"), []byte("switched: {from: 15,"), 1)
	in := run.Input{File: "build.yaml", Src: src, Parts: map[string][]byte{}}
	for name, b := range files {
		if strings.HasPrefix(name, "parts/") {
			in.Parts[name] = b
		}
	}
	c, err := run.NewCache()
	if err != nil {
		return nil, err
	}
	r, err := run.Nominal(context.Background(), in, c)
	if err != nil || !r.OK() {
		return nil, errors.Join(err, errors.New("the vehicle does not solve"))
	}
	maps, err := run.Maps(context.Background(), r, nil)
	if err != nil {
		return nil, err
	}
	rules, err := run.Settings(r)
	if err != nil {
		return nil, err
	}
	return rehearsal.Of(r.Solved, maps, rules, "starting tables")
}

// wltcRoute is the cycle as a user has it: a file of speed over time.
func wltcRoute() (driver.Route, error) {
	dir := os.Getenv("FETTLE_OPEN_DATA")
	if dir == "" {
		dir = filepath.Join("..", "..", "shared", "data")
	}
	text, err := os.ReadFile(filepath.Join(dir, "cycles", "wltc_3b.csv"))
	if err != nil {
		return driver.Route{}, fmt.Errorf("WLTC: set FETTLE_OPEN_DATA to the folder of the open data: %w", err)
	}
	r, found := driver.ReadRoute(bytes.NewReader(text), "WLTC class 3b")
	if len(found) > 0 {
		return driver.Route{}, fmt.Errorf("%v", found[0])
	}
	return r, nil
}
