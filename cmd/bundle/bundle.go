package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/evanw/esbuild/pkg/api"
)

// entries are the files that are built, by their names in the sources.
var entries = [...]struct{ from, to string }{
	{"app.ts", "app.js"},
	{"app.css", "app.css"},
}

// bundle builds every entry of src into dist. A missing entry is reported and
// left out, so that the command line can be built before its pages; an error in
// a source is reported with its file, line and column.
func bundle(src, dist string) (report []string, err error) {
	src, err = filepath.Abs(src)
	if err != nil {
		return nil, err
	}
	if err := os.MkdirAll(dist, 0o755); err != nil {
		return nil, err
	}
	var failed []error
	for _, e := range entries {
		from, to := filepath.Join(src, e.from), filepath.Join(dist, e.to)
		if _, err := os.Stat(from); errors.Is(err, os.ErrNotExist) {
			report = append(report, fmt.Sprintf("bundle: %s is missing: %s not built", from, e.to))
			continue
		}
		text, err := build(src, from)
		if err != nil {
			failed = append(failed, err)
			continue
		}
		if err := write(to, text); err != nil {
			failed = append(failed, err)
			continue
		}
		report = append(report, fmt.Sprintf("bundle: %s, %d bytes", e.to, len(text)))
	}
	return report, errors.Join(failed...)
}

// build bundles one entry. Targets are browsers of 2022 and later, the oldest a
// workshop's laptop or telephone is likely to carry.
func build(dir, from string) ([]byte, error) {
	r := api.Build(api.BuildOptions{
		EntryPoints:       []string{from},
		AbsWorkingDir:     dir,
		Bundle:            true,
		Outdir:            dir, // names only: nothing is written here
		Write:             false,
		Platform:          api.PlatformBrowser,
		Format:            api.FormatIIFE,
		Target:            api.ES2022,
		Charset:           api.CharsetUTF8,
		MinifyWhitespace:  true,
		MinifySyntax:      true,
		LegalComments:     api.LegalCommentsEndOfFile,
		Sourcemap:         api.SourceMapNone,
		External:          []string{"/assets/*"}, // addresses served by the binary, e.g. fonts
		LogLevel:          api.LogLevelSilent,
		MinifyIdentifiers: false, // stack traces stay readable, names cost little
	})
	if len(r.Errors)+len(r.Warnings) > 0 {
		return nil, errors.New(messages(dir, r))
	}
	if len(r.OutputFiles) != 1 {
		return nil, fmt.Errorf("%s: built %d files, want 1", from, len(r.OutputFiles))
	}
	return r.OutputFiles[0].Contents, nil
}

// messages prints one line a message; a warning counts as an error, as nobody
// reads warnings.
func messages(dir string, r api.BuildResult) string {
	var b strings.Builder
	for _, m := range append(r.Errors, r.Warnings...) {
		if b.Len() > 0 {
			b.WriteByte('\n')
		}
		if m.Location != nil {
			fmt.Fprintf(&b, "%s:%d:%d: ", filepath.Join(dir, m.Location.File), m.Location.Line, m.Location.Column+1)
		}
		b.WriteString(m.Text)
		for _, n := range m.Notes {
			fmt.Fprintf(&b, "\n\t%s", n.Text)
		}
	}
	return b.String()
}

// write leaves an unchanged file alone, so that the build cache keeps.
func write(path string, text []byte) error {
	if old, err := os.ReadFile(path); err == nil && string(old) == string(text) {
		return nil
	}
	return os.WriteFile(path, text, 0o644)
}
