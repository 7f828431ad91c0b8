package logbook

import (
	"crypto/sha256"
	"crypto/subtle"
	"database/sql"
	"fmt"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"pouchward/triage"
)

// The benchmarks of issue 7. Each reports entries a second; ratios travel,
// absolute figures do not.

// usual is a body of the size that sort --record writes for a full row.
const usual = `{"handling":"retire","condition":"undamaged","size":"small","waste":"casing-intact","issued":true,"on":"2026-11-25","energy_wh":16.555,"readings":{"part":"PX-4300","device":"phone","fit":"loose","signs":"none","cell_c":"21.5","ambient_c":"21","recalled":"no","chemistry":"li-ion","series":"1","parallel":"1","nominal_v":"3.85","charge_limit_v":{"typed":"4.40","value":"4.4"},"rated_mah":"4300","ocv_v":"3.78","rest_h":"2","rocks":"no","thickness_mm":"4.9","nominal_thickness_mm":"4.9","mass_g":"71","purpose":"recycle","type_tested":"yes","pulled_on":"2026-11-20"},"earlier":[],"findings":["recycle","size-small-ion"],"open_findings":["rising","wedge","drift-0-2","drift-1","resistance-1-5","rising","wedge","drift-1"],"routes":{"us-highway":["small","us-recycling-small-ion"],"us-rail":["small","us-small-ion"],"us-vessel":["small","us-small-ion"],"air-passenger":["forbidden"],"air-cargo":["undecided"],"sea":["undecided"],"adr-road":["undecided"]},"look_again_min":0}`

func bulk(b testing.TB, l *Log, n int) {
	b.Helper()
	err := l.Write(func(tx *Tx) error {
		for range n {
			tag, err := tx.IssueTag(triage.CellTag)
			if err != nil {
				return err
			}
			text, err := ParseBody([]byte(usual))
			if err != nil {
				return err
			}
			if _, err := tx.Append(Draft{Kind: "assessment", Bench: "bench 1", Tags: []string{tag},
				Rulebook: "99de1108415bf8046456ca4b0771d26e63c4c998e09a97e90a210efc738e1172", Body: text}); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		b.Fatal(err)
	}
}

func benchLog(b *testing.B) *Log {
	b.Helper()
	l, _, err := Create(filepath.Join(b.TempDir(), "shop.db"), "bench", Options{Now: time.Now})
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { l.Close() })
	return l
}

func perSecond(b *testing.B, n int, took time.Duration) {
	b.ReportMetric(float64(n)/took.Seconds(), "entries/s")
}

// rawTable makes a table with the columns of the entries and nothing else, opened as a
// log is.
func rawTable(b *testing.B) *sql.DB {
	b.Helper()
	db, err := openDB(filepath.Join(b.TempDir(), "raw.db"), create, 0)
	if err != nil {
		b.Fatal(err)
	}
	var mode string
	if err := db.QueryRow("PRAGMA journal_mode(WAL)").Scan(&mode); err != nil {
		b.Fatal(err)
	}
	if _, err := db.Exec("CREATE TABLE raw (n INTEGER PRIMARY KEY, hashes BLOB NOT NULL, bytes BLOB NOT NULL) STRICT"); err != nil {
		b.Fatal(err)
	}
	return db
}

// lengths are those of the logs that show how a cost grows: ten times as long each, up
// to POUCHWARD_BENCH_ENTRIES (100,000 when not set); the shortest alone with -short.
func lengths(b *testing.B) []int {
	longest := max(1000, envInt(b, "POUCHWARD_BENCH_ENTRIES", 100_000))
	if testing.Short() {
		longest = 1000
	}
	var list []int
	for n := 1000; n < longest; n *= 10 {
		list = append(list, n)
	}
	return append(list, longest)
}

// BenchmarkAppendDurable is one acknowledged entry with an issued tag, on an
// empty log and on longer ones; do=raw, the reference, commits the bytes of an entry
// to a plain table with the same care.
func BenchmarkAppendDurable(b *testing.B) {
	var raw time.Duration // a commit
	b.Run("do=raw", func(b *testing.B) {
		db := rawTable(b)
		defer db.Close()
		for b.Loop() {
			if _, err := db.Exec("INSERT INTO raw (hashes, bytes) VALUES (?,?)", []byte(usual[:32]), []byte(usual)); err != nil {
				b.Fatal(err)
			}
		}
		perSecond(b, b.N, b.Elapsed())
		raw = b.Elapsed() / time.Duration(b.N)
	})
	for _, size := range append([]int{0}, lengths(b)...) {
		b.Run(fmt.Sprintf("do=append/entries=%d", size), func(b *testing.B) {
			l := benchLog(b)
			if size > 0 {
				bulk(b, l, size)
			}
			if _, err := l.db.Exec("PRAGMA wal_checkpoint(TRUNCATE)"); err != nil {
				b.Fatal(err)
			}
			b.ResetTimer()
			for b.Loop() {
				bulk(b, l, 1)
			}
			perSecond(b, b.N, b.Elapsed())
			if raw > 0 {
				b.ReportMetric(b.Elapsed().Seconds()/float64(b.N)/raw.Seconds(), "x_of_raw")
			}
		})
	}
}

// BenchmarkBulk is an intake of so many cells in one write, side by side with
// the same bytes put into a plain table by the same driver: one statement a row,
// and fifty rows a statement.
func BenchmarkBulk(b *testing.B) {
	for _, n := range lengths(b) {
		b.Run(fmt.Sprintf("entries=%d", n), func(b *testing.B) { bulkBeside(b, n) })
	}
}

func bulkBeside(b *testing.B, n int) {
	for b.Loop() {
		l := benchLog(b)
		start := time.Now()
		bulk(b, l, n)
		took := time.Since(start)
		single, width := rawInsert(b, l, n, 1)
		fifty, _ := rawInsert(b, l, n, 50)
		b.ReportMetric(float64(n)/took.Seconds(), "entries/s")
		b.ReportMetric(float64(n)/single.Seconds(), "raw1-rows/s")
		b.ReportMetric(float64(n)/fifty.Seconds(), "raw50-rows/s")
		b.ReportMetric(took.Seconds()/single.Seconds(), "x_of_raw1")
		b.ReportMetric(took.Seconds()/fifty.Seconds(), "x_of_raw50")
		b.ReportMetric(float64(width), "bytes/row")
	}
}

// rawInsert puts rows of the size of an entry into a table without triggers,
// hashes or views, in one transaction.
func rawInsert(b *testing.B, l *Log, n, rows int) (time.Duration, int) {
	b.Helper()
	var h, e []byte
	if err := l.db.QueryRow("SELECT hashes, bytes FROM entries WHERE n = 3").Scan(&h, &e); err != nil {
		b.Fatal(err)
	}
	db := rawTable(b)
	defer db.Close()
	runtime.GC()
	start := time.Now()
	tx, err := db.Begin()
	if err != nil {
		b.Fatal(err)
	}
	put, err := tx.Prepare("INSERT INTO raw (n, hashes, bytes) VALUES (?,?,?)" + strings.Repeat(",(?,?,?)", rows-1))
	if err != nil {
		b.Fatal(err)
	}
	args := make([]any, 0, 3*rows)
	for i := range n {
		args = append(args, i+1, h, e)
		if len(args) == cap(args) {
			if _, err := put.Exec(args...); err != nil {
				b.Fatal(err)
			}
			args = args[:0]
		}
	}
	if err := tx.Commit(); err != nil {
		b.Fatal(err)
	}
	return time.Since(start), len(h) + len(e)
}

// BenchmarkVerify derives whole logs again, whose cells are all still in the shop: the
// views to be compared are as long as they can be. The reference, hashed, reads the
// bytes of every entry and hashes them, no more. POUCHWARD_BENCH_ENTRIES=1000000 adds a
// long one.
func BenchmarkVerify(b *testing.B) {
	for _, n := range lengths(b) {
		b.Run(fmt.Sprintf("entries=%d", n), func(b *testing.B) { verifyLog(b, n) })
	}
}

func verifyLog(b *testing.B, n int) {
	l := benchLog(b)
	bulk(b, l, n)
	l.Close()
	hashed := min(hashLog(b, l.Path(), n), hashLog(b, l.Path(), n), hashLog(b, l.Path(), n))
	runtime.GC()
	b.ResetTimer()
	var peak uint64
	for b.Loop() {
		r, err := Verify(l.Path(), VerifyOptions{Progress: func(at, _ int64) {
			if at%(portionRows*64) == 0 {
				var m runtime.MemStats
				runtime.ReadMemStats(&m)
				peak = max(peak, m.Sys-m.HeapReleased)
			}
		}})
		if err != nil || !r.Verified() {
			b.Fatal(r, err)
		}
	}
	b.ReportMetric(float64(n)*float64(b.N)/b.Elapsed().Seconds(), "entries/s")
	b.ReportMetric(b.Elapsed().Seconds()/float64(b.N)/hashed.Seconds(), "x_of_hashed")
	if peak > 0 {
		b.ReportMetric(float64(peak)/(1<<20), "peak-MiB")
	}
}

// hashLog reads and hashes every entry of a log and returns what that took.
func hashLog(b *testing.B, path string, n int) time.Duration {
	b.Helper()
	db, _, _, err := openReading(path, defaultBusy)
	if err != nil {
		b.Fatal(err)
	}
	defer db.Close()
	begun := time.Now()
	rows, err := db.Query("SELECT bytes FROM entries ORDER BY n")
	if err != nil {
		b.Fatal(err)
	}
	defer rows.Close()
	var sum [sha256.Size]byte
	var text sql.RawBytes
	read := 0
	for ; rows.Next(); read++ {
		if err := rows.Scan(&text); err != nil {
			b.Fatal(err)
		}
		h := sha256.Sum256(text)
		subtle.XORBytes(sum[:], sum[:], h[:])
	}
	if err := rows.Err(); err != nil || read < n || sum == [sha256.Size]byte{} {
		b.Fatal(read, err)
	}
	return time.Since(begun)
}
