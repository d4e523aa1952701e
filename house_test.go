// Package fettle_test holds the rules of the house that a test can hold: the
// order of imports, who may open files, what a package and a formula must say
// of themselves, how numbers are named, and what must not stand in the text.
//
// Conventions: a check takes a tree of parsed sources and returns every miss at
// once, each with file and line; the tree is read without compiling it, so a
// package that doesn't build at the moment is still checked. Every check is
// also held against planted faults, in planted_test.go. Start reading at
// readTree, then at order_test.go.
package fettle_test

import (
	"bytes"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
)

const module = "fettle"

// source is one Go file of the product; tests are left out.
type source struct {
	path string // slash-separated, from the root of the repository
	room string // "wire" for all below internal/wire, "cmd" for all below cmd
	file *ast.File
	text []byte
}

// dir is the folder of the file, which is its package.
func (s source) dir() string { return path.Dir(s.path) }

type tree struct {
	fset  *token.FileSet
	files []source
}

// miss words one miss with its place.
func (tr *tree) miss(at token.Pos, format string, args ...any) string {
	p := tr.fset.Position(at)
	return fmt.Sprintf("%s:%d: %s", p.Filename, p.Line, fmt.Sprintf(format, args...))
}

func (tr *tree) add(name string, text []byte) error {
	f, err := parser.ParseFile(tr.fset, name, text, parser.ParseComments|parser.SkipObjectResolution)
	if f != nil {
		tr.files = append(tr.files, source{path: name, room: roomOf(name), file: f, text: text})
	}
	return err
}

// packages groups the files by folder, in order of the paths.
func (tr *tree) packages() [][]source {
	var out [][]source
	at := map[string]int{}
	for _, s := range tr.files {
		i, known := at[s.dir()]
		if !known {
			i = len(out)
			at[s.dir()] = i
			out = append(out, nil)
		}
		out[i] = append(out[i], s)
	}
	return out
}

// roomOf is the name in the order of imports that a file, or an import path
// without the module's name, belongs to.
func roomOf(name string) string {
	parts := strings.Split(name, "/")
	if parts[0] == "internal" && len(parts) > 1 {
		return parts[1]
	}
	return parts[0]
}

// forTests reports whether a folder holds a package for tests alone, as httptest
// is one: its name ends in test.
func forTests(dir string) bool { return strings.HasSuffix(dir, "test") }

// house is the repository, read once.
var house = sync.OnceValues(func() (*tree, []string) {
	tr := &tree{fset: token.NewFileSet()}
	var broken []string
	for _, name := range textFiles() {
		if !strings.HasSuffix(name, ".go") || strings.HasSuffix(name, "_test.go") {
			continue
		}
		if !strings.HasPrefix(name, "internal/") && !strings.HasPrefix(name, "cmd/") || strings.Contains(name, "/testdata/") {
			continue
		}
		text, err := os.ReadFile(filepath.FromSlash(name))
		if err == nil {
			err = tr.add(name, text)
		}
		if err != nil {
			broken = append(broken, err.Error())
		}
	}
	return tr, broken
})

func readTree(t *testing.T) *tree {
	t.Helper()
	tr, broken := house()
	for _, b := range broken {
		t.Logf("not read to its end: %s", b)
	}
	return tr
}

// unread are folders that hold nothing we wrote.
var unread = []string{".git", "node_modules", "bin", "studies", "internal/web/dist"}

// textFiles lists the text files of the repository, sorted.
var textFiles = sync.OnceValue(func() []string {
	var out []string
	err := filepath.WalkDir(".", func(p string, d fs.DirEntry, err error) error {
		p = filepath.ToSlash(p)
		switch {
		case err != nil:
			return err
		case d.IsDir() && (slices.Contains(unread, p) || strings.HasPrefix(p, "demo-")):
			return filepath.SkipDir
		case d.Type().IsRegular() && p != ".git" && isText(p): // a file in a second working tree
			out = append(out, p)
		}
		return nil
	})
	if err != nil {
		panic(err)
	}
	slices.Sort(out)
	return out
})

func isText(name string) bool {
	f, err := os.Open(filepath.FromSlash(name))
	if err != nil {
		return false
	}
	defer f.Close()
	head := make([]byte, 8000)
	n, _ := f.Read(head)
	return bytes.IndexByte(head[:n], 0) < 0
}

// report fails the test with all misses at once, one a line.
func report(t *testing.T, rule string, misses []string) {
	t.Helper()
	if len(misses) == 0 {
		return
	}
	slices.Sort(misses)
	t.Errorf("%s (%d):\n%s", rule, len(misses), strings.Join(misses, "\n"))
}

// eachFunc calls fn for every exported function and every exported method of an
// exported type, with its name as "Func" or "Type.Method".
func eachFunc(s source, fn func(name string, d *ast.FuncDecl)) {
	for _, d := range s.file.Decls {
		f, ok := d.(*ast.FuncDecl)
		if !ok || !f.Name.IsExported() {
			continue
		}
		name := f.Name.Name
		if f.Recv != nil && len(f.Recv.List) > 0 {
			owner := typeName(f.Recv.List[0].Type)
			if !ast.IsExported(owner) {
				continue
			}
			name = owner + "." + name
		}
		fn(name, f)
	}
}

// typeName is the name of a type without pointer and type arguments.
func typeName(t ast.Expr) string {
	switch x := t.(type) {
	case *ast.StarExpr:
		return typeName(x.X)
	case *ast.IndexExpr:
		return typeName(x.X)
	case *ast.IndexListExpr:
		return typeName(x.X)
	case *ast.Ident:
		return x.Name
	}
	return ""
}
