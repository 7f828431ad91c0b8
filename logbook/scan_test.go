package logbook

import (
	"bytes"
	"errors"
	"slices"
	"testing"

	"pouchward/triage"
)

// Scanning gives the bytes that Entry gives, and of each tag what History gives.
func TestScan(t *testing.T) {
	l, _ := newLog(t)
	fill(t, l, pageRows+40)
	size, err := l.Size()
	if err != nil {
		t.Fatal(err)
	}
	all := map[int64][]byte{}
	next := int64(1)
	err = l.Scan(1, size, func(r RawEntry) error {
		if r.Number != next {
			t.Errorf("entry %d came, want %d", r.Number, next)
		}
		next++
		e, err := r.Parse()
		if err != nil {
			return err
		}
		all[r.Number] = e.Bytes
		return nil
	})
	if err != nil || next != size+1 {
		t.Fatalf("%d of %d entries: %v", next-1, size, err)
	}
	one := must(l.Entry(7))
	if !bytes.Equal(one.Bytes, all[7]) {
		t.Error("entry 7 has other bytes")
	}

	want := []int64{2, 3, 290, size}
	var got []int64
	if err := l.Pick([]int64{2, 3, 290, size, size + 1}, func(r RawEntry) error { got = append(got, r.Number); return nil }); err != nil || !slices.Equal(got, want) {
		t.Errorf("picked %v, want %v: %v", got, want, err)
	}

	const last = 200
	tags := 0
	err = l.TagHistories(triage.CellTag, last, func(tag string, list []RawEntry) error {
		tags++
		var numbers, want []int64
		for _, r := range list {
			numbers = append(numbers, r.Number)
		}
		history, err := l.History(tag) // the log can be read meanwhile
		for _, e := range history {
			if e.Number <= last {
				want = append(want, e.Number)
			}
		}
		if !slices.Equal(numbers, want) {
			t.Errorf("%s: entries %v, want %v", tag, numbers, want)
		}
		return err
	})
	if err != nil || tags < 2*tagsAtOnce {
		t.Errorf("%d tags: %v", tags, err)
	}
	stop := errors.New("enough")
	if err := l.Scan(1, size, func(RawEntry) error { return stop }); !errors.Is(err, stop) {
		t.Errorf("%v", err)
	}
	if _, err := (&RawEntry{Number: 8, Bytes: all[7]}).Parse(); err == nil {
		t.Error("entry 7 in the place of 8 was not noticed")
	}
}
