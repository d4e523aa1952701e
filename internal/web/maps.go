package web

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"fettle/internal/calibrate"
	"fettle/internal/diag"
	"fettle/internal/folder"
	"fettle/internal/run"
	"fettle/internal/table"
	"fettle/internal/web/mapsheet"
	"fettle/internal/web/shell"
)

// computedMap is a starting table as its file would read.
type computedMap struct {
	name, title string
	csv         []byte
}

// maps computes the starting tables of a result, or finds them computed.
func (s *Server) maps(r *run.Result) ([]computedMap, error) {
	s.mu.Lock()
	kept, ok := s.tables[r.Hash]
	s.mu.Unlock()
	if ok {
		return kept.maps, kept.err
	}
	list, err := run.Maps(r)
	out := make([]computedMap, 0, len(list))
	for _, m := range list {
		csv, csvErr := calibrate.CSV(m)
		if csvErr != nil {
			err = errors.Join(err, csvErr)
			continue
		}
		out = append(out, computedMap{m.Name, m.Title, csv})
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
func (s *Server) fillMaps(a *shell.Ask) error {
	if a.Page != mapsheet.Key || !a.Result.OK() {
		return nil
	}
	list, err := s.maps(a.Result)
	if err != nil {
		a.MapsProblem = err.Error()
	}
	revs, err := s.o.Folder.Revisions()
	if err != nil {
		return err
	}
	for _, m := range list {
		f, err := s.mapFile(m, revs)
		if err != nil {
			return err
		}
		a.Maps = append(a.Maps, f)
	}
	if a.Map == "" && len(a.Maps) > 0 {
		a.Map = a.Maps[0].Name
	}
	return nil
}

// mapFile is one table as it is in the folder, else as it is computed.
func (s *Server) mapFile(m computedMap, revs []folder.Revision) (shell.MapFile, error) {
	out := shell.MapFile{Name: m.name, Title: m.title}
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
	return out, nil
}

// writeMaps writes every computed table that no hand has changed.
func (s *Server) writeMaps(w http.ResponseWriter, r *http.Request) {
	cur, err := s.current(r.Context())
	if err == nil && cur.OK() {
		var list []computedMap
		if list, err = s.maps(cur.Result); err == nil {
			for _, m := range list {
				if _, err = s.o.Folder.WriteMap(m.name, m.csv, "computed from "+folder.Main+" "+cur.Hash[:12]); err != nil {
					break
				}
			}
		}
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.backToMap(w, r, r.PostFormValue("map"), shell.MapEdit{}, "")
}

// editMap changes a block of cells; the change is a revision with its reason.
func (s *Server) editMap(w http.ResponseWriter, r *http.Request) {
	e := readMapEdit(r)
	why, err := s.changeMap(r.Context(), e)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.backToMap(w, r, e.Map, e, why)
}

func readMapEdit(r *http.Request) shell.MapEdit {
	number := func(key string) int {
		n, err := strconv.Atoi(r.PostFormValue(key))
		if err != nil {
			return -1
		}
		return n
	}
	return shell.MapEdit{
		Map: short(r.PostFormValue("map")), Seen: short(r.PostFormValue("seen")), Text: short(r.PostFormValue("text")), Reason: short(r.PostFormValue("reason")),
		Row0: number("r0"), Row1: number("r1"), Col0: number("c0"), Col1: number("c1"),
	}
}

// changeMap makes a change of cells; why says in words what was wrong with it.
func (s *Server) changeMap(ctx context.Context, e shell.MapEdit) (why string, err error) {
	c, bad := table.ParseChange(e.Text)
	if bad != nil {
		return bad.Error(), nil
	}
	if strings.TrimSpace(e.Reason) == "" {
		return "a change of a table wants a reason; write why", nil
	}
	m, why, err := s.mapNamed(ctx, e.Map)
	if why != "" || err != nil {
		return why, err
	}
	grid, bad := c.Apply(&m.Grid, table.Block{Row0: min(e.Row0, e.Row1), Row1: max(e.Row0, e.Row1), Col0: min(e.Col0, e.Col1), Col1: max(e.Col0, e.Col1)})
	if bad != nil {
		return bad.Error(), nil
	}
	var b bytes.Buffer
	if err := table.Write(&b, grid, m.Meta); err != nil {
		return err.Error(), nil
	}
	return s.saveMap(m, b.Bytes(), e.Reason, e.Seen)
}

// mapNamed is a table of the present build by its name.
func (s *Server) mapNamed(ctx context.Context, name string) (m shell.MapFile, why string, err error) {
	cur, err := s.current(ctx)
	if err != nil {
		return m, "", err
	}
	a := shell.Ask{Page: mapsheet.Key, Result: cur.Result}
	if err := s.fillMaps(&a); err != nil {
		return m, "", err
	}
	for _, m := range a.Maps {
		if m.Name == name {
			if m.Problem != "" {
				return m, m.Problem, nil
			}
			return m, "", nil
		}
	}
	return m, fmt.Sprintf("there is no table %q", name), nil
}

// saveMap writes a hand's revision. A table that is only computed so far is
// written first, so that the history begins with it.
func (s *Server) saveMap(m shell.MapFile, data []byte, reason, seen string) (why string, err error) {
	if !m.Written {
		var b bytes.Buffer
		if err := table.Write(&b, m.Grid, m.Meta); err != nil {
			return "", err
		}
		w, err := s.o.Folder.WriteMap(m.Name, b.Bytes(), "computed, before the first change")
		if err != nil {
			return "", err
		}
		seen = string(w.Stamp)
	}
	_, err = s.o.Folder.EditMap(m.Name, data, reason, folder.Stamp(seen))
	var changed *folder.Changed
	if errors.As(err, &changed) {
		return fmt.Sprintf("%s was changed on disk meanwhile, so your change was not put into it; it is kept as %s", changed.Name, changed.KeptAs), nil
	}
	return "", err
}

// backMap brings back what stood before a revision, as a revision of its own.
func (s *Server) backMap(w http.ResponseWriter, r *http.Request) {
	e := readMapEdit(r)
	n, _ := strconv.Atoi(r.PostFormValue("n"))
	why, err := s.bringBack(r.Context(), e, n)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.backToMap(w, r, e.Map, e, why)
}

func (s *Server) bringBack(ctx context.Context, e shell.MapEdit, n int) (why string, err error) {
	m, why, err := s.mapNamed(ctx, e.Map)
	if why != "" || err != nil {
		return why, err
	}
	for _, rev := range m.Revisions {
		if rev.N != n || rev.Kept == "" {
			continue
		}
		src, _, err := s.o.Folder.Read(rev.Kept)
		if err != nil {
			return "", err
		}
		return s.saveMap(m, src, fmt.Sprintf("back to what stood before revision %d", n), e.Seen)
	}
	return "there is no such revision", nil
}

// backToMap shows the table that was worked on.
func (s *Server) backToMap(w http.ResponseWriter, r *http.Request, name string, e shell.MapEdit, why string) {
	if why == "" && r.Header.Get(partHeader) == "" {
		http.Redirect(w, r, "/maps?"+url.Values{"map": {name}}.Encode(), http.StatusSeeOther)
		return
	}
	a := asked(r, mapsheet.Key)
	a.Map, a.MapRefuse, a.MapTyped = name, why, e
	status := http.StatusOK
	if why != "" {
		status = http.StatusUnprocessableEntity
	}
	s.show(w, r, a, status, nil)
}
