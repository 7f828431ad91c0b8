//go:build unix

package logbook

import (
	"bytes"
	"math/rand/v2"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"
)

// Writers are killed with SIGKILL at random moments, several at a time on one
// file. Every acknowledged entry is there afterwards, the tree verifies, and no
// write is there in part. POUCHWARD_KILLS=1000 is the long run. What a kill
// cannot show is a power cut: that what was synced stays is the disk's promise.
func TestKill(t *testing.T) {
	kills := envInt(t, "POUCHWARD_KILLS", 60)
	if testing.Short() {
		kills = min(kills, 12)
	}
	l, _ := newLog(t)
	path := l.Path()
	l.Close()
	const writers, group = 3, 3
	acked := ledger{}
	killed, mid := 0, 0
	for round := 0; killed < kills; round++ {
		var wg sync.WaitGroup
		var outs, errs [writers]bytes.Buffer
		var wasKilled [writers]bool
		for w := range writers {
			cmd := child("append", path, strconv.Itoa(round)+"-"+strconv.Itoa(w), "1000000", strconv.Itoa(group))
			cmd.Stdout, cmd.Stderr = &outs[w], &errs[w]
			if err := cmd.Start(); err != nil {
				t.Fatal(err)
			}
			wg.Go(func() {
				// From before the file is open to some dozens of writes later.
				time.Sleep(time.Duration(rand.IntN(200_000)) * time.Microsecond)
				_ = cmd.Process.Kill()
				err := cmd.Wait()
				wasKilled[w] = err != nil && strings.Contains(err.Error(), "killed")
			})
		}
		wg.Wait()
		for w := range writers {
			if !wasKilled[w] || errs[w].Len() > 0 {
				t.Fatalf("a writer ended by itself: %s", errs[w].String())
			}
			killed++
			if acked.read(t, outs[w].String()) > 0 {
				mid++
			}
		}
		if round%20 == 0 {
			acked.check(t, path, group)
		}
	}
	size := acked.check(t, path, group)
	t.Logf("%d kills, %d of writers that had acknowledged something; %d entries, %d acknowledged, none lost", killed, mid, size, len(acked))
	if mid == 0 {
		t.Error("no writer was killed after an acknowledgement: the test shows nothing")
	}
}

// Eight processes write 500 entries each to one file.
func TestManyProcesses(t *testing.T) {
	processes, each := 8, 500
	if testing.Short() {
		processes, each = 4, 40
	}
	l, _ := newLog(t)
	path := l.Path()
	l.Close()
	outs, errs := make([]bytes.Buffer, processes), make([]bytes.Buffer, processes)
	var wg sync.WaitGroup
	for p := range processes {
		cmd := child("append", path, strconv.Itoa(p), strconv.Itoa(each), "1")
		cmd.Stdout, cmd.Stderr = &outs[p], &errs[p]
		wg.Go(func() {
			if err := cmd.Run(); err != nil {
				t.Errorf("%v: %s", err, errs[p].String())
			}
		})
	}
	wg.Wait()
	acked := ledger{}
	for p := range outs {
		acked.read(t, outs[p].String())
	}
	if size := acked.check(t, path, 1); size != int64(processes*each)+1 || len(acked) != processes*each {
		t.Errorf("%d entries, %d acknowledged, want %d", size, len(acked), processes*each)
	}
}
