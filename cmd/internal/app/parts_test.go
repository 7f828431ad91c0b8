package app

import (
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"pouchward/logbook"
	"pouchward/triage"
)

// put records one assessment of invented readings and returns its tag and entry.
func put(t *testing.T, rec *Recording, x Answers) (string, int64) {
	t.Helper()
	a, err := rec.Judge(&Shop{Rulebook: rulebook(t)}, x.Given)
	if err != nil {
		t.Fatal(err)
	}
	x.Mark(a)
	receipt, err := rec.Record(a)
	if err != nil {
		t.Fatal(err)
	}
	return a.Verdict.Tag, receipt.Number
}

// known tells what is on record of a part.
func known(t *testing.T, rec *Recording, part string) string {
	t.Helper()
	m, err := ReadPart(rec.log, part)
	if err != nil {
		t.Fatal(err)
	}
	parts := []string{cellsText(m.Cells)}
	for i := range m.Facts {
		parts = append(parts, m.Facts[i].Short())
	}
	return strings.Join(parts, "; ")
}

// A cell counts once, by its last word; what was retracted does not count, what
// was corrected counts as corrected. All readings are invented.
func TestPartMemoryIsWhatStands(t *testing.T) {
	shop := &Shop{Rulebook: rulebook(t)}
	rec := newRecording(t)
	expect := func(after, want string) {
		t.Helper()
		if got := known(t, rec, "bx 1"); got != want {
			t.Errorf("%s: %s, want %s", after, got, want)
		}
	}
	change := func(x Change) {
		t.Helper()
		x.Reason = "misread"
		var err error
		if x.Field == "" {
			_, err = rec.Retract(shop, Act{Who: "MK"}, x)
		} else {
			_, err = rec.Correct(shop, Act{Who: "MK"}, x)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	expect("nothing", "0 cells")
	first, _ := put(t, rec, Answers{Given: typed(t, "part=BX-1 rated_mah=3110 signs=none")})
	expect("the first", "1 cell; rated_mah 3110 (n=1)")
	for range 5 {
		put(t, rec, Answers{Given: typed(t, "tag="+first+" part=BX-1 rated_mah=3110")})
	}
	expect("the same cell six times", "1 cell; rated_mah 3110 (n=1)")
	_, odd := put(t, rec, Answers{Given: typed(t, "part=b+x/1 rated_mah=5000 nominal_v=3.85")})
	expect("an odd one", "2 cells; nominal_v 3.85 (n=1); rated_mah (3110 on 1 cell, 5000 on 1: read the label)")
	change(Change{Entry: odd, Field: "rated_mah", New: "3.12 Ah"})
	expect("the odd one corrected", "2 cells; nominal_v 3.85 (n=1); rated_mah 3120 (3110-3120, n=2)")
	change(Change{Entry: odd})
	expect("and retracted", "1 cell; rated_mah 3110 (n=1)")
	_, other := put(t, rec, Answers{Given: typed(t, "part=BX-1 rated_mah=3100")})
	change(Change{Entry: other, Field: "part", New: "BX-2"})
	expect("one that was another part", "1 cell; rated_mah 3110 (n=1)")
	_, taken := put(t, rec, Answers{Given: typed(t, "part=BX-1 rated_mah=3110 series=1"), FromPart: []string{"rated_mah"}, PartCells: 1})
	expect("one taken over", "2 cells; series 1 (n=1); rated_mah 3110 (n=1)")
	change(Change{Entry: taken, Field: "rated_mah", New: "5000"})
	expect("then read after all", "2 cells; series 1 (n=1); rated_mah (3110 on 1 cell, 5000 on 1: read the label)")
	_, wrong := put(t, rec, Answers{Given: typed(t, "part=BX-1 rated_mah=2000"), FromPart: []string{"rated_mah"}, PartCells: 1})
	if _, _, err := rec.WrongCell(shop, Act{Who: "MK"}, Change{Entry: wrong}, first); err != nil {
		t.Fatal(err)
	}
	expect("one taken over, moved to its cell", "2 cells; series 1 (n=1); rated_mah (3110 on 1 cell, 5000 on 1: read the label)")
}

// A full reading leaves nothing in part memory but what its label says.
func TestPartMemoryHoldsNoReading(t *testing.T) {
	rec := newRecording(t)
	put(t, rec, Answers{Given: typed(t, cleanLook+" part=BX-1 thickness_mm=4.3 earlier_thickness_mm=4.2 thickness_ends_mm=4.1;4.2 measured_mah=2900 mass_g=40"+
		" resistance_mohm=40 new_resistance_mohm=30 charge_pct=60 type_tested=yes made_on=2023-06-30 device=phone designation=1ICP5/63/97 wh_marked=yes")})
	want := "1 cell; kind pouch (n=1); chemistry li-ion (n=1); series 1 (n=1); parallel 1 (n=1); nominal_v 3.85 (n=1); charge_limit_v 4.4 (n=1); rated_mah 3000 (n=1)"
	if got := known(t, rec, "BX-1"); got != want {
		t.Errorf("%s, want %s", got, want)
	}
	put(t, rec, Answers{Given: typed(t, "part=BX-1 thickness_mm=4.6 nominal_thickness_mm=4.0")})
	if got := known(t, rec, "BX-1"); !strings.HasSuffix(got, "; nominal_thickness_mm 4 (n=1)") {
		t.Errorf("the thickness when new: %s", got)
	}
}

// offer returns what is filled of a reading, or why nothing is.
func offer(t *testing.T, rec *Recording, words string) string {
	t.Helper()
	o, err := OfferPart(rec.log, typed(t, words))
	switch {
	case err != nil:
		t.Fatal(err)
	case o == nil:
		return "no part"
	case o.Against != "":
		return o.Against
	}
	x := Answers{Given: typed(t, words)}
	x.Take(o)
	var list []string
	for _, g := range x.Given {
		if name := triage.Fields[g.Field].Name; slices.Contains(x.FromPart, name) {
			list = append(list, name+"="+g.Text)
		}
	}
	return strings.Join(list, " ")
}

// Only a blank and an unreadable label are filled, and only where the reading is
// like the part. All readings are invented.
func TestPartOffer(t *testing.T) {
	rec := newRecording(t)
	for range 2 {
		put(t, rec, Answers{Given: typed(t, "part=BX-1 nominal_v=3.85 rated_mah=3110 chemistry=li-polymer")})
	}
	put(t, rec, Answers{Given: typed(t, "part=BX-1 charge_limit_v=4.4")})
	put(t, rec, Answers{Given: typed(t, "part=BX-1 charge_limit_v=4.45")})
	own, _ := put(t, rec, Answers{Given: typed(t, "signs=none rated_mah=3100")})
	alien, _ := put(t, rec, Answers{Given: typed(t, "signs=none rated_mah=5000")})
	part, _ := put(t, rec, Answers{Given: typed(t, "part=BX-1 signs=none")})
	for words, want := range map[string]string{
		"part=BX-1":                                         "chemistry=li-polymer nominal_v=3.85 rated_mah=3110",
		"part=BX-1 rated_mah=ur":                            "chemistry=li-polymer nominal_v=3.85 rated_mah=3110",
		"part=BX-1 rated_mah=UR nominal_v=?":                "chemistry=li-polymer rated_mah=3110",
		"part=BX-1 rated_mah=nr nominal_v=cannot":           "chemistry=li-polymer",
		"part=BX-1 rated_mah=ni nominal_v=us":               "chemistry=li-polymer",
		"part=BX-1 rated_mah=many":                          "chemistry=li-polymer nominal_v=3.85",
		"part=BX-1 rated_mah=3150":                          "chemistry=li-polymer nominal_v=3.85",
		"part=BX-1 rated_mah=3173":                          "rated_mah reads 3173 here, 3110 on record",
		"part=BX-1 chemistry=li-ion":                        "nominal_v=3.85 rated_mah=3110",
		"part=BX-1 chemistry=lfp":                           "chemistry reads lfp here, li-polymer on record",
		"part=BX-1 charge_limit_v=4.2":                      "chemistry=li-polymer nominal_v=3.85 rated_mah=3110", // nothing stands to compare it with
		"tag=" + own + " part=BX-1":                         "chemistry=li-polymer nominal_v=3.85",
		"tag=" + alien + " part=BX-1":                       "rated_mah reads 5000 here, 3110 on record",
		"tag=" + part:                                       "chemistry=li-polymer nominal_v=3.85 rated_mah=3110",
		"tag=" + part + " part=?":                           "chemistry=li-polymer nominal_v=3.85 rated_mah=3110",
		"tag=" + own:                                        "no part",
		"signs=none":                                        "no part",
		"part=BX-3":                                         "",
		"part=none":                                         "",
		"part=BX-1 rated_mah=ur signs=swollen recalled=yes": "chemistry=li-polymer nominal_v=3.85 rated_mah=3110",
	} {
		if got := offer(t, rec, words); got != want {
			t.Errorf("%s: %s, want %s", words, got, want)
		}
	}
	o, err := OfferPart(rec.log, typed(t, "part=BX-3"))
	if err != nil || !slices.Equal(o.Near, []string{"BX1"}) {
		t.Errorf("near BX-3: %v, %v", o, err)
	}
}

// The card of a cell that reacts waits for no file; this one is not there.
func TestNoPartIsLookedUpInAnEmergency(t *testing.T) {
	p := LogPlace{Path: filepath.Join(t.TempDir(), "none.db"), Options: logbook.Options{Now: time.Now}}
	shop := &Shop{Rulebook: rulebook(t)}
	if _, err := LookUpPart(p, shop, typed(t, "part=BX-1 signs=swollen")); err == nil {
		t.Error("no log, and no error")
	}
	if o, err := LookUpPart(p, shop, typed(t, "part=BX-1 signs=smoking")); o != nil || err != nil {
		t.Errorf("%v, %v", o, err)
	}
}

// What another bench reads off the label while this one takes it over from part
// memory counts more; the rest stays taken over.
func TestALabelReadMeanwhileCounts(t *testing.T) {
	shop := &Shop{Rulebook: rulebook(t)}
	rec := newRecording(t)
	tag, _ := put(t, rec, Answers{Given: typed(t, "signs=none")})
	x := Answers{Given: typed(t, "tag="+tag+" part=BX-1 rated_mah=3110 nominal_v=3.85"), FromPart: []string{"nominal_v", "rated_mah"}, PartCells: 3}
	a, err := rec.Judge(shop, x.Given)
	if err != nil {
		t.Fatal(err)
	}
	x.Mark(a)
	put(t, rec, Answers{Given: typed(t, "tag="+tag+" rated_mah=5200")})
	if _, err := rec.Record(a); err != nil {
		t.Fatal(err)
	}
	cell, err := readCell(rec.log, tag)
	if err != nil {
		t.Fatal(err)
	}
	if cell.State.MicroWh != 20_020_000 || !slices.Equal(a.FromPart, []string{"nominal_v"}) || a.PartCells != 3 {
		t.Errorf("%d µWh, from part %v of %d cells", cell.State.MicroWh, a.FromPart, a.PartCells)
	}
}

// The question has no default, and neither a no nor the end of the input takes
// anything over.
func TestAskOffersThePart(t *testing.T) {
	shop := &Shop{Rulebook: rulebook(t)}
	rec := newRecording(t)
	put(t, rec, Answers{Given: typed(t, "part=BX-1 nominal_v=3.85 rated_mah=3110")})
	lookUp := func(given []Given) *PartOffer {
		o, err := OfferPart(rec.log, given)
		if err != nil {
			t.Fatal(err)
		}
		return o
	}
	before := "\nnone\npouch\nloose\n21\n21\n" // tag, signs, kind, fit, cell_c, ambient_c
	for answers, want := range map[string]string{
		before + "BX-1\nyes\nno\nli-ion\n":    "nominal_v rated_mah",
		before + "BX-1\n\nok\nY\nno\n":        "nominal_v rated_mah",
		before + "BX-1\nno\nno\nli-ion\n1\n1": "",
		before + "BX-1\n":                     "",
		before + "\nyes\n":                    "",
		before + "BX-9\nyes\n":                "",
	} {
		var out strings.Builder
		x, err := Ask(shop, strings.NewReader(answers), &out, lookUp)
		if got := strings.Join(x.FromPart, " "); err != nil || got != want || (want != "") != wasGiven(x.Given, triage.RatedMah) {
			t.Errorf("%q: %q, want %q; %v, %v\n%s", answers, got, want, x.Given, err, out.String())
		}
		if want != "" && strings.Contains(out.String(), "rated capacity") {
			t.Errorf("%q: asked for what was taken over", answers)
		}
	}
}

// BenchmarkReadPart looks up a part with POUCHWARD_BENCH_ENTRIES assessments of
// as many cells, 100,000 by default.
func BenchmarkReadPart(b *testing.B) {
	p := LogPlace{Path: filepath.Join(b.TempDir(), "log.db"), Options: logbook.Options{Now: time.Now}}
	if _, err := InitLog(p, "Invented Back Room"); err != nil {
		b.Fatal(err)
	}
	err := WriteLog(p, func(l *logbook.Log) error {
		body, err := logbook.ParseBody([]byte(`{"handling":"hold","condition":"undetermined","size":"small","waste":"casing-intact","issued":true,"on":"2026-11-25","part":"BX1",` +
			`"readings":{"part":"BX-1","signs":"none","chemistry":"li-ion","series":"1","parallel":"1","nominal_v":"3.85","charge_limit_v":"4.4","rated_mah":"3110","ocv_v":"3.8"},` +
			`"earlier":[],"findings":[],"open_findings":[],"routes":{},"look_again_min":60}`))
		if err != nil {
			return err
		}
		return l.Write(func(tx *logbook.Tx) error {
			for range longest(b) {
				tag, err := tx.IssueTag(triage.CellTag)
				if err != nil {
					return err
				}
				if _, err := tx.Append(logbook.Draft{Kind: "assessment", Tags: []string{tag}, Body: body}); err != nil {
					return err
				}
			}
			return nil
		})
	})
	if err != nil {
		b.Fatal(err)
	}
	err = ReadLog(p, func(l *logbook.Log) error {
		for b.Loop() {
			m, err := ReadPart(l, "BX-1")
			if err != nil || m.Cells != partLooks {
				b.Fatal(m, err)
			}
		}
		return nil
	})
	if err != nil {
		b.Fatal(err)
	}
}
