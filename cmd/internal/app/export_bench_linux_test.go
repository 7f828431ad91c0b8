package app

import (
	"fmt"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"pouchward/logbook"
	"pouchward/triage"
)

// benchAssessment is a body of the size that an assessment of a full row has.
const benchAssessment = `{"handling":"retire","condition":"undamaged","size":"small","waste":"casing-intact","issued":true,"on":"2026-11-25","energy_wh":16.555,"readings":{"part":"PX-4300","device":"phone","fit":"loose","signs":"none","cell_c":"21.5","ambient_c":"21","recalled":"no","chemistry":"li-ion","series":"1","parallel":"1","nominal_v":"3.85","charge_limit_v":{"typed":"4.40","value":"4.4"},"rated_mah":"4300","ocv_v":"3.78","rest_h":"2","rocks":"no","thickness_mm":"4.9","nominal_thickness_mm":"4.9","mass_g":"71","purpose":"recycle","type_tested":"yes","pulled_on":"2026-11-20"},"earlier":[],"findings":["recycle","size-small-ion"],"open_findings":["rising","wedge","drift-0-2"],"routes":{"us-highway":["small","us-recycling-small-ion"],"us-rail":["small","us-small-ion"],"us-vessel":["small","us-small-ion"],"air-passenger":["forbidden"],"air-cargo":["undecided"],"sea":["undecided"],"adr-road":["undecided"]},"look_again_min":0}`

const benchRecheck = `{"found":"same","handling":"retire","condition":"undamaged","size":"small","waste":"casing-intact","issued":false,"on":"2026-11-25","energy_wh":16.555,"readings":{"cell_c":"21","ambient_c":"21"},"earlier":[],"findings":["recycle"],"open_findings":[],"routes":{},"look_again_min":0}`

// longExportLog writes a log of so many entries, five a cell: judged, made safe,
// moved, looked at again, and all but one in ten gone.
func longExportLog(b *testing.B, entries int64) LogPlace {
	b.Helper()
	now := time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)
	clock := now.AddDate(-8, 0, 0)
	p := LogPlace{Path: filepath.Join(b.TempDir(), "log.db"), Options: logbook.Options{Now: func() time.Time { return clock }, Zone: "UTC"}}
	l, _, err := logbook.Create(p.Path, "Back room", p.Options)
	if err != nil {
		b.Fatal(err)
	}
	defer l.Close()
	var bodies []logbook.Body
	steps := []struct{ kind, body string }{{"assessment", benchAssessment}, {"secured", `{"terminals":true,"bag":true,"fill":false}`}, {"move", `{"to":"STORE"}`},
		{"recheck", benchRecheck}, {"move", `{"out":"other","because":"bench"}`}}
	for _, s := range steps {
		body, err := logbook.ParseBody([]byte(s.body))
		if err != nil {
			b.Fatal(err)
		}
		bodies = append(bodies, body)
	}
	step := now.Sub(clock) / time.Duration(entries+1)
	write := func(tx *logbook.Tx, cells int64) error {
		for c := range cells {
			tag, err := tx.IssueTag(triage.CellTag)
			if err != nil {
				return err
			}
			s := logbook.State{Tag: tag, Is: logbook.Here, Handling: "retire", Condition: "undamaged", Size: "small", Waste: "casing-intact", MicroWh: 16_555_000, MilliGram: 71_000, StartBy: "pulled_on", Place: "STORE", MadeSafe: true}
			for i, x := range steps {
				if clock = clock.Add(step); i == 0 {
					s.Start, s.Since = clock.Format(time.DateOnly), clock
				}
				if s.Looked = clock; i == len(steps)-1 && c%10 != 0 {
					s.Is = logbook.Out
				}
				if _, err := tx.Append(logbook.Draft{Kind: x.kind, Who: "MK", Tags: []string{tag}, Body: bodies[i], Now: []logbook.State{s}}); err != nil {
					return err
				}
			}
		}
		return nil
	}
	for left := entries / int64(len(steps)); left > 0; left -= 10_000 {
		if err := l.Write(func(tx *logbook.Tx) error { return write(tx, min(left, 10_000)) }); err != nil {
			b.Fatal(err)
		}
	}
	return p
}

// benchScan reads and parses each entry of a log once and makes nothing of it.
func benchScan(b *testing.B, p LogPlace) {
	for b.Loop() {
		err := ReadLog(p, func(l *logbook.Log) error {
			size, err := l.Size()
			if err != nil {
				return err
			}
			n := int64(0)
			err = l.Entries(1, size, func(e *logbook.Entry) error {
				n += int64(len(e.Bytes[:1]))
				return nil
			})
			if n != size {
				return fmt.Errorf("%d of %d entries", n, size)
			}
			return err
		})
		if err != nil {
			b.Fatal(err)
		}
	}
}

// benchVerify verifies a log.
func benchVerify(b *testing.B, p LogPlace) {
	for b.Loop() {
		if r, err := logbook.Verify(p.Path, logbook.VerifyOptions{}); err != nil || !r.Verified() {
			b.Fatal(r, err)
		}
	}
}

// A ratio reports how long a benchmark took in units of the one that ran first, of the
// same log in the same run: the machine, and what else it does, cancel out as far as
// they can. CPU time is told the same way, since a busy machine lends it out in turns.
type ratio struct{ wall, cpu float64 }

// timed runs a benchmark and reports its ratio to the first.
func (r *ratio) timed(b *testing.B, run func(*testing.B)) {
	was := cpuTime()
	run(b)
	n := float64(b.N)
	wall, cpu := b.Elapsed().Seconds()/n, (cpuTime()-was).Seconds()/n
	if r.wall == 0 {
		r.wall, r.cpu = wall, cpu
	}
	b.ReportMetric(wall/r.wall, "x_of_scan")
	b.ReportMetric(cpu/r.cpu, "x_of_scan_cpu")
	b.ReportMetric(cpu, "cpu-s/op")
}

// cpuTime is the processor time of this process and of those that it waited for.
func cpuTime() (sum time.Duration) {
	for _, who := range []int{syscall.RUSAGE_SELF, syscall.RUSAGE_CHILDREN} {
		var u syscall.Rusage
		if syscall.Getrusage(who, &u) == nil {
			sum += time.Duration(u.Utime.Nano() + u.Stime.Nano())
		}
	}
	return sum
}

// BenchmarkExport exports a long log in a process of its own and reports the most
// memory that it held, of which the limit is 150 MiB, and the time against one scan of
// the same log. POUCHWARD_BENCH_ENTRIES=1000000 is the long run.
func BenchmarkExport(b *testing.B) {
	entries := longest(b)
	p := longExportLog(b, entries)
	var r ratio
	b.Run(fmt.Sprintf("entries=%d/do=scan", entries), func(b *testing.B) { r.timed(b, func(b *testing.B) { benchScan(b, p) }) })
	b.Run(fmt.Sprintf("entries=%d/do=verify", entries), func(b *testing.B) { r.timed(b, func(b *testing.B) { benchVerify(b, p) }) })
	for _, format := range []string{"csv", "jsonl", "xlsx"} {
		b.Run(fmt.Sprintf("entries=%d/format=%s", entries, format), func(b *testing.B) {
			if format == "xlsx" && entries > 200_000 {
				b.Skip("a sheet holds 1,048,571 rows, and nobody opens one so long")
			}
			most := int64(0)
			r.timed(b, func(b *testing.B) {
				for b.Loop() {
					cmd := exportingChild(b, format, filepath.Join(b.TempDir(), "out"), 0)
					cmd.Env = append(cmd.Env, exportChildLog+"="+p.Path)
					if out, err := cmd.CombinedOutput(); err != nil {
						b.Fatalf("%v: %s", err, out)
					}
					most = max(most, cmd.ProcessState.SysUsage().(*syscall.Rusage).Maxrss)
				}
			})
			b.ReportMetric(float64(most)/1024, "MiB")
			b.ReportMetric(float64(b.N)*float64(entries)/b.Elapsed().Seconds(), "entries/s")
			if limit := int64(150); format != "xlsx" && most/1024 > limit {
				b.Errorf("%d MiB, the limit is %d", most/1024, limit)
			}
		})
	}
}
