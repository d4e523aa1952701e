package main

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"runtime"
	"strings"

	"fettle/internal/demo"
	"fettle/internal/diag"
	"fettle/internal/folder"
)

type demoCmd struct {
	Dir     string `arg:"" optional:"" help:"Where to write it; demo-NAME in this folder if left out."`
	Example string `help:"Which invented example: camper, pickup or roadster." default:"camper"`
	NoServe bool   `help:"Only write it."`
	NoOpen  bool   `help:"Serve it without opening a browser."`
	Port    int    `help:"The port to serve on; 0 takes a free one." default:"8321"`
}

// Run writes the demo, unless it stands there already, and serves it.
func (c *demoCmd) Run(e *env) error {
	files, err := demo.Files(c.Example)
	if err != nil {
		if near, ok := diag.Nearest(c.Example, demo.Names()); ok {
			return fmt.Errorf("there is no example %q; did you mean %q?", c.Example, near)
		}
		return fmt.Errorf("there is no example %q; there are %s", c.Example, strings.Join(demo.Names(), ", "))
	}
	dir := c.Dir
	if dir == "" {
		dir = "demo-" + c.Example
	}
	f, err := folder.Create(dir, files)
	switch {
	case err == nil:
		fmt.Fprintf(e.out, "wrote the invented example %q to %s\n", c.Example, dir)
		f.Close()
	case c.Dir == "" && isBuild(dir):
		fmt.Fprintf(e.out, "%s is there already and is used as it stands\n", dir)
	default:
		return err
	}
	if c.NoServe {
		return nil
	}
	return serve(e, dir, c.Port, !c.NoOpen)
}

func isBuild(dir string) bool {
	f, err := folder.Open(dir)
	if err != nil {
		return false
	}
	f.Close()
	return true
}

// openPage opens an address in the user's browser; where there is no screen it
// does nothing, and the address has been printed.
func openPage(address string) {
	var cmd *exec.Cmd
	switch runtime.GOOS {
	case "darwin":
		cmd = exec.Command("open", address)
	case "windows":
		cmd = exec.Command("rundll32", "url.dll,FileProtocolHandler", address)
	default:
		if os.Getenv("DISPLAY") == "" && os.Getenv("WAYLAND_DISPLAY") == "" {
			return
		}
		cmd = exec.Command("xdg-open", address)
	}
	if err := cmd.Start(); err != nil && !errors.Is(err, exec.ErrNotFound) {
		return
	}
	if cmd.Process != nil {
		go func() { _ = cmd.Wait() }()
	}
}
