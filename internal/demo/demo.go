// Package demo holds the invented example builds that fettle can write out: a
// vehicle to learn on, with honest mistakes to find and mend, and two without a fault.
//
// Conventions: a build is a folder of files by slash-separated names relative
// to it. Nothing here opens or writes files of the user; the caller does. Start
// reading at [Files].
package demo

import (
	"embed"
	"fmt"
	"io/fs"
	"path"
	"strings"
)

//go:embed all:camper all:pickup all:roadster
var builds embed.FS

// Names lists the examples, in alphabetical order.
func Names() []string {
	entries, err := builds.ReadDir(".")
	if err != nil {
		return nil // an embedded root can always be read
	}
	var out []string
	for _, e := range entries {
		if e.IsDir() {
			out = append(out, e.Name())
		}
	}
	return out
}

// Files returns every file of an example by its name within the build folder.
func Files(name string) (map[string][]byte, error) {
	known := false
	for _, n := range Names() {
		known = known || n == name
	}
	if !known {
		return nil, fmt.Errorf("no example is called %q; there are %s", name, strings.Join(Names(), ", "))
	}
	out := map[string][]byte{}
	err := fs.WalkDir(builds, name, func(p string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		b, err := builds.ReadFile(p)
		if err != nil {
			return err
		}
		out[strings.TrimPrefix(path.Clean(p), name+"/")] = b
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("read example %q: %w", name, err)
	}
	return out, nil
}
