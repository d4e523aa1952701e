package main

import (
	"context"
	"errors"
	"fmt"

	"fettle/internal/calibrate"
	"fettle/internal/run"
)

type mapsCmd struct {
	Dir   string            `arg:"" help:"The build folder." default:"."`
	Pulse string            `help:"Write nothing; print the injection pulse of this state with every factor in it: crank, idle, wet, cruise, full, hot." placeholder:"STATE"`
	At    map[string]string `help:"With --pulse, another value of its moment, as 'engine speed=3000'." placeholder:"VALUE=NUMBER"`
	JSON  bool              `name:"json" help:"Print what was written, or the pulse, as objects."`
}

type mapJSON struct {
	Name     string `json:"name"`
	File     string `json:"file"`
	Kept     string `json:"kept,omitempty"`
	Same     bool   `json:"unchanged"`
	Proposed bool   `json:"proposed"`
}

// Run writes the starting tables. A table that a hand changed is left alone and
// the new one is put beside it.
func (c *mapsCmd) Run(e *env) error {
	if len(c.At) > 0 && c.Pulse == "" {
		return errors.New("--at changes the moment of a pulse; name its state with --pulse as well")
	}
	s, err := open(e, c.Dir, c.JSON)
	if err != nil {
		return err
	}
	r := s.result
	if !r.OK() {
		return jsonErrors(e, r)
	}
	heads(e, r)
	if c.Pulse != "" {
		return c.pulse(e, s)
	}
	files, tableErr := tableFiles(r)
	var out []mapJSON
	for _, f := range files {
		w, err := s.folder.WriteMap(f.name, f.csv, "computed from "+r.Input.File+" "+r.Hash[:12])
		if err != nil {
			return err
		}
		out = append(out, mapJSON{f.name, w.File, w.Kept, w.Same, w.Proposed})
	}
	if c.JSON {
		if err := writeJSON(e.out, out); err != nil {
			return err
		}
		return tableErr
	}
	for _, m := range out {
		switch {
		case m.Same:
			fmt.Fprintf(e.out, "%s stands as it is\n", m.File)
		case m.Proposed:
			fmt.Fprintf(e.out, "%s was changed by hand and is left alone; the new table is %s\n", "maps/"+m.Name+".csv", m.File)
		case m.Kept != "":
			fmt.Fprintf(e.out, "%s written; the earlier one is %s\n", m.File, m.Kept)
		default:
			fmt.Fprintf(e.out, "%s written\n", m.File)
		}
	}
	if list, err := run.Settings(r); err == nil {
		fmt.Fprintf(e.out, "%s: maps/settings.csv, and verified: in %s\n", calibrate.FirstFireSays(list), r.Input.File)
	}
	return tableErr
}

// tableFile is a starting table, or the list of settings, as its file reads.
type tableFile struct {
	name string
	csv  []byte
}

// tableFiles are all that could be made; the error names what could not.
func tableFiles(r *run.Result) ([]tableFile, error) {
	maps, bad := run.Maps(context.Background(), r, nil)
	var out []tableFile
	for _, m := range maps {
		csv, err := calibrate.CSV(m)
		if err != nil {
			return nil, err
		}
		out = append(out, tableFile{m.Name, csv})
	}
	list, err := run.Settings(r)
	if err != nil {
		return out, errors.Join(bad, err)
	}
	csv, err := calibrate.SettingsCSV(list)
	if err != nil {
		return out, errors.Join(bad, err)
	}
	return append(out, tableFile{"settings", csv}), bad
}
