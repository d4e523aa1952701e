package web

import (
	"context"
	"fmt"
	"strings"
	"time"

	"fettle/internal/folder"
	"fettle/internal/quantity"
	"fettle/internal/run"
)

// now is the build as it is on disk, solved.
type now struct {
	*run.Result
	Stamp folder.Stamp
	Took  string // how long the solve took, empty when it was not measured
}

// current reads the folder and solves it, or finds it solved already.
func (s *Server) current(ctx context.Context) (*now, error) {
	src, stamp, err := s.o.Folder.Read(folder.Main)
	if err != nil {
		return nil, err
	}
	r, err := s.solve(ctx, src)
	if err != nil {
		return nil, err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.kept.keep(stamp, src)
	s.steps.see(src)
	out := &now{Result: r, Stamp: stamp}
	if d, ok := s.took[r.Hash]; ok {
		out.Took = quantity.Format(d.Seconds(), "ms", 2)
	}
	return out, nil
}

// solve runs the pipeline on a build file with the folder's own parts.
func (s *Server) solve(ctx context.Context, src []byte) (*run.Result, error) {
	in, err := s.input(src)
	if err != nil {
		return nil, err
	}
	start := time.Now()
	r, err := run.Nominal(ctx, in, s.o.Cache)
	if err != nil {
		return nil, fmt.Errorf("solve %s: %w", folder.Main, err)
	}
	d := time.Since(start)
	s.mu.Lock()
	defer s.mu.Unlock()
	if _, known := s.took[r.Hash]; !known {
		if len(s.took) > mostVersions {
			clear(s.took)
		}
		s.took[r.Hash] = d
	}
	return r, nil
}

// input is a build file with the folder's own parts.
func (s *Server) input(src []byte) (run.Input, error) {
	parts, err := s.parts()
	return run.Input{File: folder.Main, Src: src, Parts: parts}, err
}

// parts reads the build's own parts.
func (s *Server) parts() (map[string][]byte, error) {
	names, err := s.o.Folder.List("parts")
	if err != nil {
		return nil, err
	}
	out := map[string][]byte{}
	for _, name := range names {
		if !strings.HasSuffix(name, ".yaml") {
			continue
		}
		if out[name], _, err = s.o.Folder.Read(name); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// mostVersions is how many versions of the file are remembered, so that an edit
// made on an older page is made on what that page showed.
const mostVersions = 64

// versions are the contents of the file that pages showed, by their stamp.
type versions struct {
	by    map[folder.Stamp][]byte
	order []folder.Stamp
}

func (v *versions) keep(stamp folder.Stamp, src []byte) {
	if v.by == nil {
		v.by = map[folder.Stamp][]byte{}
	}
	if _, ok := v.by[stamp]; ok {
		return
	}
	v.by[stamp] = src
	if v.order = append(v.order, stamp); len(v.order) > mostVersions {
		delete(v.by, v.order[0])
		v.order = v.order[1:]
	}
}
