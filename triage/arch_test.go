package triage

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// layers are the packages of the project, lowest first: an import may only go
// down. A path stands for all below it.
var layers = []string{"pouchward/triage", "pouchward/logbook", "pouchward/exports", "pouchward/cmd"}

func layer(path string) int {
	return slices.IndexFunc(layers, func(l string) bool { return path == l || strings.HasPrefix(path, l+"/") })
}

// goFiles calls fn for every Go file of the project.
func goFiles(t *testing.T, fn func(pkg, file string, f *ast.File)) {
	t.Helper()
	count := 0
	err := filepath.WalkDir("..", func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && strings.HasPrefix(d.Name(), ".") && d.Name() != ".." {
			return filepath.SkipDir
		}
		if d.IsDir() || !strings.HasSuffix(path, ".go") {
			return nil
		}
		f, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.SkipObjectResolution)
		if err != nil {
			return err
		}
		rel, err := filepath.Rel("..", filepath.Dir(path))
		if err != nil {
			return err
		}
		count++
		fn("pouchward/"+filepath.ToSlash(rel), path, f)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if count < 10 {
		t.Fatalf("looked at %d files only", count)
	}
}

func TestImportsGoDown(t *testing.T) {
	goFiles(t, func(pkg, file string, f *ast.File) {
		from := layer(pkg)
		if from < 0 {
			t.Errorf("%s is in no layer", file)
		}
		for _, imp := range f.Imports {
			path, _ := strconv.Unquote(imp.Path.Value)
			if strings.HasPrefix(path, "pouchward/") && layer(path) > from {
				t.Errorf("%s imports %s, which stands above it", file, path)
			}
		}
	})
}

// impure are the imports that would let the judging see the world.
var impure = []string{"os", "net", "syscall", "log", "database", "math/rand", "crypto/rand", "runtime", "unsafe", "plugin", "testing"}

// clockCalls are the calls of package time that read a clock or wait.
var clockCalls = []string{"Now", "Since", "Until", "After", "AfterFunc", "Tick", "NewTimer", "NewTicker", "Sleep", "Local", "LoadLocation"}

func TestTriageIsPure(t *testing.T) {
	goFiles(t, func(pkg, file string, f *ast.File) {
		if layer(pkg) != 0 || strings.HasSuffix(file, "_test.go") {
			return
		}
		for _, imp := range f.Imports {
			path, _ := strconv.Unquote(imp.Path.Value)
			for _, bad := range impure {
				if path == bad || strings.HasPrefix(path, bad+"/") {
					t.Errorf("%s imports %s", file, path)
				}
			}
		}
		ast.Inspect(f, func(n ast.Node) bool {
			if sel, ok := n.(*ast.SelectorExpr); ok {
				if x, ok := sel.X.(*ast.Ident); ok && x.Name == "time" && slices.Contains(clockCalls, sel.Sel.Name) {
					t.Errorf("%s reads the clock: time.%s", file, sel.Sel.Name)
				}
			}
			if fn, ok := n.(*ast.FuncDecl); ok && fn.Recv == nil && fn.Name.Name == "init" {
				t.Errorf("%s works in init", file)
			}
			return true
		})
	})
}

// Only these may stand at the top level of the repository.
func TestTopLevel(t *testing.T) {
	allowed := []string{"cmd", "triage", "logbook", "exports", "testdata", "go.mod", "go.sum", "README.md", "DEVELOPERS.md", "LICENSE"}
	names, err := filepath.Glob("../*")
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range names {
		if base := filepath.Base(n); !slices.Contains(allowed, base) && !strings.HasPrefix(base, ".") {
			t.Errorf("%s stands at the top level", base)
		}
	}
}
