package web

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"html/template"
	"io"
	"net/http"

	"fettle/internal/figure"
	"fettle/internal/folder"
	"fettle/internal/rule"
	"fettle/internal/run"
	"fettle/internal/web/beginning"
	"fettle/internal/web/domain"
	"fettle/internal/web/enginesheet"
	"fettle/internal/web/mapsheet"
	"fettle/internal/web/overview"
	"fettle/internal/web/plain"
	"fettle/internal/web/shell"
	"fettle/internal/web/startsheet"
	"fettle/internal/web/working"
)

// partHeader marks a request for what an answer replaces in a page.
const partHeader = "X-Fettle-Part"

// asked reads what a page is asked to show from an address.
func asked(r *http.Request, page string) shell.Ask {
	q := r.URL.Query()
	a := shell.Ask{
		Page: page, State: short(q.Get("state")), Device: short(q.Get("device")), Pin: short(q.Get("pin")), Fuse: short(q.Get("fuse")),
		Wire: short(q.Get("wire")), Thing: short(q.Get("thing")), At: short(q.Get("at")), Find: short(q.Get("find")), Map: short(q.Get("map")), MapView: mapsheet.AskedView(q),
	}
	askedPulse(&a, q)
	return a
}

// short bounds a word of an address.
func short(s string) string { return s[:min(len(s), 200)] }

func (s *Server) why(w http.ResponseWriter, r *http.Request) {
	a := asked(r, working.Key)
	a.Fig = r.PathValue("id")
	s.show(w, r, a, http.StatusOK, nil)
}

func (s *Server) rule(w http.ResponseWriter, r *http.Request) {
	rl, ok := rule.ByID(r.PathValue("id"))
	if !ok {
		s.plain(w, r, http.StatusNotFound, plain.Lost("No rule has this name."))
		return
	}
	s.plain(w, r, http.StatusOK, plain.Rule(rl))
}

// lost answers an address, or a method, that leads nowhere.
func (s *Server) lost(w http.ResponseWriter, r *http.Request, m *http.ServeMux) {
	for _, method := range []string{http.MethodGet, http.MethodPost} {
		other := r.Clone(r.Context())
		other.Method = method
		if _, pattern := m.Handler(other); pattern != "/" && method != r.Method {
			w.Header().Set("Allow", method)
			s.plain(w, r, http.StatusMethodNotAllowed, plain.Refused("This address takes only "+method+"."))
			return
		}
	}
	s.plain(w, r, http.StatusNotFound, plain.Lost("The address may be from an older sheet."))
}

// show answers with a page of the build as it is on disk.
func (s *Server) show(w http.ResponseWriter, r *http.Request, a shell.Ask, status int, n *shell.Notice) {
	if !s.ready(w, r, a.Page) {
		return
	}
	cur, err := s.current(r.Context())
	if err != nil {
		s.fail(w, r, err)
		return
	}
	if r.URL.Query().Get("wait") == "1" && cur.OK() && a.Page != startsheet.Key {
		if _, err := s.chances.of(r.Context(), cur.Result); err != nil {
			s.fail(w, r, err)
			return
		}
	}
	s.render(w, r, cur, a, status, n)
}

// render writes a page of a solved build.
func (s *Server) render(w http.ResponseWriter, r *http.Request, cur *now, a shell.Ask, status int, n *shell.Notice) {
	a.Result, a.Seen = cur.Result, string(cur.Stamp)
	if cur.OK() {
		a.Rooms, a.Stale = s.chances.known(cur.Result)
	}
	s.fillAnswers(&a)
	err := s.fillMaps(r.Context(), &a)
	if err == nil && a.Page == enginesheet.Key && cur.OK() {
		a.Firing, err = s.firing(r.Context(), cur.Result, shell.Chosen(cur.Result, a.State))
	}
	if err == nil && a.Page == working.Key && cur.OK() {
		a.Opens, err = s.ledgerOf(r.Context(), cur.Result, a.Fig)
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.fillStart(r.Context(), &a)
	t, body, status := s.body(a, status)
	p := s.page(cur, a)
	p.Notice, p.Body = n, body
	part := r.Header.Get(partHeader) != ""
	if a.Page == working.Key && part && cur.OK() && status != http.StatusNotFound {
		s.write(w, t, "working", body, status)
		return
	}
	name := "page"
	if part {
		name = "part"
	}
	s.write(w, t, name, p, status)
}

// body makes what stands on the asked sheet.
func (s *Server) body(a shell.Ask, status int) (*template.Template, any, int) {
	switch {
	case !a.Result.OK():
		return plain.Template, plain.Errors(a.Result), status
	case a.Page == working.Key:
		if b, ok := working.View(a, figure.ID(a.Fig)); ok {
			return working.Template, b, status
		}
		return plain.Template, plain.Lost("No figure has this name in the build as it is now."), http.StatusNotFound
	}
	sh, ok := sheetByKey(a.Page)
	if !ok {
		sh = sheets[0]
	}
	return sh.t, sh.view(a), status
}

// page makes the sheet around a body.
func (s *Server) page(cur *now, a shell.Ask) *shell.Page {
	p := &shell.Page{Script: s.assets.Script, Assets: s.assets.Version}
	p.Key, p.Name = a.Page, nameOf(a.Page)
	p.Title = p.Name + ", fettle"
	p.Sheets = s.sheets(cur, a.Page)
	if cur == nil {
		return p
	}
	if cur.Design != nil {
		p.Vehicle = cur.Design.File.Name
		p.Title = p.Name + ", " + p.Vehicle
		p.Verdict = cur.Verdict.Start.String() + cur.Verdict.Trouble.String() + fmt.Sprintf(" %d in the way.", cur.Verdict.Stops+cur.Verdict.Fixes)
	}
	p.Block = shell.Block(cur.Result, sheetOf(p.Sheets, p.Name), cur.Took)
	s.mu.Lock()
	defer s.mu.Unlock()
	p.Steps = s.steps.view("/steps?" + shell.Where(a).Encode())
	return p
}

func (s *Server) sheets(cur *now, page string) []shell.Sheet {
	var list []shell.Sheet
	all, on := 0, map[string]int{}
	if cur != nil && cur.OK() {
		all, on = shell.Counts(cur.Result)
		on[overview.Key] = all
	}
	for _, sh := range sheets {
		if sh.key == beginning.Key && !s.began(cur) {
			continue
		}
		list = append(list, shell.Sheet{N: len(list) + 1, Name: sh.name, Href: sh.href(), Current: page == sh.key, Count: on[sh.key]})
	}
	if s.o.Book != nil {
		list = append(list, shell.Sheet{N: len(list) + 1, Name: "Book, PDF", Href: "/book.pdf", File: true})
	}
	return list
}

func sheetOf(list []shell.Sheet, name string) string {
	for _, sh := range list {
		if sh.Current {
			return fmt.Sprintf("%d of %d, %s", sh.N, len(list), sh.Name)
		}
	}
	return name
}

// rooms waits for the chances of the vehicle that the page shows.
func (s *Server) rooms(w http.ResponseWriter, r *http.Request) {
	cur, err := s.current(r.Context())
	if err != nil {
		s.fail(w, r, err)
		return
	}
	if !cur.OK() || cur.Hash != r.URL.Query().Get("hash") {
		http.Error(w, "the build has changed since", http.StatusConflict)
		return
	}
	a := asked(r, overview.Key)
	a.Result, a.Seen = cur.Result, string(cur.Stamp)
	if a.Rooms, err = s.chances.of(r.Context(), cur.Result); err != nil {
		http.Error(w, "the drawing was ended by a newer one", http.StatusConflict)
		return
	}
	s.write(w, overview.Template, "rooms", overview.ViewRooms(a), http.StatusOK)
}

// book writes the book.
func (s *Server) book(w http.ResponseWriter, r *http.Request) {
	s.pdf(w, r, "book.pdf", overview.Key, func(out io.Writer, res *run.Result) error {
		rooms, err := s.chances.of(r.Context(), res)
		if err != nil {
			return err
		}
		return s.o.Book(out, res, rooms)
	})
}

// harness writes the sheets of the harness.
func (s *Server) harness(w http.ResponseWriter, r *http.Request) {
	s.pdf(w, r, "harness.pdf", domain.LoomKey, func(out io.Writer, res *run.Result) error {
		return s.o.Harness(out, res, r.URL.Query().Get("paper") == "A3")
	})
}

// pdf answers with a file to keep.
func (s *Server) pdf(w http.ResponseWriter, r *http.Request, name, key string, write func(io.Writer, *run.Result) error) {
	cur, err := s.current(r.Context())
	if err == nil && !cur.OK() {
		s.render(w, r, cur, asked(r, key), http.StatusConflict, nil)
		return
	}
	var b bytes.Buffer
	if err == nil {
		err = write(&b, cur.Result)
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	w.Header().Set("Content-Type", "application/pdf")
	w.Header().Set("Content-Disposition", `attachment; filename="`+name+`"`)
	_, _ = w.Write(b.Bytes()) // the reader has gone: nobody to tell
}

// plain writes a page that is no sheet.
func (s *Server) plain(w http.ResponseWriter, r *http.Request, status int, b plain.Body) {
	p := s.page(nil, shell.Ask{})
	p.Body = b
	name := "page"
	if r.Header.Get(partHeader) != "" {
		name = "part"
	}
	s.write(w, plain.Template, name, p, status)
}

// fail answers with what went wrong and what helps.
func (s *Server) fail(w http.ResponseWriter, r *http.Request, err error) {
	if r.Context().Err() != nil || errors.Is(err, context.Canceled) {
		http.Error(w, "ended", http.StatusServiceUnavailable)
		return
	}
	text := err.Error()
	var told *folder.Error
	if errors.As(err, &told) && told.Hint != "" {
		text += "; " + told.Hint
	}
	b := plain.Body{Start: "That did not work.", Lede: text}
	s.plain(w, r, http.StatusInternalServerError, b)
}

// write renders a template whole before the first byte leaves.
func (s *Server) write(w http.ResponseWriter, t *template.Template, name string, data any, status int) {
	var b bytes.Buffer
	if err := t.ExecuteTemplate(&b, name, data); err != nil {
		http.Error(w, "the page could not be made: "+err.Error(), http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Add("Vary", partHeader)
	w.WriteHeader(status)
	_, _ = w.Write(b.Bytes()) // the reader has gone: nobody to tell
}
