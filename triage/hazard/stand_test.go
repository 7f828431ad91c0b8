package hazard

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"pouchward/triage"
)

func TestLoadCountsWhatIsUnknown(t *testing.T) {
	f := figures(t)
	g := Group{Tag: "JEHF"}
	g.Add(f, Cells{Count: 1, Wh: 10 * triage.One, Class: "retire", Start: "2026-03-01"})
	g.Add(f, Cells{Count: 1, Grams: 50 * triage.One, Class: "isolate"}) // 50 g x 270 Wh/kg = 13.5 Wh
	s := &Stand{Groups: []Group{g}}
	total := s.Total()
	if total.Cells != 2 || total.Wh != 23_500_000 || total.Bounded != 1 || total.Unweighed != 1 || s.AtLeast() {
		t.Errorf("got %+v", total)
	}
	if total.Largest != 13_500_000 || total.Worst != "isolate" || total.Oldest != "2026-03-01" {
		t.Errorf("got %+v", total)
	}
	s.Groups[0].Add(f, Cells{Count: 1, Start: "2026-02-01"})
	if total = s.Total(); total.Unknown != 1 || !s.AtLeast() || total.Wh != 23_500_000 || total.Oldest != "2026-02-01" || total.Worst != "isolate" {
		t.Errorf("with a cell of unknown size: %+v", total)
	}
	for _, k := range s.Cases() {
		if !k.AtLeast {
			t.Errorf("%s is not said to be at least", k.Key)
		}
	}
	// A lot: its average is one cell, and one of it may be larger.
	lot := Group{Tag: "7T3P"}
	lot.Add(f, Cells{Count: 60, Grams: 2900 * triage.One})
	s = &Stand{Groups: []Group{lot}}
	cases := s.Cases()
	if len(cases) != 2 || cases[0].Wh != 13_050_000 || !cases[0].AtLeast || cases[1].Wh != 783*triage.One || cases[1].AtLeast {
		t.Errorf("a lot: %+v", cases)
	}
	if (&Stand{}).Cases() != nil || (&Stand{Groups: []Group{{Tag: "JEHF"}}}).Cases() != nil {
		t.Error("nothing makes a case")
	}
	// What may stand here and is not counted.
	if s = stand(f, 1, 15); !(&Stand{Groups: s.Groups, Unplaced: 1}).AtLeast() || s.AtLeast() {
		t.Error("a cell that may stand here is forgotten, or one is made up")
	}
}

func TestCases(t *testing.T) {
	f := figures(t)
	two := &Stand{Groups: []Group{stand(f, 2, 10).Groups[0], stand(f, 1, 15).Groups[0]}}
	for _, c := range []struct {
		stand *Stand
		keys  []string
		main  string
		wh    float64
	}{
		{stand(f, 1, 15), []string{"only"}, "only", 15}, {stand(f, 60, 12), []string{"cell", "container"}, "container", 720},
		{two, []string{"cell", "container", "all"}, "container", 20},
		{&Stand{Groups: []Group{stand(f, 1, 10).Groups[0], stand(f, 1, 15).Groups[0]}}, []string{"cell", "all"}, "cell", 15},
	} {
		list := c.stand.Cases()
		var keys []string
		for _, k := range list {
			keys = append(keys, k.Key)
		}
		if len(keys) != len(c.keys) {
			t.Errorf("got %v, want %v", keys, c.keys)
			continue
		}
		for i := range keys {
			if keys[i] != c.keys[i] {
				t.Errorf("got %v, want %v", keys, c.keys)
			}
		}
		if m := Main(list); m.Key != c.main || m.wh() != c.wh {
			t.Errorf("the main case is %s of %g Wh, want %s of %g", m.Key, m.wh(), c.main, c.wh)
		}
	}
}

func TestHowMany(t *testing.T) {
	f := figures(t)
	hf, idlh := f.Limit("hf-niosh-idlh") // 24.5474 mg/m3
	for _, c := range []struct {
		m3, wh float64 // one cell here
		most   float64 // by hand: 24.5474 x m3 / 200
		cells  int64
	}{
		{50, 15.4, 6.13, 0}, {122, 15, 14.97, 0}, {123, 15, 15.09, 1}, {400, 15.4, 49.09, 3}, {50, 6.13, 6.13, 0}, {50, 6.12, 6.13, 1},
	} {
		m := stand(f, 1, c.wh).HowMany(hf, idlh, Room{M3: c.m3})
		if !m.Known || m.Cells != c.cells || m.Wh != c.most {
			t.Errorf("%g Wh in %g m3: got %+v, by hand %d of less than %g Wh", c.wh, c.m3, m, c.cells, c.most)
		}
		if worst := float64(m.Cells) * c.wh * hf.Yield.Worst / c.m3; worst >= hf.MgM3(idlh.PPM) {
			t.Errorf("%d cells of %g Wh in %g m3 come up to the limit", m.Cells, c.wh, c.m3)
		}
	}
	unknown := stand(f, 1, 1)
	unknown.Groups[0].Add(f, Cells{Count: 1})
	if m := unknown.HowMany(hf, idlh, Room{M3: 10_000}); m.Known || m.Cells != 0 {
		t.Errorf("with a cell of unknown size: %+v", m)
	}
}

// A level above what is immediately dangerous lets no more stand.
func TestAskedIsNeverLax(t *testing.T) {
	s := &Screen{Figures: figures(t), Stand: stand(figures(t), 1, 15)}
	strict := map[string]bool{}
	for _, g := range s.Figures.Gases() {
		for _, l := range g.Limits {
			s.Gas, s.Under = g, l
			_, got := s.Asked()
			if strict[l.ID] = got == l; !strict[l.ID] && got.ID != "hf-niosh-idlh" {
				t.Errorf("%s is answered by %s", l.ID, got.ID)
			}
		}
	}
	for id, want := range map[string]bool{"hf-niosh-idlh": true, "hf-aegl-2-60min": true, "hf-niosh-ceiling": true, "hf-acgih-twa": true,
		"hf-aegl-3-10min": false, "hf-aegl-3-60min": false, "co-niosh-idlh": false, "co-niosh-ceiling": false} {
		if strict[id] != want {
			t.Errorf("%s is used: %v, want %v", id, strict[id], want)
		}
	}
}

func TestStorageVolumes(t *testing.T) {
	f := figures(t)
	total, one := &triage.Storage{CuFt: 15, Counts: "total"}, &triage.Storage{CuFt: 7.5, Counts: "container"}
	box := func(litres float64) Group {
		g := stand(f, 1, 10).Groups[0]
		g.Tag, g.Litres = "JEHF", litres
		return g
	}
	const half = 7.5 * triage.LitresPerCuFt
	for _, c := range []struct {
		groups         []Group
		total, one     bool
		unsized        int64
		totalL, oneMax float64
	}{
		{[]Group{box(half), box(half)}, false, false, 0, 2 * half, half}, // 15.0 cu ft: not more than 15
		{[]Group{box(half), box(half * 1.02)}, true, true, 0, 2.02 * half, 1.02 * half},
		{[]Group{box(0), box(100)}, false, false, 1, 100, 100},
		{[]Group{{Tag: "7T3P", Litres: 1000}, box(100)}, false, false, 0, 100, 100}, // an empty one
		{[]Group{box(0), box(300), box(200)}, true, true, 1, 500, 300},
	} {
		list := (&Stand{Groups: c.groups}).Storage([]*triage.Storage{total, {}, one})
		if len(list) != 2 {
			t.Fatalf("%d answers", len(list))
		}
		a, b := list[0], list[1]
		if a.Over != c.total || b.Over != c.one || a.Unsized != c.unsized || !near(a.Litres, c.totalL, 1e-9) || !near(b.Litres, c.oneMax, 1e-9) {
			t.Errorf("got %+v and %+v, want over %v and %v", a, b, c.total, c.one)
		}
	}
}

// drawn cells, some of unknown size.
var someCells = rapid.Custom(func(t *rapid.T) Cells {
	return Cells{
		Count: rapid.Int64Range(1, 100).Draw(t, "count"),
		Wh:    triage.Micro(rapid.OneOf(rapid.Just(int64(0)), rapid.Int64Range(1, 1<<62)).Draw(t, "wh")),
		Grams: triage.Micro(rapid.OneOf(rapid.Just(int64(0)), rapid.Int64Range(1, 1<<60)).Draw(t, "grams")),
	}
})

// reach says what everything together comes to in a room.
func reach(f *Figures, s *Stand, r Room) (mg float64, above Reach, minutes float64, least bool) {
	hf, idlh := f.Limit("hf-niosh-idlh")
	list := s.Cases()
	if len(list) == 0 {
		return 0, NotReached, 0, false
	}
	k := &list[len(list)-1]
	mg = k.MgM3(hf, r).Worst
	above, minutes = k.Above(hf, idlh, mg, r)
	return mg, above, minutes, k.AtLeast
}

// More cells never give less gas, a lighter answer, less time, or room for more;
// more air or a larger room never the other way.
func TestConservation(t *testing.T) {
	f := figures(t)
	hf, idlh := f.Limit("hf-niosh-idlh")
	rapid.Check(t, func(t *rapid.T) {
		r := Room{M3: rapid.Float64Range(1, 10_000).Draw(t, "m3"), AirChanges: rapid.OneOf(rapid.Just(0.0), rapid.Float64Range(0.01, 60)).Draw(t, "air")}
		s := &Stand{}
		for range rapid.IntRange(1, 3).Draw(t, "groups") {
			g := Group{}
			for _, c := range rapid.SliceOfN(someCells, 0, 4).Draw(t, "cells") {
				g.Add(f, c)
			}
			s.Groups = append(s.Groups, g)
		}
		mg, above, minutes, least := reach(f, s, r)
		many := s.HowMany(hf, idlh, r)

		more := &Stand{Groups: append([]Group(nil), s.Groups...)}
		more.Groups[0].Add(f, someCells.Draw(t, "more"))
		mg2, above2, minutes2, least2 := reach(f, more, r)
		if mg2 < mg || above2 < above || minutes2 < minutes || least && !least2 {
			t.Fatalf("one cell more: %g mg/m3 %d %g min -> %g %d %g", mg, above, minutes, mg2, above2, minutes2)
		}
		if m := more.HowMany(hf, idlh, r); many.Known && many.Cells < m.Cells {
			t.Fatalf("one cell more: %d -> %d may stand", many.Cells, m.Cells)
		}

		aired := Room{r.M3, r.AirChanges + rapid.Float64Range(0, 60).Draw(t, "more air")}
		if _, _, m, _ := reach(f, s, aired); m > minutes+1e-9 {
			t.Fatalf("more air: above for %g -> %g min", minutes, m)
		}
		larger := Room{r.M3 * rapid.Float64Range(1, 10).Draw(t, "larger"), r.AirChanges}
		if m, a, _, _ := reach(f, s, larger); m > mg*(1+1e-12) || a > above {
			t.Fatalf("a larger room: %g -> %g mg/m3, %d -> %d", mg, m, above, a)
		}
	})
}

// A rating that is not known never lowers a figure that its mass allows, and a
// limit is never said to be kept over a cell of unknown size.
func TestUnknownNeverLowers(t *testing.T) {
	f := figures(t)
	rapid.Check(t, func(t *rapid.T) {
		r := Room{M3: rapid.Float64Range(1, 10_000).Draw(t, "m3")}
		grams := rapid.Int64Range(1_000, 1<<40).Draw(t, "grams")
		most := int64(float64(grams) / 1000 * f.Density)
		if most < 1 {
			most = 1
		}
		wh := rapid.Int64Range(1, most).Draw(t, "wh")
		base := rapid.SliceOfN(someCells, 0, 3).Draw(t, "others")
		build := func(c Cells) *Stand {
			g := Group{}
			for _, x := range append(base, c) {
				g.Add(f, x)
			}
			return &Stand{Groups: []Group{g}}
		}
		rated, _, _, _ := reach(f, build(Cells{Count: 1, Wh: triage.Micro(wh), Grams: triage.Micro(grams)}), r)
		weighed, _, _, _ := reach(f, build(Cells{Count: 1, Grams: triage.Micro(grams)}), r)
		if weighed < rated {
			t.Fatalf("without the rating of %d µWh: %g -> %g mg/m3", wh, rated, weighed)
		}
		if _, above, _, least := reach(f, build(Cells{Count: 1}), r); above == NotReached || !least {
			t.Fatalf("a limit is said to be kept over a cell of unknown size")
		}
	})
}

func TestSumsStayAtTheMost(t *testing.T) {
	f := figures(t)
	var g Group
	for range 3 {
		g.Add(f, Cells{Count: 1, Wh: math.MaxInt64})
		g.Add(f, Cells{Count: 1, Grams: math.MaxInt64})
	}
	if g.Wh != math.MaxInt64 || g.Grams != math.MaxInt64 {
		t.Errorf("sums ran over: %d, %d", g.Wh, g.Grams)
	}
}
