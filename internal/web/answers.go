package web

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"strings"

	"fettle/internal/questions"
	"fettle/internal/run"
	"fettle/internal/web/beginning"
	"fettle/internal/web/shell"
)

// answers reads the answers of the question sheet; nil when the build did not
// begin from it. Grown says that the build file is no longer what they make.
func (s *Server) answers(r *run.Result) (a questions.Answers, grown bool) {
	s.mu.Lock()
	kept, ok := s.answered[r.Hash]
	s.mu.Unlock()
	if ok {
		return kept, false
	}
	src, _, err := s.o.Folder.Read(questions.File)
	if err != nil || json.Unmarshal(src, &a) != nil {
		return nil, false
	}
	return a, !bytes.Equal(a.Build(r.Design.Cat), r.Input.Src)
}

// began reports whether a build began from the question sheet.
func (s *Server) began(cur *now) bool {
	if cur == nil || !cur.OK() {
		return false
	}
	a, _ := s.answers(cur.Result)
	return a != nil
}

// fillAnswers gives a page what it shows of the question sheet.
func (s *Server) fillAnswers(a *shell.Ask) {
	if a.Page == beginning.Key && a.Result.OK() {
		answers, grown := s.answers(a.Result)
		a.Answers, a.Grown = answers, grown
	}
}

// answerQuestion takes an answer of the sheet: the build file is made anew.
func (s *Server) answerQuestion(ctx context.Context, f form, base *run.Result) (*shell.Refusal, error) {
	old, grown := s.answers(base)
	if old == nil || grown {
		return &shell.Refusal{Note: "The build file has grown beyond the question sheet; change it on the other sheets."}, nil
	}
	key := strings.TrimPrefix(f.path, beginning.PathHead+"/")
	if path, ok := shell.SplitPath(f.path); ok {
		key = path[len(path)-1]
	}
	next := maps.Clone(old)
	next[key] = strings.TrimSpace(f.text)
	if err := next.Known(questions.Sheet(base.Design.Cat)); err != nil {
		return &shell.Refusal{Path: f.path, Text: f.text, Note: err.Error()}, nil
	}
	src := next.Build(base.Design.Cat)
	after, err := s.solve(ctx, src)
	if err != nil {
		return nil, err
	}
	if !after.OK() {
		return &shell.Refusal{Path: f.path, Text: f.text, Why: after.Errors}, nil
	}
	s.mu.Lock()
	s.answered[base.Hash], s.answered[after.Hash] = old, next
	s.mu.Unlock()
	if no, err := s.save(f.what+" to "+f.text, base.Input.Src, src, f.seen); no != nil || err != nil {
		return no, err
	}
	return nil, s.keepAnswers(next)
}

// keepAnswers writes the answers beside the build file.
func (s *Server) keepAnswers(a questions.Answers) error {
	text, err := json.MarshalIndent(a, "", "  ")
	if err != nil {
		return fmt.Errorf("write the answers: %w", err)
	}
	_, stamp, err := s.o.Folder.Read(questions.File)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	_, err = s.o.Folder.Save(questions.File, append(text, '\n'), stamp)
	return err
}
