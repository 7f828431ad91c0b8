package logbook

import (
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"pouchward/triage"
)

// a state with every member.
func fullState(tag string) State {
	at := time.Date(2026, 11, 25, 15, 4, 5, 6e6, time.UTC)
	return State{Tag: tag, Is: Here, Handling: "retire", Condition: "undamaged", Size: "small", Waste: "casing-intact", Count: 0,
		MicroWh: 11_935_000, MilliGram: 48_120, MilliLitr: 5000, Start: "2026-01-05", StartBy: "pulled_on", Since: at, Looked: at.Add(time.Hour), LookIn: 60,
		Place: `Y1 "yard" äλ`, In: triage.IssueTag(triage.ContainerTag, 7), What: "steel tin", MadeSafe: true,
		Lapses: "2026-12-05", LapsedHandling: "isolate", LapsedCondition: "damaged"}
}

// moved writes an entry that says what holds of its tags.
func moved(t *testing.T, l *Log, states ...State) {
	t.Helper()
	d := Draft{Kind: "move", Body: body(t, `{}`), Now: states}
	for i := range states {
		d.Tags = append(d.Tags, states[i].Tag)
	}
	if _, err := l.Append(d); err != nil {
		t.Fatal(err)
	}
}

func TestAStateComesBackAsItWasSaid(t *testing.T) {
	l, _ := newLog(t)
	tag := triage.IssueTag(triage.CellTag, 9)
	want := fullState(tag)
	moved(t, l, want)
	h, ok, err := l.HeldAs(tag)
	if err != nil || !ok || h.Entry != 2 || h.State != want {
		t.Errorf("got %+v, %v, %v", h, ok, err)
	}
	e, err := l.Entry(2)
	if err != nil {
		t.Fatal(err)
	}
	if now, err := e.Now(); err != nil || len(now) != 1 || now[0] != want {
		t.Errorf("the entry says %+v, %v", now, err)
	}
	// The last word counts: it left, came back, became another's alias.
	for _, is := range []string{Out, Here, Alias, Here, Out} {
		s := fullState(tag)
		if s.Is = is; is == Alias {
			s = State{Tag: tag, Is: Alias, In: triage.IssueTag(triage.CellTag, 10)}
		}
		moved(t, l, s)
		if _, ok, err := l.HeldAs(tag); err != nil || ok != (is == Here) {
			t.Errorf("%s: in the shop %v, %v", is, ok, err)
		}
	}
	// So it does within one write, whatever the order.
	other := triage.IssueTag(triage.CellTag, 11)
	err = l.Write(func(tx *Tx) error {
		for i, is := range []string{Here, Out, Here, Out, Here} {
			s := State{Tag: other, Is: is, Place: fmt.Sprint("P", i)}
			if _, err := tx.Append(Draft{Kind: "move", Tags: []string{other}, Body: body(t, `{"to":"x"}`), Now: []State{s}}); err != nil {
				return err
			}
		}
		return nil
	})
	if h, ok, herr := l.HeldAs(other); err != nil || herr != nil || !ok || h.Place != "P4" {
		t.Errorf("after one write: %+v, %v, %v, %v", h, ok, err, herr)
	}
	mustVerify(t, l.Path(), VerifyOptions{})
}

func TestAStateIsOfATagThatTheEntryNames(t *testing.T) {
	l, _ := newLog(t)
	tag, other := triage.IssueTag(triage.CellTag, 9), triage.IssueTag(triage.CellTag, 10)
	for _, c := range []struct {
		d    Draft
		says string
	}{
		{Draft{Kind: "move", Tags: []string{tag}, Body: body(t, `{}`), Now: []State{fullState(other)}}, "which it does not name"},
		{Draft{Kind: "move", Tags: []string{tag}, Body: body(t, `{"now":{}}`), Now: []State{fullState(tag)}}, "named twice"},
		{Draft{Kind: "move", Tags: []string{tag}, Body: body(t, `{"now":{"`+tag+`":{"is":"here","since":"yesterday"}}}`)}, "is not a time"},
		{Draft{Kind: "move", Tags: []string{tag}, Body: body(t, `{}`), Now: []State{fullState(tag), fullState(tag)}}, "named twice"},
	} {
		if _, err := l.Append(c.d); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%v, want %q", err, c.says)
		}
	}
	if size, err := l.Size(); err != nil || size != 1 {
		t.Errorf("%d entries, %v", size, err)
	}
	mustVerify(t, l.Path(), VerifyOptions{})
}

// The views of a rebuilt log are those that were written along.
func TestRebuildGivesTheSameViews(t *testing.T) {
	l, _ := newLog(t)
	fill(t, l, 70)
	box := State{Tag: triage.IssueTag(triage.ContainerTag, 7), Is: Here, Place: "STORE", What: "bin"}
	moved(t, l, box)
	moved(t, l, fullState(triage.IssueTag(triage.CellTag, 3)), State{Tag: triage.IssueTag(triage.CellTag, 4), Is: Out})
	for _, text := range []string{`{"subject":"training","about":"MK: tins"}`, `{"subject":"training","about":"LS: tins"}`, `{"subject":"training","about":"MK: tins"}`} {
		if _, err := l.Append(Draft{Kind: "record", Body: body(t, text)}); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := l.Append(Draft{Kind: "assessment", Tags: []string{triage.IssueTag(triage.CellTag, 300)}, Body: body(t, `{"handling":"hold","condition":"undetermined","part":"XP3850"}`)}); err != nil {
		t.Fatal(err)
	}
	before := dumpViews(t, l)
	if n := strings.Count(before, "\n"); n < 200 || !strings.Contains(before, "XP3850") || !strings.Contains(before, "MK: tins") {
		t.Fatalf("the views hold %d rows: the test shows nothing", n)
	}
	if _, err := l.Rebuild(); err != nil {
		t.Fatal(err)
	}
	if after := dumpViews(t, l); after != before {
		t.Error("the rebuilt views differ")
	}
	mustVerify(t, l.Path(), VerifyOptions{})
}

func dumpViews(t *testing.T, l *Log) string {
	t.Helper()
	var b strings.Builder
	for _, table := range []string{"tag_entries", "tags", "issued", "here", "latest", "part_entries"} {
		rows, err := l.db.Query("SELECT * FROM " + table)
		if err != nil {
			t.Fatal(err)
		}
		cols, err := rows.Columns()
		if err != nil {
			t.Fatal(err)
		}
		cells := make([]any, len(cols))
		for i := range cells {
			cells[i] = new(any)
		}
		var lines []string
		for rows.Next() {
			if err := rows.Scan(cells...); err != nil {
				t.Fatal(err)
			}
			line := table
			for _, c := range cells {
				line += fmt.Sprint("|", *c.(*any))
			}
			lines = append(lines, line)
		}
		if err := rows.Err(); err != nil {
			t.Fatal(err)
		}
		b.WriteString(strings.Join(lines, "\n") + "\n")
	}
	return b.String()
}

// A log of schema 1 has no stock until it is written by this release, which then
// derives it from what stands there.
func TestStockOfAnOldLog(t *testing.T) {
	path := filepath.Join(t.TempDir(), "old.db")
	copyFile(t, "../testdata/logs/schema1.db", path)
	r, err := OpenReader(path, testOptions())
	if err != nil {
		t.Fatal(err)
	}
	if _, err := r.Stock("2026-11-25"); !errors.Is(err, ErrOldSchema) {
		t.Errorf("reading the stock: %v", err)
	}
	r.Close()
	l, err := Open(path, testOptions())
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	lines, err := l.Stock("2026-11-25")
	cells := int64(0)
	for i := range lines {
		cells += lines[i].Cells
	}
	if err != nil || cells != 20 {
		t.Errorf("%d cells, %v", cells, err)
	}
	mustVerify(t, path, VerifyOptions{})
}

// A determination that lapsed no longer counts, on the day after and not before.
func TestStockAfterALapse(t *testing.T) {
	l, _ := newLog(t)
	moved(t, l, fullState(triage.IssueTag(triage.CellTag, 3)))
	for day, want := range map[string]string{"2026-12-04": "retire", "2026-12-05": "retire", "2026-12-06": "isolate"} {
		lines, err := l.Stock(day)
		if err != nil || len(lines) != 1 || lines[0].Handling != want {
			t.Errorf("%s: %+v, %v; want %s", day, lines, err, want)
		}
	}
}
