package main

import (
	"errors"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"

	"pouchward/cmd/internal/cli"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"pouchward": func() { os.Exit(cli.Main(os.Args[1:], os.Stdin, os.Stdout, os.Stderr, scriptClock)) },
	})
}

// scriptClock is the clock of a script: the time in $NOW where the script sets
// it, on the clock that it names.
func scriptClock() time.Time {
	t, err := time.Parse("2006-01-02 15:04 -07:00", os.Getenv("NOW"))
	if err != nil {
		return time.Now()
	}
	return t
}

func TestScripts(t *testing.T) {
	root, err := filepath.Abs("../..")
	if err != nil {
		t.Fatal(err)
	}
	scripts, err := filepath.Glob(filepath.Join(root, "testdata/script/*.txtar"))
	if err != nil || len(scripts) == 0 {
		t.Fatalf("no scripts found: %v", err)
	}
	testscript.Run(t, testscript.Params{
		Dir:                 filepath.Join(root, "testdata/script"),
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Cmds:                map[string]func(*testscript.TestScript, bool, []string){"damage": damageLog},
		UpdateScripts:       os.Getenv("UPDATE_SCRIPTS") != "",
		Setup: func(env *testscript.Env) error {
			env.Setenv("DEMO", filepath.Join(root, "testdata/demo"))
			env.Setenv("ESC", "a\x1b[2Jb\u202e") // clears a screen, turns text round
			return errors.Join(writeBooks(filepath.Join(root, "testdata/demo"), env.WorkDir), writePhoto(env.WorkDir), writeOdd(env.WorkDir))
		},
	})
}
