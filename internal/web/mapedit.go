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

	"fettle/internal/folder"
	"fettle/internal/table"
	"fettle/internal/web/mapsheet"
	"fettle/internal/web/shell"
)

// writeMaps writes every computed table that no hand has changed.
func (s *Server) writeMaps(w http.ResponseWriter, r *http.Request) {
	cur, err := s.current(r.Context())
	if err == nil && cur.OK() {
		var list []computedMap
		if list, err = s.maps(r.Context(), cur.Result); err == nil {
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
	if e.Act == "try" {
		s.tryMap(w, r, e)
		return
	}
	why, err := s.changeMap(r.Context(), e)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.backToMap(w, r, e.Map, e, why)
}

// tryMap shows what a change would do, without making it.
func (s *Server) tryMap(w http.ResponseWriter, r *http.Request, e shell.MapEdit) {
	m, why, err := s.mapNamed(r.Context(), e.Map)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	a := asked(r, mapsheet.Key)
	a.Map, a.MapTyped = e.Map, e
	if why == "" {
		var to table.Grid
		if to, err = changed(&m.Grid, e); err == nil {
			a.MapEffect = mapsheet.Effect(m.Name, &m.Grid, &to, block(e))
		} else {
			why = err.Error()
		}
	}
	a.MapRefuse = why
	s.show(w, r, a, http.StatusOK, nil)
}

func block(e shell.MapEdit) table.Block {
	return table.Block{Row0: min(e.Row0, e.Row1), Row1: max(e.Row0, e.Row1), Col0: min(e.Col0, e.Col1), Col1: max(e.Col0, e.Col1)}
}

// changed is a table with a change made; the error says in words what is wrong
// with the change.
func changed(g *table.Grid, e shell.MapEdit) (table.Grid, error) {
	switch {
	case e.Act == "between":
		return table.Between(g, block(e))
	case e.Act == "smooth":
		return table.Smooth(g, block(e))
	case e.Act == "paste" || e.Text == "" && e.Cells != "": // Enter in the reason of pasted cells
		return table.Paste(g, block(e), e.Cells)
	}
	c, err := table.ParseChange(e.Text)
	if err != nil {
		return table.Grid{}, err
	}
	return c.Apply(g, block(e))
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
		Act: short(r.PostFormValue("act")), Cells: r.PostFormValue("cells"),
		Row0: number("r0"), Row1: number("r1"), Col0: number("c0"), Col1: number("c1"),
	}
}

// changeMap makes a change of cells; why says in words what was wrong with it.
func (s *Server) changeMap(ctx context.Context, e shell.MapEdit) (why string, err error) {
	m, why, err := s.mapNamed(ctx, e.Map)
	if why != "" || err != nil {
		return why, err
	}
	grid, bad := changed(&m.Grid, e)
	if bad != nil {
		return bad.Error(), nil
	}
	if strings.TrimSpace(e.Reason) == "" {
		return "a change of a table wants a reason; write why", nil
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
	if err := s.fillMaps(ctx, &a); err != nil {
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

// stepMap goes one revision back or forth, as a revision of its own.
func (s *Server) stepMap(w http.ResponseWriter, r *http.Request) {
	e := readMapEdit(r)
	m, why, err := s.mapNamed(r.Context(), e.Map)
	if err == nil && why == "" {
		why, err = s.stepTo(m, r.PostFormValue("way"), e.Seen)
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.backToMap(w, r, e.Map, e, why)
}

func (s *Server) stepTo(m shell.MapFile, way, seen string) (why string, err error) {
	n := m.Undo
	if way == "redo" {
		n = m.Redo
	}
	if n == 0 {
		return "there is no revision to step to", nil
	}
	revs, err := s.o.Folder.Revisions()
	if err != nil {
		return "", err
	}
	h := folder.HistoryOf(revs, m.Name, folder.Stamp(m.Stamp))
	name := h.File(n)
	if name == "" {
		return fmt.Sprintf("the content of revision %d is kept nowhere", n), nil
	}
	src, _, err := s.o.Folder.Read(name)
	if err != nil {
		return "", err
	}
	return s.saveMap(m, src, fmt.Sprintf("%s to revision %d", way, n), seen)
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
	if why == "" { // made: the pick stays, what was typed is done with
		e.Text, e.Cells, e.Reason = "", "", ""
	}
	a.Map, a.MapRefuse, a.MapTyped = name, why, e
	status := http.StatusOK
	if why != "" {
		status = http.StatusUnprocessableEntity
	}
	s.show(w, r, a, status, nil)
}
