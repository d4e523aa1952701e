package web

import (
	"context"
	"errors"
	"net/http"
	"strings"
	"sync/atomic"
	"time"

	"fettle/internal/folder"
	"fettle/internal/web/filling"
	"fettle/internal/web/mapsheet"
	"fettle/internal/web/shell"
)

// patience is how long a page is waited for before it is said what it waits for.
const patience = 400 * time.Millisecond

// under is work that pages wait for, by the hash of the file and what they need.
type under struct {
	stop  context.CancelFunc
	ended chan struct{}
	err   error // once it has ended
}

// far is how far the starting tables are, and since when the work is watched.
type far struct {
	done, of atomic.Int64

	seenAt   time.Time // guarded by the server's lock
	seenDone int
	seenOf   int
}

// ready waits a little for the work that a page stands on. When that takes longer
// it answers with how far it is, and the browser asks again.
func (s *Server) ready(w http.ResponseWriter, r *http.Request, page string) bool {
	if r.Method != http.MethodGet || r.Header.Get("Sec-Fetch-Mode") != "navigate" {
		return true // only a reader who sees a page can wait for one
	}
	u, err := s.begin(page, r.URL.Query().Get("again") == "yes")
	if err != nil {
		return true // the page itself will say
	}
	select {
	case <-u.ended:
	case <-time.After(patience):
	case <-r.Context().Done():
	}
	select {
	case <-u.ended:
		if !errors.Is(u.err, context.Canceled) {
			return true
		}
		s.waits(w, filling.Ended(address(r, "yes"), s.lastStep(page)), false)
	default:
		s.waits(w, filling.View(s.far(), address(r, "")), true)
	}
	return false
}

// address is that of a request, with or without the wish to begin anew.
func address(r *http.Request, again string) string {
	q := r.URL.Query()
	q.Del("again")
	if again != "" {
		q.Set("again", again)
	}
	if len(q) == 0 {
		return r.URL.Path
	}
	return r.URL.Path + "?" + q.Encode()
}

// lastStep takes back the last edit, when there is one.
func (s *Server) lastStep(page string) *filling.Back {
	_, stamp, err := s.o.Folder.Read(folder.Main)
	if err != nil {
		return nil
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	v := s.steps.view("/steps?page=" + page + "&seen=" + string(stamp))
	if v.Undo == "" {
		return nil
	}
	return &filling.Back{Action: v.Action, Name: s.steps.all[s.steps.at].name}
}

// begin starts the work that a page stands on, or finds it under way or done.
func (s *Server) begin(page string, again bool) (*under, error) {
	src, _, err := s.o.Folder.Read(folder.Main)
	if err != nil {
		return nil, err
	}
	in, err := s.input(src)
	if err != nil {
		return nil, err
	}
	tables := page == mapsheet.Key
	key := in.Hash()
	if tables {
		key += "/tables"
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.steps.see(src)
	if u, ok := s.under[key]; ok {
		select {
		case <-u.ended:
			if errors.Is(u.err, context.Canceled) && !again {
				return u, nil
			}
		default:
			return u, nil
		}
	}
	ctx, stop := context.WithCancel(s.ctx)
	u := &under{stop: stop, ended: make(chan struct{})}
	if len(s.under) > mostTables {
		clear(s.under)
	}
	s.under[key] = u
	s.work.Go(func() {
		defer close(u.ended)
		defer stop()
		res, err := s.solve(ctx, src)
		if err == nil && tables && res.OK() {
			_, err = s.maps(ctx, res)
		}
		if ctx.Err() != nil {
			err = context.Canceled
		}
		u.err = err
	})
	return u, nil
}

// endAll ends all work that pages wait for.
func (s *Server) endAll() {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, u := range s.under {
		u.stop()
	}
}

// far is how far the work is.
func (s *Server) far() filling.Far {
	f := filling.Far{TablesDone: int(s.filled.done.Load()), TablesOf: int(s.filled.of.Load())}
	f.EngineDone, f.EngineOf = s.o.Cache.EngineProgress()
	done, of := f.EngineDone, f.EngineOf
	if of == 0 {
		done, of = f.TablesDone, f.TablesOf
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	now := time.Now()
	if of != s.filled.seenOf || done < s.filled.seenDone {
		s.filled.seenAt, s.filled.seenDone, s.filled.seenOf = now, done, of
	}
	if moved := done - s.filled.seenDone; moved > 0 {
		f.LeftS = now.Sub(s.filled.seenAt).Seconds() * float64(of-done) / float64(moved)
	}
	return f
}

// farPart answers with how far the work is; over when there is none.
func (s *Server) farPart(w http.ResponseWriter, _ *http.Request) {
	b := filling.View(s.far(), "")
	b.Under = b.Of > 0 || s.busy()
	s.write(w, filling.Template, "far", b, http.StatusOK)
}

// busy reports whether any page waits for work.
func (s *Server) busy() bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, u := range s.under {
		select {
		case <-u.ended:
		default:
			return true
		}
	}
	return false
}

// endFilling ends the work and goes back to the page that waited for it.
func (s *Server) endFilling(w http.ResponseWriter, r *http.Request) {
	s.endAll()
	to := r.PostFormValue("to")
	if !strings.HasPrefix(to, "/") || strings.HasPrefix(to, "//") {
		to = "/"
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
}

// waits answers with a page that is no sheet yet.
func (s *Server) waits(w http.ResponseWriter, b filling.Body, refresh bool) {
	p := s.page(nil, shell.Ask{})
	p.Title, p.Name, p.Body, p.Refresh = "The engine's tables, fettle", "Tables", b, refresh
	s.write(w, filling.Template, "page", p, http.StatusOK)
}
