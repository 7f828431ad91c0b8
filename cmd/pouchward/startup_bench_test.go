package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// build makes a binary of a package or file, as a user has it, and returns its name.
func build(tb testing.TB, what string) string {
	tb.Helper()
	name := filepath.Join(tb.TempDir(), "bin.exe") // a name that every system runs
	if out, err := exec.Command("go", "build", "-trimpath", "-o", name, what).CombinedOutput(); err != nil {
		tb.Fatalf("building %s: %v\n%s", what, err, out)
	}
	return name
}

// BenchmarkStartUp runs "pouchward --version" as a process, beside a Go program that
// does nothing, built and run in the same minute: what the machine and the language
// take is no fault of ours. The aim is under 30 ms.
func BenchmarkStartUp(b *testing.B) {
	empty := filepath.Join(b.TempDir(), "empty.go")
	if err := os.WriteFile(empty, []byte("package main\n\nfunc main() {}\n"), 0o666); err != nil {
		b.Fatal(err)
	}
	var reference time.Duration // of one run
	for _, p := range []struct{ name, of, says string }{{"empty", empty, ""}, {"pouchward", ".", "pouchward version"}} {
		binary := build(b, p.of)
		info, err := os.Stat(binary)
		if err != nil {
			b.Fatal(err)
		}
		b.Run("program="+p.name, func(b *testing.B) {
			var cpu time.Duration
			for b.Loop() {
				cmd := exec.Command(binary, "--version")
				out, err := cmd.Output()
				if err != nil || !strings.HasPrefix(string(out), p.says) {
					b.Fatalf("%q, %v", out, err)
				}
				cpu += cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()
			}
			one := b.Elapsed() / time.Duration(b.N)
			b.ReportMetric(float64(one.Microseconds())/1000, "ms/run")
			b.ReportMetric(float64(cpu.Microseconds())/1000/float64(b.N), "cpu-ms/run")
			b.ReportMetric(float64(info.Size())/1e6, "MB")
			if p.name == "empty" {
				reference = one
			} else if reference > 0 {
				b.ReportMetric(one.Seconds()/reference.Seconds(), "x_of_empty")
			}
		})
	}
}
