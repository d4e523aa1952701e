package main

import (
	"context"
	"os"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"fettle": func() { os.Exit(run1(context.Background(), os.Args[1:], os.Stdout, os.Stderr, false)) },
	})
}

// TestScripts runs the program as a user would, verb by verb.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{Dir: "testdata/script"})
}
