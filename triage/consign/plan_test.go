package consign

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"pouchward/triage"
)

// sorts are the readings that a stock is drawn from: each changes the plain one.
var sorts = []string{"", "", "", "purpose=reuse", "type_tested=no", "signs=swollen", "signs=dented fit=installed", "recalled=yes", "recalled=",
	"fit=installed", "fit=packed-with", "label_wh=25", "label_wh=25 series=2 nominal_v=7.7 ocv_v=7.6 wh_marked=yes", "label_wh=120", "rated_mah=",
	"ocv_v=2.4", "smoking=yes", "chemistry=li-metal lithium_g=0.9", "chemistry=na-ion", "fit=", "mass_g=", "mass_g= fit=installed", "has=adr-sp636-ion",
	"charge_limit_v=4.4 rest_h=24 ocv_v=3.6 purpose=reuse", "smoking=yes quiet_h=30", "mass_g= rated_mah=", "fit=installed has=adr-sp670 mass_g= rated_mah=", "fit=installed has=adr-sp670 type_tested=no"}

// shelf is what a shop may have. Invented.
var shelf = []Outer{
	{Name: "small box", Level: "strong", TareG: 300 * triage.One, MaxGrossG: 5000 * triage.One},
	{Name: "box", Level: "strong", TareG: 1000 * triage.One, MaxGrossG: 40000 * triage.One},
	{Name: "bare box", Level: "strong"},
	{Name: "fibreboard box", Level: "pg2", UNMark: "4G/Y25/S", TareG: 1200 * triage.One},
	{Name: "fibreboard, strong", Level: "pg1", UNMark: "4G/X30/S", TareG: 1500 * triage.One},
	{Name: "drum", Level: "pg1", UNMark: "1A2/X60/S", TareG: 6000 * triage.One},
	{Name: "odd", Level: "pg1", UNMark: "4G/Y25/S", TareG: 1500 * triage.One},
	{Name: "not known", TareG: 500 * triage.One},
}

func drawItems(t *rapid.T, tb testing.TB, most int) []Item {
	n := rapid.IntRange(0, most).Draw(t, "items")
	items := make([]Item, n)
	for i := range items {
		items[i] = item(tb, fmt.Sprintf("T%03d", i), plain, rapid.SampledFrom(sorts).Draw(t, "sort"))
		if items[i].Case.Reading[triage.MassG].State == triage.Known {
			g := rapid.IntRange(1, rapid.SampledFrom([]int{100, 500, 15000, 35000}).Draw(t, "scale")).Draw(t, "grams")
			if err := items[i].Case.Reading.Set(triage.MassG, fmt.Sprint(g)); err != nil {
				tb.Fatal(err)
			}
		}
	}
	return items
}

func drawOuters(t *rapid.T) []Outer {
	return rapid.SliceOfNDistinct(rapid.SampledFrom(shelf), 0, len(shelf), func(o Outer) string { return o.Name }).Draw(t, "outers")
}

// Nothing is lost: every item is in exactly one package, or left with a reason and
// a source. Every planned package is lawful, and so is the consignment. No kind
// has more than one package above its bound, and no plan is under its bound. The
// same items in another order give the same plan.
func TestPlanProperties(t *testing.T) {
	rb := book(t)
	rapid.Check(t, func(rt *rapid.T) {
		items, outers := drawItems(rt, t, 30), drawOuters(rt)
		r := triage.Route(rapid.IntRange(0, int(triage.NumRoutes)-1).Draw(rt, "route"))
		p := MakePlan(rb, r, items, outers)
		times := map[string]int{}
		for _, pkg := range p.Packages {
			if x := Judge(rb, r, pkg); !x.Lawful() {
				rt.Fatalf("%s, package %s: %+v", r, pkg.Tag, x.Breaches)
			}
			for i := range pkg.Items {
				times[pkg.Items[i].Tag]++
			}
		}
		judged, all := JudgeAll(rb, r, p.Packages)
		if len(all) > 0 {
			rt.Fatalf("%s: %+v", r, all)
		}
		for i := range judged {
			if len(judged[i].Breaches) > 0 || judged[i].Kind != p.Judged[i].Kind {
				rt.Fatalf("%s: package %d is judged %+v, planned as %+v", r, i, judged[i], p.Judged[i])
			}
		}
		for _, l := range p.Left {
			times[l.Tag]++
			if l.Why == "" || l.Source == "" {
				rt.Fatalf("%s is left without why or source: %+v", l.Tag, l)
			}
		}
		for i := range items {
			if times[items[i].Tag] != 1 {
				rt.Fatalf("%s: %s stands %d times", r, items[i].Tag, times[items[i].Tag])
			}
		}
		packages, bounds := 0, 0
		for _, k := range p.Kinds {
			packages, bounds = packages+k.Packages, bounds+k.Bound
			if k.Packages > k.Bound+1 || k.Packages < k.Bound {
				rt.Fatalf("%s: %+v", r, k)
			}
		}
		if packages != len(p.Packages) || p.Bound > packages || p.Bound > bounds || p.Gap() > len(p.Kinds) {
			rt.Fatalf("%s: %d packages, %d by kinds, bound %d", r, len(p.Packages), packages, p.Bound)
		}
		slices.Reverse(items)
		if again := MakePlan(rb, r, items, outers); !reflect.DeepEqual(tags(p), tags(again)) {
			rt.Fatalf("in another order:\n%v\n%v", tags(p), tags(again))
		}
	})
}

// tags says what is where, in words.
func tags(p *Plan) (list []string) {
	for i, pkg := range p.Packages {
		line := pkg.Outer.Name + " " + p.Judged[i].Kind
		for n := range pkg.Items {
			line += " " + pkg.Items[n].Tag
		}
		list = append(list, line)
	}
	for _, l := range p.Left {
		list = append(list, "left "+l.Tag+" "+strings.Join(l.Frees, " "))
	}
	return append(list, fmt.Sprint(p.Kinds, p.Exceptions, p.Bound))
}

// The bound is never above the best that trying every way of packing finds.
func TestBoundAgainstEveryPacking(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		room := triage.Micro(rapid.IntRange(1, 30).Draw(rt, "room"))
		raw := rapid.SliceOfN(rapid.Int64Range(1, int64(room)), 0, 8).Draw(rt, "sizes")
		sizes := make([]triage.Micro, len(raw))
		for i := range raw {
			sizes[i] = triage.Micro(raw[i])
		}
		slices.Sort(sizes)
		slices.Reverse(sizes)
		best := len(sizes)
		var try func(i int, bins []triage.Micro)
		try = func(i int, bins []triage.Micro) {
			if len(bins) >= best && i < len(sizes) {
				return
			}
			if i == len(sizes) {
				best = min(best, len(bins))
				return
			}
			for b := range bins {
				if bins[b]+sizes[i] <= room {
					bins[b] += sizes[i]
					try(i+1, bins)
					bins[b] -= sizes[i]
				}
			}
			try(i+1, append(slices.Clone(bins), sizes[i]))
		}
		try(0, nil)
		sum := triage.Micro(0)
		for _, s := range sizes {
			sum += s
		}
		if got := atLeast(sizes, room); got > best || triage.Micro(got)*room < sum {
			rt.Fatalf("room %d, sizes %v: bound %d, best %d", room, sizes, got, best)
		}
	})
}

// Half a room and more: the plain sum would say 3.
func TestBoundCountsTheLarge(t *testing.T) {
	for _, c := range []struct {
		sizes []triage.Micro
		want  int
	}{{[]triage.Micro{6, 6, 6, 5, 5}, 4}, {[]triage.Micro{6, 6, 6}, 3}, {[]triage.Micro{10, 5, 5}, 2}, {[]triage.Micro{7, 7, 3, 3}, 2}, {nil, 0}, {[]triage.Micro{0}, 1}} {
		if got := atLeast(c.sizes, 10); got != c.want {
			t.Errorf("%v: got %d, want %d", c.sizes, got, c.want)
		}
	}
}

// By air the cells are counted, not the devices: ICAO packing instruction 967,
// section II, 5 kg net.
func TestPlanKeepsNetCaps(t *testing.T) {
	rb := book(t)
	var items []Item
	for i := range 15 {
		items = append(items, item(t, fmt.Sprintf("T%02d", i), plain, "purpose=reuse fit=installed mass_g=2000 net_g=500 charge_limit_v=4.4 rest_h=24 ocv_v=3.6"))
	}
	box := []Outer{{Name: "case", Level: "strong", TareG: 1000 * triage.One, MaxGrossG: 100000 * triage.One}}
	p := MakePlan(rb, triage.AirPassenger, items, box)
	if len(p.Packages) != 2 || p.Bound != 1 && p.Bound != 2 || len(p.Packages[0].Items) != 10 || len(p.Left) != 0 {
		t.Errorf("%v", tags(p))
	}
}

// Six phones too heavy for one box go three and three, and no mark is owed.
func TestPlanUsesTheMarkException(t *testing.T) {
	rb := book(t)
	var items []Item
	for i := range 6 {
		items = append(items, item(t, fmt.Sprint("T", i), plain, "purpose=reuse fit=installed mass_g=1000"))
	}
	outers := []Outer{{Name: "box", Level: "strong", TareG: 500 * triage.One, MaxGrossG: 5600 * triage.One}}
	p := MakePlan(rb, triage.USHighway, items, outers)
	if len(p.Packages) != 2 || len(p.Packages[0].Items) > 4 || len(p.Packages[1].Items) > 4 {
		t.Fatalf("%v", tags(p))
	}
	if len(p.Exceptions) != 1 || p.Exceptions[0].Saves != 2 || !strings.Contains(p.Exceptions[0].Source, "173.185(c)(3)") {
		t.Errorf("exceptions %+v", p.Exceptions)
	}
	// One package of six is less work than two without a mark.
	outers[0].MaxGrossG *= 2
	if p = MakePlan(rb, triage.USHighway, items, outers); len(p.Packages) != 1 || len(p.Exceptions) != 0 {
		t.Errorf("%v", tags(p))
	}
	// A package of something else takes the exception away.
	outers[0].MaxGrossG /= 2
	items = append(items[:5:5], item(t, "L", plain, "purpose=reuse"))
	if p = MakePlan(rb, triage.USHighway, items, outers); len(p.Exceptions) != 0 {
		t.Errorf("%v", tags(p))
	}
}

// Kinds that owe the same share a package; relief is never traded for a box.
func TestPlanSharesPackages(t *testing.T) {
	rb := book(t)
	items := []Item{item(t, "A", plain), item(t, "B", plain, "label_wh=25"), item(t, "C", plain, "rated_mah=")}
	p := MakePlan(rb, triage.USHighway, items, nil)
	var got []string
	for i, pkg := range p.Packages {
		got = append(got, fmt.Sprint(p.Judged[i].Class, len(pkg.Items), p.Judged[i].Papers))
	}
	if want := []string{"ground-only 2 false", "recycling 1 true"}; !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
	if len(p.Notes) == 0 || p.Packages[0].Outer.Level != "strong" {
		t.Errorf("notes %v, outer %+v", p.Notes, p.Packages[0].Outer)
	}
}

func TestPlanLeavesWithReasons(t *testing.T) {
	rb := book(t)
	strong := []Outer{{Name: "box", Level: "strong", TareG: 500 * triage.One, MaxGrossG: 6000 * triage.One}}
	for _, c := range []struct {
		reading, why, frees string
		outers              []Outer
	}{
		{"signs=swollen", "is strong, not pg1", "", strong},
		{"mass_g=6000", "6.5 kg gross, and the outer packaging may weigh 6 kg", "", strong},
		{"mass_g= rated_mah= label_wh= fit=installed", "gross mass is not known", "mass_g", strong},
		{"smoking=yes", "Reacting now", "", nil},
		{"recalled=", "condition for carriage", "recalled", nil},
		{"ocv_v=2.4", "condition for carriage", "determination", nil},
		{"smoking=yes quiet_h=30", "Liable to react", "", nil},
		{"chemistry=", "chemistry", "chemistry", nil},
		{"recalled= chemistry=", "not known", "", nil},
		{"fit=", "UN number is not known", "fit", nil},
	} {
		p := MakePlan(rb, triage.USHighway, []Item{item(t, "T", plain, c.reading)}, c.outers)
		if len(p.Left) != 1 {
			t.Errorf("%s: is planned", c.reading)
			continue
		}
		if l := p.Left[0]; !strings.Contains(l.Why, c.why) || strings.Join(l.Frees, " ") != c.frees {
			t.Errorf("%s: %+v", c.reading, l)
		}
	}
	twins := []Item{item(t, "T", plain), item(t, "T", plain)}
	if p := MakePlan(rb, triage.USHighway, twins, nil); len(p.Left) != 1 || !strings.Contains(p.Left[0].Why, "listed twice") {
		t.Errorf("a tag twice: %+v", p.Left)
	}
}

// 333 kg on one transport unit: ADR special provision 636. As many cells as can go, go.
func TestPlanKeepsTheCapOfATransportUnit(t *testing.T) {
	rb := book(t)
	var items []Item
	for i := range 670 {
		items = append(items, item(t, fmt.Sprintf("T%03d", i), plain, "type_tested=no has=adr-sp636-ion mass_g=500"))
	}
	p := MakePlan(rb, triage.ADRRoad, items, nil)
	if len(p.Left) != 4 || !strings.Contains(p.Left[0].Why, "over 333 kg net in all") || !strings.Contains(p.Left[0].Source, "636") {
		t.Errorf("%d left: %+v", len(p.Left), p.Left)
	}
}

func TestOneReading(t *testing.T) {
	rb := book(t)
	items := []Item{item(t, "A", plain, "recalled="), item(t, "B", plain, "recalled="), item(t, "C", plain, "ocv_v=2.4"),
		item(t, "D", plain, "signs=none"), item(t, "E", plain, "fit="), item(t, "F", plain, "smoking=yes recalled="), item(t, "G", plain, "signs= swollen=? recalled=")}
	j := newJudge(rb, triage.USHighway)
	var left []Left
	for i := range items {
		if s := j.look(&items[i]); len(s.open) == 0 {
			left = append(left, Left{Tag: items[i].Tag, Frees: j.frees(&items[i])})
		}
	}
	var got []string
	for _, f := range Freedoms(left) {
		got = append(got, fmt.Sprint(f.Reading, " ", strings.Join(f.Frees, ","), " ", f.Seconds))
	}
	want := []string{"recalled A,B 60", "determination C 0"}
	if !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
}

func stock(tb testing.TB, n int) []Item {
	items := make([]Item, n)
	for i := range items {
		items[i] = item(tb, fmt.Sprintf("T%05d", i*7919%n), plain, sorts[i%len(sorts)])
		if items[i].Case.Reading[triage.MassG].State == triage.Known {
			if err := items[i].Case.Reading.Set(triage.MassG, fmt.Sprint(20+i*31%400)); err != nil {
				tb.Fatal(err)
			}
		}
	}
	return items
}

// The plan of 10,000 cells, beside a plain sort of the same items by mass and tag
// and beside judging each cell once, which is most of it.
func BenchmarkPlan(b *testing.B) {
	cells := 10_000
	if testing.Short() {
		cells = 100
	}
	rb, items := book(b), stock(b, cells)
	name := fmt.Sprintf("cells=%d/do=", cells)
	var judging time.Duration
	b.Run(name+"judge", func(b *testing.B) {
		var v triage.Verdict
		for b.Loop() {
			for i := range items {
				rb.Judge(&items[i].Case, &v)
			}
		}
		judging = b.Elapsed() / time.Duration(b.N)
	})
	b.Run(name+"plan", func(b *testing.B) {
		for b.Loop() {
			MakePlan(rb, triage.USHighway, items, nil)
		}
		if judging > 0 {
			b.ReportMetric((b.Elapsed()/time.Duration(b.N)).Seconds()/judging.Seconds(), "x_of_judge")
		}
	})
	b.Run(name+"sort", func(b *testing.B) {
		for b.Loop() {
			list := slices.Clone(items)
			slices.SortFunc(list, func(x, y Item) int {
				return int(y.Case.Reading[triage.MassG].Num-x.Case.Reading[triage.MassG].Num) + strings.Compare(x.Tag, y.Tag)
			})
		}
	})
}

// An exception lets ion and metal share a package, which the plan does not use: the
// bound counts with it all the same, and the gap says so.
func TestBoundCountsWithExceptions(t *testing.T) {
	rb := book(t)
	items := []Item{item(t, "A", plain), item(t, "B", plain, "chemistry=li-metal lithium_g=0.9")}
	both := &Package{Tag: "1", Outer: shelf[1], Inner: true, Items: items}
	if x := Judge(rb, triage.USHighway, both); !x.Lawful() {
		t.Fatalf("one package of both: %+v", x.Breaches)
	}
	if p := MakePlan(rb, triage.USHighway, items, shelf); p.Bound > 1 {
		t.Errorf("got a bound of %d, and one package is lawful", p.Bound)
	}
}
