package main

import (
	"fmt"
	"net"
	"strconv"

	"fettle/internal/folder"
	"fettle/internal/run"
	"fettle/internal/web"
)

type serveCmd struct {
	Dir  string `arg:"" help:"The build folder." default:"."`
	Port int    `help:"The port to serve on; 0 takes a free one." default:"8321"`
	Open bool   `help:"Open the page in a browser."`
}

// Run serves the pages of a build folder on this machine only.
func (c *serveCmd) Run(e *env) error { return serve(e, c.Dir, c.Port, c.Open) }

func serve(e *env, dir string, port int, show bool) error { return serveAt(e, dir, port, show, "") }

// serveAt serves a build folder and shows a page of it.
func serveAt(e *env, dir string, port int, show bool, page string) error {
	if port < 0 || port > 65535 {
		return fmt.Errorf("--port %d is outside 0 … 65535; 0 takes a free one", port)
	}
	f, err := folder.Open(dir)
	if err != nil {
		return err
	}
	defer f.Close()
	cache, err := run.NewCache()
	if err != nil {
		return err
	}
	s, err := web.New(web.Options{Folder: f, Cache: cache, Book: printBook, Harness: printHarness})
	if err != nil {
		return err
	}
	l, err := net.Listen("tcp", net.JoinHostPort("127.0.0.1", strconv.Itoa(port)))
	if err != nil && port != 0 { // any free one will do
		fmt.Fprintf(e.err, "port %d is taken, so a free one is used\n", port)
		l, err = net.Listen("tcp", "127.0.0.1:0")
	}
	if err != nil {
		return fmt.Errorf("serve on this machine: %w", err)
	}
	address := "http://" + l.Addr().String() + "/"
	fmt.Fprintf(e.out, "%s serves %s; stop it with Ctrl C\n", address+page, dir)
	if show {
		openPage(address + page)
	}
	return s.Serve(e.ctx, l)
}
