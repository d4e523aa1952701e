package web

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"fettle/internal/calibrate"
	"fettle/internal/diag"
	"fettle/internal/folder"
	"fettle/internal/run"
	"fettle/internal/table"
	"fettle/internal/web/mapsheet"
	"fettle/internal/web/plain"
	"fettle/internal/web/shell"
)

// computedMap is a starting table as its file would read, with its spreads, which
// a file does not hold.
type computedMap struct {
	calibrate.Map
	name, title string
	csv         []byte
	spread      *table.Grid
}

// maps computes the starting tables of a result, or finds them computed.
func (s *Server) maps(ctx context.Context, r *run.Result) ([]computedMap, error) {
	s.mu.Lock()
	kept, ok := s.tables[r.Hash]
	s.mu.Unlock()
	if ok {
		return kept.maps, kept.err
	}
	defer s.filled.of.Store(0)
	list, err := run.Maps(ctx, r, func(done, of int) {
		s.filled.done.Store(int64(done))
		s.filled.of.Store(int64(of))
	})
	if ctx.Err() != nil {
		return nil, context.Cause(ctx) // what was not made is not kept
	}
	out := make([]computedMap, 0, len(list))
	for _, m := range list {
		csv, csvErr := calibrate.CSV(m)
		if csvErr != nil {
			err = errors.Join(err, csvErr)
			continue
		}
		c := computedMap{Map: m, name: m.Name, title: m.Title, csv: csv}
		if g, ok := m.Grid.SpreadGrid(); ok {
			c.spread = &g
		}
		out = append(out, c)
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if len(s.tables) > mostTables {
		clear(s.tables)
	}
	s.tables[r.Hash] = madeTables{out, err}
	return out, err
}

// mostTables is for how many versions of the build tables are remembered.
const mostTables = 8

type madeTables struct {
	maps []computedMap
	err  error
}

// fillMaps gives the sheet of tables what stands in the folder.
func (s *Server) fillMaps(ctx context.Context, a *shell.Ask) error {
	if a.Page != mapsheet.Key || !a.Result.OK() {
		return nil
	}
	list, err := s.maps(ctx, a.Result)
	if ctx.Err() != nil {
		return err
	}
	if err != nil {
		a.MapsProblem = err.Error()
	}
	a.MapSettings, err = run.Settings(a.Result)
	if err != nil {
		a.MapsProblem = strings.TrimPrefix(a.MapsProblem+"; "+err.Error(), "; ")
	}
	revs, err := s.o.Folder.Revisions()
	if err != nil {
		return err
	}
	for _, m := range list {
		if a.Map == "" {
			a.Map = m.name
		}
		f, err := s.mapFile(m, revs)
		if err == nil && m.name == a.Map && a.MapView.Show == "difference" {
			err = s.against(&f, m, revs, a.MapView.Against)
		}
		if err != nil {
			return err
		}
		a.Maps = append(a.Maps, f)
	}
	s.fillPulse(a, list)
	return nil
}

// against reads what a table is held against: another revision, or the table as
// the build is computed now.
func (s *Server) against(f *shell.MapFile, m computedMap, revs []folder.Revision, what string) error {
	src, name := m.csv, "the computed table"
	if what != "computed" {
		n, _ := strconv.Atoi(what)
		h := folder.HistoryOf(revs, m.name, folder.Stamp(f.Stamp))
		if name = h.File(n); name == "" {
			f.NoView = fmt.Sprintf("the content of revision %q is kept nowhere", what)
			return nil
		}
		var err error
		if src, _, err = s.o.Folder.Read(name); err != nil {
			return err
		}
	}
	g, _, ds := table.Read(bytes.NewReader(src), name)
	if worst, any := diag.Worst(ds); any && worst == diag.Error {
		f.NoView = ds[0].String()
		return nil
	}
	d, err := table.Difference(&f.Grid, &g)
	if err != nil {
		f.NoView = err.Error()
		return nil
	}
	f.Against = &d
	return nil
}

// mapFile is one table as it is in the folder, else as it is computed.
func (s *Server) mapFile(m computedMap, revs []folder.Revision) (shell.MapFile, error) {
	out := shell.MapFile{Name: m.name, Title: m.title, Spread: m.spread}
	file := "maps/" + m.name + ".csv"
	stamp, err := s.o.Folder.Stamp(file)
	if err != nil {
		return out, err
	}
	src := m.csv
	if stamp != "" {
		if src, stamp, err = s.o.Folder.Read(file); err != nil {
			return out, err
		}
		out.Written, out.Stamp = true, string(stamp)
	}
	proposed, err := s.o.Folder.Stamp("maps/" + m.name + ".proposed.csv")
	if err != nil {
		return out, err
	}
	out.Proposed = proposed != ""
	out.ByHand = out.Written
	h := folder.HistoryOf(revs, m.name, stamp)
	out.Undo, out.Redo = h.Undo, h.Redo
	for i := len(revs) - 1; i >= 0; i-- {
		if r := revs[i]; r.Map == m.name {
			out.Revisions = append(out.Revisions, shell.MapRevision{N: r.N, By: string(r.By), Reason: r.Reason, File: r.File, Kept: r.Kept})
			if r.Stamp == stamp && r.By == folder.Computed {
				out.ByHand = false
			}
		}
	}
	var ds []diag.Diagnostic
	out.Grid, out.Meta, ds = table.Read(bytes.NewReader(src), file)
	if worst, any := diag.Worst(ds); any && worst == diag.Error {
		out.Problem = ds[0].String()
	}
	if g := out.Spread; g != nil && (!g.X.Equal(out.Grid.X) || !g.Y.Equal(out.Grid.Y)) {
		out.Spread = nil // the file has other axes than what is computed now
	}
	return out, nil
}

// settingsCSV hands out the single values beside the tables as their file.
func (s *Server) settingsCSV(w http.ResponseWriter, r *http.Request) {
	cur, err := s.current(r.Context())
	if err != nil {
		s.fail(w, r, err)
		return
	}
	if !cur.OK() {
		s.plain(w, r, http.StatusNotFound, plain.Lost("The build file has errors; there are no settings until they are mended."))
		return
	}
	list, err := run.Settings(cur.Result)
	if err != nil {
		s.plain(w, r, http.StatusNotFound, plain.Lost("No settings can be made: "+err.Error()+"."))
		return
	}
	csv, err := calibrate.SettingsCSV(list)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	w.Header().Set("Content-Type", "text/csv; charset=utf-8")
	w.Header().Set("Content-Disposition", `attachment; filename="settings.csv"`)
	_, _ = w.Write(csv)
}

// mapCSV hands out a table as its file.
func (s *Server) mapCSV(w http.ResponseWriter, r *http.Request) {
	name, ok := strings.CutSuffix(r.PathValue("file"), ".csv")
	if ok && name == "settings" {
		s.settingsCSV(w, r)
		return
	}
	m, why, err := s.mapNamed(r.Context(), name)
	var b bytes.Buffer
	if err == nil && ok && why == "" {
		err = table.Write(&b, m.Grid, m.Meta)
	}
	switch {
	case err != nil:
		s.fail(w, r, err)
	case !ok || why != "":
		s.plain(w, r, http.StatusNotFound, plain.Lost("No table that reads has this name."))
	default:
		w.Header().Set("Content-Type", "text/csv; charset=utf-8")
		w.Header().Set("Content-Disposition", `attachment; filename="`+m.Name+`.csv"`)
		_, _ = w.Write(b.Bytes())
	}
}
