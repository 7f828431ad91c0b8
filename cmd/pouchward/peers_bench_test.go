package main

import (
	"fmt"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"pouchward/exports/exportstest"
)

// mostBookRows bounds a workbook: a million rows in one take minutes to make.
const mostBookRows = 50_000

// BenchmarkPeers sorts a sheet, process against process, after the peers did what
// they do of it; x_of_python is our time over theirs, cpu_x_of the same for the time of
// processors, which other work on the machine changes less. We apply every rule and
// decide the routes, they six thresholds.
func BenchmarkPeers(b *testing.B) {
	binary := build(b, ".")
	for _, kind := range []string{"csv", "xlsx"} {
		rows := exportstest.Rows(b, 1000)
		if kind == "xlsx" {
			rows = min(rows, mostBookRows)
		}
		dir := b.TempDir()
		sheet := filepath.Join(dir, "sheet."+kind)
		if err := peerSheet(sheet, rows); err != nil {
			b.Fatal(err)
		}
		took, cpu := map[string]time.Duration{}, map[string]time.Duration{} // a run
		measure := func(b *testing.B, name string, command func(out string) *exec.Cmd) (out string) {
			out = filepath.Join(dir, name+".csv")
			var used time.Duration
			for b.Loop() {
				_, c := run(b, command(out))
				used += c
			}
			took[name], cpu[name] = b.Elapsed()/time.Duration(b.N), used/time.Duration(b.N)
			b.ReportMetric(float64(rows)/took[name].Seconds(), "rows/s")
			b.ReportMetric(cpu[name].Seconds()*1e6/float64(rows), "cpu-µs/row")
			return out
		}
		theirs := map[string]string{}
		at := fmt.Sprintf("sheet=%s/rows=%d/by=", kind, rows)
		for _, p := range peers[kind] {
			b.Run(at+p.name, func(b *testing.B) {
				missingPeer(b, &p)
				theirs[p.name] = measure(b, p.name, func(out string) *exec.Cmd { return p.command(sheet, out) })
			})
		}
		b.Run(at+"pouchward", func(b *testing.B) {
			ours := measure(b, "pouchward", func(out string) *exec.Cmd { return exec.Command(binary, peerArgs(sheet, out)...) })
			for name, file := range theirs {
				agree(b, name, ours, file, rows)
				b.ReportMetric(took["pouchward"].Seconds()/took[name].Seconds(), "x_of_"+name)
				b.ReportMetric(cpu["pouchward"].Seconds()/cpu[name].Seconds(), "cpu_x_of_"+name)
			}
		})
	}
}
