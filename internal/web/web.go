// Package web serves the pages of one build folder on the loopback address: it
// reads the file, has it solved, and shows it; an edit made on a page goes back
// into the same file.
//
// Conventions: handlers parse, call and render; what a page says is made by the
// view of its own package, as finished strings. The file on disk is the truth
// and is read for every answer; nothing is kept between answers but the steps
// that can be undone and what was computed. Everything works without scripts;
// they only replace parts of a page instead of loading it anew. Start reading
// at [New], then at routes.
package web

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"sync"
	"time"

	"fettle/internal/folder"
	"fettle/internal/questions"
	"fettle/internal/run"
	"fettle/internal/study"
	"fettle/internal/vehicle"
	"fettle/internal/web/startsheet"
)

// Options are what a server is made of.
type Options struct {
	Folder  *folder.Folder
	Cache   *run.Cache
	Version string
	// Book writes the book as PDF; without it there is none in the list of sheets.
	Book func(w io.Writer, r *run.Result, rooms []study.Room) error
	// Harness writes the sheets of the harness as PDF, on A3 or A4; may be nil.
	Harness func(w io.Writer, r *run.Result, a3 bool) error
}

// Server serves the pages of one build folder.
type Server struct {
	o       Options
	assets  *assets
	handler http.Handler
	chances *chances
	starts  *starts
	ctx     context.Context // ends with the server: what is drawn in the background
	stop    context.CancelFunc

	mu    sync.Mutex // of what follows
	kept  versions
	steps steps
	took  map[string]time.Duration // by the hash of the input
	// answered are the answers that made a build file, by the hash of the input.
	answered map[string]questions.Answers
	tables   map[string]madeTables      // by the hash of the input
	fired    map[string]*vehicle.Firing // by the hash of the input and the state
	under    map[string]*under          // what pages wait for
	filled   far
	work     sync.WaitGroup // of what is under way
}

// New makes a server. It opens no socket; see [Server.Serve] and [Server.Handler].
func New(o Options) (*Server, error) {
	if o.Folder == nil || o.Cache == nil {
		return nil, errors.New("web: a folder and a cache are due")
	}
	a, err := readAssets()
	if err != nil {
		return nil, fmt.Errorf("read the pages' assets: %w", err)
	}
	ctx, stop := context.WithCancel(context.Background())
	s := &Server{o: o, assets: a, ctx: ctx, stop: stop, chances: newChances(ctx), starts: newStarts(ctx), took: map[string]time.Duration{}, answered: map[string]questions.Answers{}, tables: map[string]madeTables{}, under: map[string]*under{}, fired: map[string]*vehicle.Firing{}}
	s.handler = guard(s.routes())
	return s, nil
}

// Handler answers requests that come in on a loopback address.
func (s *Server) Handler() http.Handler { return s.handler }

// Close ends what is computed in the background and waits for it.
func (s *Server) Close() {
	s.stop()
	s.chances.wait()
	s.work.Wait()
	s.starts.wait()
}

// How long a request may take to arrive, and an answer to leave; the book and the
// chances take some seconds on a slow machine.
const (
	headTimeout   = 5 * time.Second
	readTimeout   = 15 * time.Second
	writeTimeout  = 2 * time.Minute
	idleTimeout   = 2 * time.Minute
	stopTimeout   = 5 * time.Second
	mostHeadBytes = 16 << 10
)

// Serve answers requests on a listener until the context ends, then lets those
// under way finish. The listener must be on a loopback address.
func (s *Server) Serve(ctx context.Context, l net.Listener) error {
	if !isLoopback(l.Addr()) {
		return fmt.Errorf("serve on %v: only a loopback address is served, as 127.0.0.1", l.Addr())
	}
	srv := &http.Server{
		Handler: s.handler, ReadHeaderTimeout: headTimeout, ReadTimeout: readTimeout, WriteTimeout: writeTimeout,
		IdleTimeout: idleTimeout, MaxHeaderBytes: mostHeadBytes,
	}
	ended := make(chan error, 1)
	go func() { ended <- srv.Serve(l) }()
	defer s.Close()
	select {
	case err := <-ended:
		return fmt.Errorf("serve on %v: %w", l.Addr(), err)
	case <-ctx.Done():
	}
	s.stop() // whoever waits for chances is let go
	last, cancel := context.WithTimeout(context.WithoutCancel(ctx), stopTimeout)
	defer cancel()
	err := srv.Shutdown(last)
	if errors.Is(err, context.DeadlineExceeded) {
		err = srv.Close()
	}
	<-ended
	if err != nil {
		return fmt.Errorf("stop serving: %w", err)
	}
	return nil
}

// routes lists every address there is.
func (s *Server) routes() *http.ServeMux {
	m := http.NewServeMux()
	for _, sh := range sheets {
		if sh.key != startsheet.Key { // it is asked for more
			m.HandleFunc("GET "+sh.path, s.serveSheet(sh))
		}
	}
	m.HandleFunc("GET /why/{id...}", s.why)
	m.HandleFunc("GET /rule/{id}", s.rule)
	m.HandleFunc("GET /rooms", s.rooms)
	m.HandleFunc("GET /filling", s.farPart)
	m.HandleFunc("POST /filling/end", s.endFilling)
	m.HandleFunc("GET /start", s.start)
	m.HandleFunc("GET /start/progress", s.startProgress)
	m.HandleFunc("POST /start/stop", s.stopStart)
	m.HandleFunc("GET /start/log/{file}", s.startLog)
	m.HandleFunc("POST /edit", s.edit)
	m.HandleFunc("POST /steps", s.step)
	m.HandleFunc("POST /maps/write", s.writeMaps)
	m.HandleFunc("POST /maps/edit", s.editMap)
	m.HandleFunc("POST /maps/back", s.backMap)
	m.HandleFunc("POST /maps/step", s.stepMap)
	m.HandleFunc("GET /maps/{file}", s.mapCSV)
	m.Handle("GET /assets/{name}", s.assets)
	if s.o.Book != nil {
		m.HandleFunc("GET /book.pdf", s.book)
	}
	if s.o.Harness != nil {
		m.HandleFunc("GET /harness.pdf", s.harness)
	}
	m.HandleFunc("/", func(w http.ResponseWriter, r *http.Request) { s.lost(w, r, m) })
	return m
}
