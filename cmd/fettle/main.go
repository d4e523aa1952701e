// Command fettle works on one build folder: it checks the vehicle, solves it,
// writes its tables, prints its book and serves its pages.
//
// A file per verb; this one parses the flags, wires the pieces and turns errors
// into exit codes: 0 did its work, 1 an unwaived stop or fix stands (check
// only), 2 could not. Start reading at [main].
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"slices"
	"syscall"

	"github.com/alecthomas/kong"
	"golang.org/x/term"

	"fettle/internal/diag"
	"fettle/internal/folder"
	"fettle/internal/run"
)

type cli struct {
	New      newCmd      `cmd:"" help:"Begin a build of your own from one sheet of questions."`
	Demo     demoCmd     `cmd:"" help:"Write the invented demo build and serve its pages."`
	Check    checkCmd    `cmd:"" help:"Say what will not work, where, why, by how much, and what to do."`
	Solve    solveCmd    `cmd:"" help:"Print what every state comes to, with the room left."`
	Maps     mapsCmd     `cmd:"" help:"Write the starting tables into maps/."`
	Loom     loomCmd     `cmd:"" help:"Print the lists that the loom is made by."`
	Rehearse rehearseCmd `cmd:"" help:"Start the engine and drive the vehicle in simulation, and write its log."`
	Book     bookCmd     `cmd:"" help:"Print the book that goes with the vehicle."`
	Serve    serveCmd    `cmd:"" help:"Serve the pages on this machine only."`
	Explain  explainCmd  `cmd:"" help:"Explain a rule, or all of them."`
	Schema   schemaCmd   `cmd:"" help:"Print the JSON Schema of a build file, for editors."`

	Help       helpCmd       `cmd:"" help:"Show the verbs, or what one of them takes."`
	Completion completionCmd `cmd:"" help:"Print a script that completes verbs and options in a shell."`
}

// env is what a verb is given: where to write, and whether in colour.
type env struct {
	ctx    context.Context
	out    io.Writer
	err    io.Writer
	colour bool
}

// quiet ends a command with a code and no further word: it has said it already.
type quiet int

func (q quiet) Error() string { return fmt.Sprintf("exit %d", int(q)) }

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	os.Exit(run1(ctx, os.Args[1:], os.Stdout, os.Stderr, term.IsTerminal(int(os.Stdout.Fd()))))
}

func run1(ctx context.Context, args []string, out, errw io.Writer, colour bool) int {
	var c cli
	code := -1
	parser, err := kong.New(&c, kong.Name("fettle"), kong.Writers(out, errw),
		kong.Description("A workbench for engine swaps: one build folder, solved as one vehicle. It computes; it never says safe."),
		kong.Exit(func(n int) { code = n }), kong.ConfigureHelp(kong.HelpOptions{Compact: true}))
	if err != nil {
		fmt.Fprintln(errw, "fettle:", err)
		return 2
	}
	if len(args) == 0 {
		args = []string{"--help"}
	}
	if args[0] == "help" {
		args = append(slices.Clone(args[1:]), "--help")
	}
	k, err := parser.Parse(args)
	if code >= 0 { // help was asked for
		return code
	}
	if err != nil {
		fmt.Fprintf(errw, "fettle: %s\n  hint: %s\n", wrongUse(err), usageHint(err))
		return 2
	}
	err = k.Run(&env{ctx, out, errw, colour}, parser)
	var q quiet
	switch {
	case err == nil:
		return 0
	case errors.As(err, &q):
		return int(q)
	}
	fmt.Fprintf(errw, "fettle: %v\n", err)
	var f *folder.Error
	if errors.As(err, &f) && f.Hint != "" {
		fmt.Fprintf(errw, "  hint: %s\n", f.Hint)
	}
	return 2
}

// session is an opened build folder with its nominal result.
type session struct {
	folder *folder.Folder
	cache  *run.Cache
	result *run.Result
}

// open reads and solves a build folder. A build file that does not read is
// printed with its places and ends the verb with 2.
func open(e *env, dir string, asJSON bool) (*session, error) {
	f, err := folder.Open(dir)
	if err != nil {
		return nil, err
	}
	in, err := input(f)
	if err != nil {
		return nil, err
	}
	c, err := run.NewCache()
	if err != nil {
		return nil, err
	}
	r, err := run.Nominal(e.ctx, in, c)
	if err != nil {
		return nil, err
	}
	s := &session{folder: f, cache: c, result: r}
	if !r.OK() && !asJSON {
		diag.Print(e.err, r.Errors, s.source, e.colour)
		return nil, quiet(2)
	}
	return s, nil
}

func (s *session) source(name string) []byte {
	if name == s.result.Input.File {
		return s.result.Input.Src
	}
	return s.result.Input.Parts[name]
}

// input reads what the pipeline starts from.
func input(f *folder.Folder) (run.Input, error) {
	src, _, err := f.Read("build.yaml")
	if err != nil {
		return run.Input{}, err
	}
	in := run.Input{File: "build.yaml", Src: src, Parts: map[string][]byte{}}
	names, err := f.List("parts")
	if err != nil {
		return run.Input{}, err
	}
	for _, n := range names {
		b, _, err := f.Read(n)
		if err != nil {
			return run.Input{}, err
		}
		in.Parts[n] = b
	}
	return in, nil
}
