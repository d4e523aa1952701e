package fettle_test

import (
	"errors"
	"go/ast"
	"go/token"
	"go/types"
	"path"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// policy: do not edit to fix a build.
func TestOnlyFolderOpensFiles(t *testing.T) {
	report(t, "only internal/folder, commands and tests open files; readers take an io.Reader", checkFiles(readTree(t)))
}

// policy: do not edit to fix a build.
func TestNothingBelowRunHasAClockAVoiceOrAMemory(t *testing.T) {
	tr := readTree(t)
	report(t, "below run, and on paper, nothing reads a clock, prints, logs or draws from a shared source of chance", checkQuiet(tr))
	report(t, "below run no package-level variable changes", checkGlobals(tr))
}

// policy: do not edit to fix a build.
func TestNothingBelowWebKnowsHTTP(t *testing.T) {
	report(t, "nothing below web imports net/http", checkHTTP(readTree(t)))
}

// names are the exported names of a package that a check looks for; "*" is all.
type names map[string][]string

var fileNames = names{
	"os": {
		"Open", "OpenFile", "OpenRoot", "OpenInRoot", "Root", "Create", "CreateTemp", "ReadFile", "WriteFile", "ReadDir",
		"Mkdir", "MkdirAll", "MkdirTemp", "Rename", "Remove", "RemoveAll", "Truncate", "Link", "Symlink", "Chmod",
		"Chtimes", "Stat", "Lstat", "DirFS", "CopyFS",
	},
	"io/ioutil":     {"*"},
	"path/filepath": {"Walk", "WalkDir", "Glob"},
	"syscall":       {"*"},
}

var loudNames = names{
	"time":     {"Now", "Since", "Until", "Sleep", "After", "AfterFunc", "Tick", "NewTimer", "NewTicker"},
	"fmt":      {"Print", "Printf", "Println", "Scan", "Scanf", "Scanln"},
	"os":       {"Stdin", "Stdout", "Stderr", "Getenv", "LookupEnv", "Environ", "Exit", "Args"},
	"log":      {"*"},
	"log/slog": {"*"},
	"math/rand": {
		"Int", "Intn", "Int31", "Int31n", "Int63", "Int63n", "Float32", "Float64", "NormFloat64", "ExpFloat64",
		"Perm", "Shuffle", "Seed",
	},
	"math/rand/v2": {
		"Int", "IntN", "Int32", "Int32N", "Int64", "Int64N", "Uint32", "Uint64", "N", "Float32", "Float64",
		"NormFloat64", "ExpFloat64", "Perm", "Shuffle",
	},
}

func checkFiles(tr *tree) (misses []string) {
	for _, s := range tr.files {
		if s.room != "folder" && s.room != "cmd" && !forTests(s.dir()) {
			misses = append(misses, uses(tr, s, fileNames)...)
		}
	}
	return misses
}

func checkQuiet(tr *tree) (misses []string) {
	for _, s := range tr.files {
		if quiet(s.room) && !forTests(s.dir()) {
			misses = append(misses, uses(tr, s, loudNames)...)
		}
	}
	return misses
}

// quiet rooms give the same answer to the same question: all below run, and
// what is drawn and printed.
func quiet(room string) bool {
	return rank(room) < rank("run") || slices.Contains([]string{"drawing", "paper", "report"}, room)
}

func checkHTTP(tr *tree) (misses []string) {
	for _, s := range tr.files {
		for _, imp := range s.file.Imports {
			if p := imp.Path.Value; rank(s.room) < rank("web") && (p == `"net/http"` || strings.HasPrefix(p, `"net/http/`)) {
				misses = append(misses, tr.miss(imp.Pos(), "%s imports %s", s.room, p))
			}
		}
	}
	return misses
}

// uses finds the mentions of the names in a file, whatever the package is
// called there.
func uses(tr *tree, s source, wanted names) (misses []string) {
	called := map[string]string{}
	for _, imp := range s.file.Imports {
		p, err := strconv.Unquote(imp.Path.Value)
		if err != nil || wanted[p] == nil {
			continue
		}
		name := path.Base(p)
		if name == "v2" {
			name = path.Base(path.Dir(p))
		}
		if imp.Name != nil {
			name = imp.Name.Name
		}
		if name == "." {
			misses = append(misses, tr.miss(imp.Pos(), "imports %s as a dot", p))
		}
		called[name] = p
	}
	ast.Inspect(s.file, func(n ast.Node) bool {
		sel, ok := n.(*ast.SelectorExpr)
		if !ok {
			return true
		}
		x, ok := sel.X.(*ast.Ident)
		if !ok {
			return true
		}
		if list := wanted[called[x.Name]]; slices.Contains(list, sel.Sel.Name) || slices.Contains(list, "*") {
			misses = append(misses, tr.miss(sel.Pos(), "%s uses %s.%s", s.room, x.Name, sel.Sel.Name))
		}
		return true
	})
	return misses
}

// nowhere imports nothing: the checks need the names of one package only.
type nowhere struct{}

func (nowhere) Import(string) (*types.Package, error) { return nil, errors.New("not looked up") }

func checkGlobals(tr *tree) (misses []string) {
	for _, pkg := range tr.packages() {
		if !quiet(pkg[0].room) {
			continue
		}
		info := &types.Info{Uses: map[*ast.Ident]types.Object{}}
		conf := types.Config{Importer: nowhere{}, Error: func(error) {}}
		files := make([]*ast.File, len(pkg))
		for i, s := range pkg {
			files[i] = s.file
		}
		scope, _ := conf.Check(pkg[0].dir(), tr.fset, files, info) // errors are those of the missing imports
		for _, f := range files {
			misses = append(misses, locks(tr, f)...)
			ast.Inspect(f, func(n ast.Node) bool {
				for _, e := range written(n) {
					id := root(e)
					if v, ok := info.Uses[id].(*types.Var); id != nil && ok && v.Parent() == scope.Scope() {
						misses = append(misses, tr.miss(n.Pos(), "package-level variable %s is changed", id.Name))
					}
				}
				return true
			})
		}
	}
	return misses
}

// written lists the expressions that a statement changes.
func written(n ast.Node) []ast.Expr {
	switch n := n.(type) {
	case *ast.AssignStmt:
		if n.Tok != token.DEFINE {
			return n.Lhs
		}
	case *ast.IncDecStmt:
		return []ast.Expr{n.X}
	case *ast.RangeStmt:
		if n.Tok == token.ASSIGN {
			return []ast.Expr{n.Key, n.Value}
		}
	case *ast.CallExpr:
		if f, ok := n.Fun.(*ast.Ident); ok && (f.Name == "delete" || f.Name == "clear") && len(n.Args) > 0 {
			return n.Args[:1]
		}
	}
	return nil
}

// root is the variable that an expression reaches into: t of t.rows[i].
func root(e ast.Expr) *ast.Ident {
	switch x := e.(type) {
	case *ast.Ident:
		return x
	case *ast.ParenExpr:
		return root(x.X)
	case *ast.StarExpr:
		return root(x.X)
	case *ast.IndexExpr:
		return root(x.X)
	case *ast.SelectorExpr:
		return root(x.X)
	}
	return nil
}

// locks finds package-level variables that are made to be changed: mutexes,
// pools, maps for several goroutines, atomics. A sync.OnceValue is not one.
func locks(tr *tree, f *ast.File) (misses []string) {
	for _, d := range f.Decls {
		g, ok := d.(*ast.GenDecl)
		if !ok || g.Tok != token.VAR {
			continue
		}
		for _, spec := range g.Specs {
			v := spec.(*ast.ValueSpec)
			for _, e := range append([]ast.Expr{v.Type}, v.Values...) {
				if kind := lockType(e); kind != "" {
					misses = append(misses, tr.miss(v.Pos(), "package-level variable %s is a %s, which is there to be changed", v.Names[0].Name, kind))
				}
			}
		}
	}
	return misses
}

func lockType(e ast.Expr) string {
	switch x := e.(type) {
	case *ast.CompositeLit:
		return lockType(x.Type)
	case *ast.UnaryExpr:
		return lockType(x.X)
	case *ast.StarExpr:
		return lockType(x.X)
	case *ast.IndexExpr:
		return lockType(x.X)
	case *ast.SelectorExpr:
		pkg, ok := x.X.(*ast.Ident)
		if ok && (pkg.Name == "atomic" || pkg.Name == "sync" && slices.Contains([]string{"Mutex", "RWMutex", "Once", "Pool", "Map", "WaitGroup"}, x.Sel.Name)) {
			return pkg.Name + "." + x.Sel.Name
		}
	}
	return ""
}
