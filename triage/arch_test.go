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

// makers are the files of the program that make files, each with how what it makes
// appears whole or not at all.
var makers = map[string]string{
	"cmd/internal/app/output.go":      "WriteWhole: a held temporary takes the name",
	"cmd/internal/app/temp.go":        "the held temporaries",
	"cmd/internal/app/hold_flock.go":  "locks a temporary",
	"cmd/internal/app/exportwrite.go": "WriteFolder: a held folder takes the name",
	"cmd/internal/app/together.go":    "several files, each a held temporary, take their names together",
	"cmd/internal/app/demo.go":        "a folder that takes its name at the end",
	"cmd/internal/app/demopapers.go":  "within the folder of the demo",
	"cmd/internal/app/setup.go":       "tries that a folder can be written; a folder of its own for the log",
	"cmd/internal/bench/attach.go":    "an upload in a temporary folder, until the log has it",
	"cmd/internal/bench/drafts.go":    "a draft beside its name, which it then takes",
	"cmd/internal/cli/bench.go":       "the temporary folder of --demo",
	"cmd/internal/cli/sort.go":        "holds back what is recorded first, in a temporary",
	"cmd/internal/intake/cage.go":     "a workbook being read, in a temporary",
	"cmd/internal/intake/open.go":     "standard input being read, in a temporary",
	"exports/book/pack.go":            "parts of a workbook, in a temporary",
	"logbook/attach.go":               "a copy beside the log takes its name when it is on disk",
	"logbook/backup.go":               "a folder beside takes the names",
	"logbook/key.go":                  "a new key, never over another",
	"logbook/log.go":                  "a new log takes its name when it is whole",
	"logbook/renew.go":                "a new key takes its name after the entry",
}

// Nothing else makes a file: a new place that writes one must say how it appears whole.
func TestFilesAreMadeWhole(t *testing.T) {
	calls := []string{"Create", "CreateTemp", "Mkdir", "MkdirTemp", "WriteFile", "OpenFile", "Rename", "Link", "Symlink"}
	seen := map[string]bool{}
	goFiles(t, func(_, file string, f *ast.File) {
		if strings.HasSuffix(file, "_test.go") {
			return
		}
		ast.Inspect(f, func(n ast.Node) bool {
			sel, ok := n.(*ast.SelectorExpr)
			if !ok {
				return true
			}
			if x, ok := sel.X.(*ast.Ident); ok && x.Name == "os" && slices.Contains(calls, sel.Sel.Name) {
				name := strings.TrimPrefix(filepath.ToSlash(file), "../")
				if seen[name] = true; makers[name] == "" {
					t.Errorf("%s calls os.%s: write through app.WriteWhole or app.WriteFolder", name, sel.Sel.Name)
				}
			}
			return true
		})
	})
	for name := range makers {
		if !seen[name] {
			t.Errorf("%s makes no file any more", name)
		}
	}
}

// Only the bench page may speak to a network, and it listens; what it calls is looked
// at by strace (cmd/pouchward).
func TestOnlyThePageKnowsTheNetwork(t *testing.T) {
	goFiles(t, func(pkg, file string, f *ast.File) {
		if strings.HasSuffix(file, "_test.go") {
			return
		}
		page := strings.HasPrefix(pkg, "pouchward/cmd/internal/bench")
		for _, imp := range f.Imports {
			path, _ := strconv.Unquote(imp.Path.Value)
			if !page && (path == "net" || path == "net/http" || path == "net/rpc" || path == "net/smtp" || path == "crypto/tls") {
				t.Errorf("%s imports %s", file, path)
			}
		}
		ast.Inspect(f, func(n ast.Node) bool {
			if sel, ok := n.(*ast.SelectorExpr); ok {
				if x, ok := sel.X.(*ast.Ident); ok && (x.Name == "net" || x.Name == "http") &&
					(strings.HasPrefix(sel.Sel.Name, "Dial") || strings.HasPrefix(sel.Sel.Name, "Lookup") || slices.Contains([]string{"Get", "Head", "Post", "PostForm", "Client", "DefaultClient", "NewRequest", "NewRequestWithContext", "Transport"}, sel.Sel.Name)) {
					t.Errorf("%s calls out: %s.%s", file, x.Name, sel.Sel.Name)
				}
			}
			return true
		})
	})
}
