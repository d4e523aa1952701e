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

	"fettle/internal/buildfile"
	"fettle/internal/drawing"
	"fettle/internal/folder"
	"fettle/internal/run"
	"fettle/internal/web/beginning"
	"fettle/internal/web/shell"
	"fettle/internal/web/working"
)

// form is an edit as a page sends it.
type form struct {
	ask           shell.Ask
	seen          folder.Stamp
	path, text    string
	what          string // names the step
	rule, subject string
	mend          int
}

func readForm(r *http.Request) (form, error) {
	if err := r.ParseForm(); err != nil {
		return form{}, fmt.Errorf("read the form: %w", err)
	}
	q := r.URL.Query()
	f := form{ask: asked(r, q.Get("page")), seen: folder.Stamp(q.Get("seen")), text: r.PostForm.Get("text"), what: r.PostForm.Get("what")}
	f.ask.Fig = q.Get("fig")
	f.path, f.rule, f.subject = r.PostForm.Get("path"), r.PostForm.Get("rule"), r.PostForm.Get("subject")
	f.mend, _ = strconv.Atoi(r.PostForm.Get("mend"))
	if len(f.text) > 500 {
		return form{}, fmt.Errorf("a value of %d characters; at most 500 are taken", len(f.text))
	}
	f.what = f.what[:min(len(f.what), 120)]
	return f, nil
}

// edit makes one change of the build file.
func (s *Server) edit(w http.ResponseWriter, r *http.Request) {
	f, err := readForm(r)
	if err != nil {
		s.answer(w, r, f, &shell.Refusal{Note: err.Error()})
		return
	}
	s.chances.cut()
	no, err := s.change(r.Context(), f)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.answer(w, r, f, no)
}

// answer shows the page that an edit came from: as a new page for a reader
// without scripts, as a part for one with.
func (s *Server) answer(w http.ResponseWriter, r *http.Request, f form, no *shell.Refusal) {
	switch {
	case no == nil && r.Header.Get(partHeader) == "":
		http.Redirect(w, r, home(f), http.StatusSeeOther)
		return
	case no == nil:
		s.show(w, r, f.ask, http.StatusOK, nil)
		return
	}
	f.ask.Refuse = no
	n := &shell.Notice{Text: no.Reason(), Bad: no.Path == ""}
	s.show(w, r, f.ask, http.StatusUnprocessableEntity, n)
}

// home is the address of the page that a form stands on.
func home(f form) string {
	q := url.Values{}
	if f.ask.State != "" {
		q.Set("state", f.ask.State)
	}
	if f.ask.Device != "" {
		q.Set("device", f.ask.Device)
	}
	at := "/"
	if sh, ok := sheetByKey(f.ask.Page); ok {
		at = sh.href()
	}
	if f.ask.Page == working.Key {
		at = "/why/" + drawing.PathOf(f.ask.Fig)
	}
	if len(q) > 0 {
		at += "?" + q.Encode()
	}
	if f.path != "" {
		at += "#set-" + shell.Slug(f.path)
	}
	return at
}

// change makes an edit on the version that the page showed, solves it, and saves
// it when it reads. A refusal says why nothing was saved.
func (s *Server) change(ctx context.Context, f form) (*shell.Refusal, error) {
	s.mu.Lock()
	src, ok := s.kept.by[f.seen]
	s.mu.Unlock()
	if !ok {
		return &shell.Refusal{Note: "This page is older than the server that answers it. It is shown anew; make the change once more."}, nil
	}
	base, err := s.solve(ctx, src)
	if err != nil {
		return nil, err
	}
	if !base.OK() {
		return &shell.Refusal{Note: "The build file has errors; mend them in an editor first."}, nil
	}
	if strings.HasPrefix(f.path, beginning.PathHead+"/") {
		return s.answerQuestion(ctx, f, base)
	}
	edits, name, no := f.edits(base)
	if no != nil {
		return no, nil
	}
	tree, err := buildfile.Apply(base.Design.Tree, edits...)
	if err != nil {
		return &shell.Refusal{Path: f.path, Text: f.text, Note: err.Error()}, nil
	}
	after, err := s.solve(ctx, tree.Src)
	if err != nil {
		return nil, err
	}
	if !after.OK() {
		return &shell.Refusal{Path: f.path, Text: f.text, Why: after.Errors}, nil
	}
	return s.save(name, src, tree.Src, f.seen)
}

// edits are the changes that a form asks for, and the name of the step.
func (f form) edits(r *run.Result) (edits []buildfile.Edit, name string, no *shell.Refusal) {
	if f.rule != "" {
		for _, c := range r.Findings {
			if c.Rule == f.rule && c.Subject == f.subject && f.mend >= 0 && f.mend < len(c.Mends) {
				return c.Mends[f.mend].Edits, c.Mends[f.mend].Title.String(), nil
			}
		}
		return nil, "", &shell.Refusal{Note: "What this would mend is not there any more."}
	}
	path, ok := shell.SplitPath(f.path)
	if !ok {
		return nil, "", &shell.Refusal{Note: "The form names no place in the build file."}
	}
	if f.what == "" {
		f.what = path[len(path)-1]
	}
	if f.text == "" {
		if r.Design.Tree.Find(path...) == nil {
			return nil, "", nil
		}
		return []buildfile.Edit{{Path: path, Delete: true}}, f.what + " left to fettle", nil
	}
	return []buildfile.Edit{{Path: path, Text: f.text}}, f.what + " to " + f.text, nil
}

// save writes a new version and takes note of the step.
func (s *Server) save(name string, before, after []byte, seen folder.Stamp) (*shell.Refusal, error) {
	if bytes.Equal(before, after) {
		return nil, nil
	}
	_, err := s.o.Folder.Save(folder.Main, after, seen)
	var changed *folder.Changed
	if errors.As(err, &changed) {
		return &shell.Refusal{Note: fmt.Sprintf(
			"%s was changed on disk meanwhile, so your change was not put into it. Nothing is lost: %s is as the other hand left it, and is shown here; with your change it is kept as %s.",
			changed.Name, changed.Name, changed.KeptAs)}, nil
	}
	if err != nil {
		return nil, err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if !s.steps.shows(after) { // the same edit may come twice
		s.steps.add(name, before, after)
	}
	return nil, nil
}

// step goes back or forth to a version that an edit made.
func (s *Server) step(w http.ResponseWriter, r *http.Request) {
	f, err := readForm(r)
	if err != nil {
		s.answer(w, r, f, &shell.Refusal{Note: err.Error()})
		return
	}
	to, err := strconv.Atoi(r.PostForm.Get("to"))
	if err != nil {
		to = -1
	}
	s.chances.cut()
	no, err := s.goTo(r.PostForm.Get("go"), to, f.seen)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.answer(w, r, f, no)
}

func (s *Server) goTo(word string, to int, seen folder.Stamp) (*shell.Refusal, error) {
	s.mu.Lock()
	i, ok := s.steps.wanted(word, to)
	var src []byte
	if ok {
		src = s.steps.all[i].src
	}
	s.mu.Unlock()
	if !ok {
		return &shell.Refusal{Note: "There is no such step; they begin anew when the file is changed by another hand."}, nil
	}
	_, err := s.o.Folder.Save(folder.Main, src, seen)
	var changed *folder.Changed
	if errors.As(err, &changed) {
		return &shell.Refusal{Note: fmt.Sprintf("%s was changed on disk meanwhile, so the step was not taken. The file is as the other hand left it; the version you asked for is kept as %s.", changed.Name, changed.KeptAs)}, nil
	}
	if err != nil {
		return nil, err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if i < len(s.steps.all) && bytes.Equal(s.steps.all[i].src, src) {
		s.steps.at = i
	}
	return nil, nil
}
