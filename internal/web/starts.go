package web

import (
	"bytes"
	"context"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"sync"
	"time"

	"fettle/internal/channel"
	"fettle/internal/run"
	"fettle/internal/web/plain"
	"fettle/internal/web/shell"
	"fettle/internal/web/startsheet"
)

// starts runs virtual starts in the background; those of an edited build end those
// of the one before. What came of them is kept by the build's hash and what was
// asked for.
type starts struct {
	ctx context.Context
	wg  sync.WaitGroup

	mu   sync.Mutex
	jobs map[string]*startJob
	done map[string]shell.Rehearsal
}

type startJob struct {
	key   string
	hash  string // of the build
	stop  context.CancelFunc
	ended chan struct{}
	now   shell.Rehearsal // of mu
}

func newStarts(ctx context.Context) *starts {
	return &starts{ctx: ctx, jobs: map[string]*startJob{}, done: map[string]shell.Rehearsal{}}
}

// mostStarts is how many answers are kept; each holds its logs, a few megabytes.
const mostStarts = 8

// soon is how long an answer waits for a start that may be all but done.
const soon = 150 * time.Millisecond

func startKey(r *run.Result, ask shell.Rehearsal) string {
	return fmt.Sprintf("%s|%d|%s", r.Hash, ask.Seed, ask.Route)
}

// of begins what is asked for, or finds it begun or done. It waits for the end as
// far as the answer is to hold it, else a blink.
func (s *starts) of(ctx context.Context, r *run.Result, ask shell.Rehearsal) shell.Rehearsal {
	j, known := s.begin(r, ask)
	if j == nil {
		return known
	}
	wait := make(<-chan time.Time)
	if !ask.Wait {
		t := time.NewTimer(soon)
		defer t.Stop()
		wait = t.C
	}
	select {
	case <-j.ended:
	case <-wait:
	case <-ctx.Done():
	}
	return s.look(j)
}

func (s *starts) look(j *startJob) shell.Rehearsal {
	s.mu.Lock()
	defer s.mu.Unlock()
	return j.now
}

// begin starts a run, or finds it.
func (s *starts) begin(r *run.Result, ask shell.Rehearsal) (*startJob, shell.Rehearsal) {
	s.mu.Lock()
	defer s.mu.Unlock()
	key := startKey(r, ask)
	if known, ok := s.done[key]; ok {
		return nil, known
	}
	if j, ok := s.jobs[key]; ok {
		return j, shell.Rehearsal{}
	}
	for _, j := range s.jobs {
		if j.hash != r.Hash {
			j.stop()
		}
	}
	ctx, stop := context.WithCancel(s.ctx)
	j := &startJob{key: key, hash: r.Hash, stop: stop, ended: make(chan struct{}), now: ask}
	j.now.Stage = "reading the solved vehicle"
	s.jobs[key] = j
	s.wg.Go(func() {
		defer close(j.ended)
		defer stop()
		runs, err := startsheet.Compute(ctx, r, ask, func(stage string, frac float64) {
			s.mu.Lock()
			defer s.mu.Unlock()
			j.now.Stage, j.now.DoneFrac = stage, frac
		})
		s.finish(j, runs, err, ctx.Err() != nil)
	})
	return j, shell.Rehearsal{}
}

func (s *starts) finish(j *startJob, runs []shell.Rehearsed, err error, stopped bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	delete(s.jobs, j.key)
	j.now.Stage, j.now.Wait = "", false
	if j.now.Runs, j.now.Err = runs, err; stopped {
		j.now.Runs, j.now.Err, j.now.Stopped = nil, nil, true
		return
	}
	if len(s.done) >= mostStarts {
		clear(s.done)
	}
	s.done[j.key] = j.now
}

// stop ends what is run for this.
func (s *starts) stop(r *run.Result, ask shell.Rehearsal) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if j, ok := s.jobs[startKey(r, ask)]; ok {
		j.stop()
	}
}

// running is how what is run for this stands; it begins nothing.
func (s *starts) running(r *run.Result, ask shell.Rehearsal) (now shell.Rehearsal) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if j, ok := s.jobs[startKey(r, ask)]; ok {
		now = j.now
	}
	return now
}

func (s *starts) wait() { s.wg.Wait() }

// askedStart reads what a start is asked for.
func askedStart(q url.Values) (shell.Rehearsal, string) {
	out := shell.Rehearsal{Seed: 1, Wait: q.Get("wait") == "1", Stopped: q.Get("stopped") == "1"}
	if word := q.Get("seed"); word != "" {
		n, err := strconv.ParseUint(word, 10, 64)
		if err != nil || n < 1 || n > startsheet.MostSeed {
			return out, fmt.Sprintf("The seed %q is no whole number from 1 to %d; 1 is taken.", short(word), startsheet.MostSeed)
		}
		out.Seed = n
	}
	switch word := q.Get("route"); word {
	case "", startsheet.Hills:
		out.Route = word
	default:
		return out, fmt.Sprintf("There is no route %q; %q is the one that is built in.", short(word), startsheet.Hills)
	}
	return out, ""
}

// fillStart runs what the sheet of the virtual start shows.
func (s *Server) fillStart(ctx context.Context, a *shell.Ask) {
	if a.Page != startsheet.Key || !a.Result.OK() || a.Rehearsal.Stopped {
		return
	}
	a.Rehearsal = s.starts.of(ctx, a.Result, a.Rehearsal)
}

// start shows the sheet of the virtual start.
func (s *Server) start(w http.ResponseWriter, r *http.Request) {
	a := asked(r, startsheet.Key)
	var n *shell.Notice
	ask, wrong := askedStart(r.URL.Query())
	status := http.StatusOK
	if a.Rehearsal = ask; wrong != "" {
		n, status = &shell.Notice{Text: wrong, Bad: true}, http.StatusBadRequest
	}
	s.show(w, r, a, status, n)
}

// startProgress tells how far a start is; nothing once it is over.
func (s *Server) startProgress(w http.ResponseWriter, r *http.Request) {
	cur, err := s.current(r.Context())
	if err != nil {
		s.fail(w, r, err)
		return
	}
	ask, wrong := askedStart(r.URL.Query())
	if wrong != "" || !cur.OK() {
		http.Error(w, "nothing is run", http.StatusConflict)
		return
	}
	p := startsheet.ViewProgress(s.starts.running(cur.Result, ask))
	if p == nil {
		w.WriteHeader(http.StatusNoContent)
		return
	}
	s.write(w, startsheet.Template, "startprogress", p, http.StatusOK)
}

// stopStart ends a start that is run.
func (s *Server) stopStart(w http.ResponseWriter, r *http.Request) {
	cur, err := s.current(r.Context())
	if err == nil {
		err = r.ParseForm()
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	ask, wrong := askedStart(r.PostForm)
	if wrong == "" && cur.OK() {
		s.starts.stop(cur.Result, ask)
	}
	if r.Header.Get(partHeader) == "" {
		http.Redirect(w, r, fmt.Sprintf("/start?stopped=1&seed=%d&route=%s", ask.Seed, ask.Route), http.StatusSeeOther)
		return
	}
	a := asked(r, startsheet.Key)
	a.Rehearsal = shell.Rehearsal{Seed: ask.Seed, Route: ask.Route, Stopped: true}
	s.show(w, r, a, http.StatusOK, nil)
}

// startLog hands out the log of a run.
func (s *Server) startLog(w http.ResponseWriter, r *http.Request) {
	cur, err := s.current(r.Context())
	if err != nil {
		s.fail(w, r, err)
		return
	}
	ask, wrong := askedStart(r.URL.Query())
	key, ok := strings.CutSuffix(r.PathValue("file"), ".csv")
	if wrong != "" || !ok || !cur.OK() {
		s.plain(w, r, http.StatusNotFound, plain.Lost("No run has a log of this name."))
		return
	}
	ask.Wait = true
	for _, one := range s.starts.of(r.Context(), cur.Result, ask).Runs {
		if one.Key != key {
			continue
		}
		var b bytes.Buffer
		if err := channel.Write(&b, one.Log); err != nil {
			s.fail(w, r, err)
			return
		}
		w.Header().Set("Content-Type", "text/csv; charset=utf-8")
		w.Header().Set("Content-Disposition", fmt.Sprintf(`attachment; filename="virtual-start-%s-%d.csv"`, key, ask.Seed))
		_, _ = w.Write(b.Bytes())
		return
	}
	s.plain(w, r, http.StatusNotFound, plain.Lost("No run has a log of this name."))
}
