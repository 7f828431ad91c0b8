package review

import (
	"maps"
	"testing"
	"time"

	"pgregory.net/rapid"

	"pouchward/triage"
)

// A world is what truly stood in an invented shop, kept apart from the entries.
type world struct {
	*builder
	rt   *rapid.T
	at   time.Time
	ends map[triage.Date]map[Where]Amount // at the end of each month
}

// state returns the last state of the cell at an index.
func (w *world) state(i int) *State { return w.s.Cells[i].Last() }

// sum adds up what stands in the shop, as a person with a list would.
func (w *world) sum() map[Where]Amount {
	sum := map[Where]Amount{}
	for i := range w.s.Cells {
		s := w.state(i)
		n, where := int64(1), Where{s.In, ""}
		if s.In == "" {
			where.Place = s.Place
		}
		if len(w.s.Cells[i].Tag) == 4 {
			n, where = s.Count, Where{w.s.Cells[i].Tag, ""}
		}
		if s.Is != Here || n == 0 {
			continue
		}
		a := sum[where]
		a.Cells, a.MicroWh, a.MilliGram = a.Cells+n, a.MicroWh+s.MicroWh, a.MilliGram+s.MilliGram
		if s.MicroWh == 0 {
			a.Unrated += n
		}
		if s.MilliGram == 0 {
			a.Unweighed += n
		}
		sum[where] = a
	}
	return sum
}

// pass lets time go by and notes what stands at the end of each month.
func (w *world) pass(hours int) {
	next := w.at.Add(time.Duration(hours) * time.Hour)
	for {
		y, m, _ := w.at.Date()
		turn := time.Date(y, m+1, 1, 0, 0, 0, 0, w.at.Location())
		if next.Before(turn) {
			break
		}
		w.ends[triage.DateOf(turn)-1] = w.sum()
		w.at = turn
	}
	w.at = next
}

// put puts a state somewhere.
func (w *world) put(s *State) {
	s.In, s.Place = "", ""
	if k := rapid.IntRange(0, 5).Draw(w.rt, "where"); k < 3 {
		s.In = boxTag(int64(k) + 1)
	} else if k < 5 {
		s.Place = []string{"Bench 1", "Bench 2"}[k-3]
	}
}

// draw makes one entry.
func (w *world) draw() {
	mass, wh := rapid.Int64Range(0, 3).Draw(w.rt, "mass")*20_000, rapid.Int64Range(0, 2).Draw(w.rt, "wh")*7_700_000
	if n := len(w.s.Cells); n == 0 || rapid.IntRange(0, 2).Draw(w.rt, "new") == 0 {
		s := retired(w.at, "")
		s.MilliGram, s.MicroWh = mass, wh
		c := Cell{Tag: cellTag(int64(n))}
		if rapid.IntRange(0, 4).Draw(w.rt, "lot") == 0 {
			c.Tag, s.Count, s.Place = boxTag(int64(10+n)), rapid.Int64Range(1, 40).Draw(w.rt, "count"), "Shelf"
		} else {
			w.put(&s)
		}
		kind := rapid.SampledFrom([]string{"assessment", "split"}).Draw(w.rt, "kind")
		w.ledgerStep(&c, w.at, kind, s)
		w.s.Cells = append(w.s.Cells, c)
		return
	}
	c := &w.s.Cells[rapid.IntRange(0, len(w.s.Cells)-1).Draw(w.rt, "cell")]
	s := *c.Last()
	kind := rapid.SampledFrom([]string{"move", "out", "correction", "retraction", "recheck", "merge", "container"}).Draw(w.rt, "act")
	switch {
	case len(c.Tag) == 4:
		s.Count, s.MilliGram, s.Is = rapid.Int64Range(0, 40).Draw(w.rt, "count"), mass, Here
		if kind == "out" {
			s.Is = Out
		}
	case kind == "out":
		s.Is = Out
	case kind == "merge":
		s = State{Is: Alias, In: w.s.Cells[0].Tag}
	case kind == "move", kind == "retraction":
		s.Is = Here
		w.put(&s)
	default:
		s.MilliGram, s.MicroWh = mass, wh
	}
	if kind == "out" {
		kind = "move"
	}
	w.ledgerStep(c, w.at, kind, s)
}

// TestLedgerOfRandomLives: whatever happens to cells, each line comes out at zero, what
// is there at the end of each month is what stood there, and one thing wrong in the
// stock view is found.
func TestLedgerOfRandomLives(t *testing.T) {
	clean := cleanShop(t)
	differences, spoilt := 0, 0
	rapid.Check(t, func(rt *rapid.T) {
		w := &world{builder: &builder{t: t, s: clean.s}, rt: rt, at: ago(24 * 200), ends: map[triage.Date]map[Where]Amount{}}
		w.s.Cells, w.s.From = nil, triage.DateOf(noon)-150
		for w.at.Before(ago(400)) {
			w.draw()
			w.pass(rapid.SampledFrom([]int{0, 1, 30, 300}).Draw(rt, "hours"))
		}
		w.pass(int(noon.Sub(w.at) / time.Hour))
		for where, a := range w.sum() {
			w.s.Counted = append(w.s.Counted, Counted{Key: where.Container, Place: where.Place, Cells: a.Cells, MicroWh: a.MicroWh, MilliGram: a.MilliGram})
		}
		l := NewLedger(&w.s)
		if len(l.Differences) > 0 {
			rt.Fatalf("differences %+v", l.Differences)
		}
		for i := range l.Months {
			m := &l.Months[i]
			if off := m.Total.Off(); off != (Amount{}) {
				rt.Fatalf("the shop is off by %+v in %s", off, m.From)
			}
			want, ok := w.ends[m.To]
			if i == len(l.Months)-1 {
				want, ok = w.sum(), true
			}
			stood := 0
			for j := range m.Lines {
				if x := &m.Lines[j]; x.After != (Amount{}) {
					if stood++; x.After != want[x.Where] {
						rt.Fatalf("%s on %s: %+v, want %+v", x.Name(), m.To, x.After, want[x.Where])
					}
				}
			}
			if !ok || stood != len(want) {
				rt.Fatalf("%s: %d lines, want %d", m.To, stood, len(want))
			}
		}
		if w.spoil() {
			spoilt++
			differences += min(len(NewLedger(&w.s).Differences), 1)
		}
	})
	if spoilt < 20 || differences != spoilt {
		t.Errorf("%d of %d wrong stock views were found", differences, spoilt)
	}
}

// spoil makes one thing in the stock view wrong, or has it miss one entry; false where
// nothing came of it.
func (w *world) spoil() bool {
	if len(w.s.Counted) == 0 {
		return false
	}
	i := rapid.IntRange(0, len(w.s.Counted)-1).Draw(w.rt, "spoilt")
	x := &w.s.Counted[i]
	switch rapid.IntRange(0, 5).Draw(w.rt, "how") {
	case 0:
		x.Cells++
	case 1:
		x.MilliGram += 20_000
	case 2:
		x.MicroWh--
	case 3:
		w.s.Counted = append(w.s.Counted[:i], w.s.Counted[i+1:]...)
	case 4: // the view says that it stands elsewhere
		if x.Key, x.Place = "", "Attic"; x.Cells == 0 {
			return false
		}
	case 5:
		return w.missed()
	}
	return true
}

// missed has the stock view miss the last entry of a cell; false where that changed
// nothing.
func (w *world) missed() bool {
	c := &w.s.Cells[rapid.IntRange(0, len(w.s.Cells)-1).Draw(w.rt, "of")]
	all, told := c.Steps, w.sum()
	c.Steps = all[:len(all)-1]
	missed := w.sum()
	c.Steps, w.s.Counted = all, []Counted{}
	for where, a := range missed {
		w.s.Counted = append(w.s.Counted, Counted{Key: where.Container, Place: where.Place, Cells: a.Cells, MicroWh: a.MicroWh, MilliGram: a.MilliGram})
	}
	bare := func(sum map[Where]Amount) map[Where]Amount {
		for where, a := range sum {
			a.Unrated, a.Unweighed = 0, 0
			sum[where] = a
		}
		return sum
	}
	return !maps.Equal(bare(told), bare(missed))
}
