package app

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"pouchward/logbook"
	"pouchward/triage"
)

// newRecording makes a log in a folder of its own, at a clock that moves a
// minute with every look at it.
func newRecording(t *testing.T) *Recording {
	t.Helper()
	now := time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)
	clock := func() time.Time { now = now.Add(time.Minute); return now }
	p := LogPlace{Path: filepath.Join(t.TempDir(), "log.db"), Options: logbook.Options{Now: clock}}
	if _, err := InitLog(p, "Invented Back Room"); err != nil {
		t.Fatal(err)
	}
	rec, err := OpenRecording(p, "")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { rec.Close() })
	return rec
}

// typed reads name=text words; + stands for a blank.
func typed(t *testing.T, words string) (list []Given) {
	t.Helper()
	for _, w := range strings.Fields(words) {
		name, text, ok := strings.Cut(w, "=")
		f, known := triage.FieldByName(name)
		if !ok || !known {
			t.Fatalf("no field: %s", w)
		}
		list = append(list, Given{f, strings.ReplaceAll(text, "+", " ")})
	}
	return list
}

const cleanLook = "signs=none recalled=no cell_c=21 ambient_c=21 kind=pouch chemistry=li-ion series=1 parallel=1 nominal_v=3.85 charge_limit_v=4.4 rated_mah=3000 fit=loose rocks=no ocv_v=3.8 purpose=reuse"

// What an entry found stays until a determination lowers it, though the next
// look does not read it again. The clean look alone is sound, so each row can
// fail.
func TestALaterLookIsNeverBetter(t *testing.T) {
	shop := &Shop{Rulebook: rulebook(t)}
	if v := Assess(shop, typed(t, cleanLook)).Verdict; v.Handling != triage.Sound {
		t.Fatalf("the clean look alone is %s", v.Handling)
	}
	for _, first := range []string{
		"thickness_mm=5 nominal_thickness_mm=4",
		strings.Replace(cleanLook, "ocv_v=3.8", "ocv_v=4.6", 1),
		"signs=none cell_c=65 ambient_c=21 ocv_v=3.8",
		"swollen=cannot",
		"ocv_v=us",
		"purpose=return",
		"rated_mah=it+smokes",
	} {
		rec := newRecording(t)
		a, err := rec.Judge(shop, typed(t, first))
		if err != nil {
			t.Fatal(err)
		}
		if _, err := rec.Record(a); err != nil {
			t.Fatal(err)
		}
		if a.Verdict.Condition <= triage.Undetermined && first != "ocv_v=us" {
			t.Errorf("%s: %s, so the row proves nothing", first, a.Verdict.Condition)
		}
		// Twice: the second look hands the class on.
		for range 2 {
			b, err := rec.Judge(shop, typed(t, "tag="+a.Verdict.Tag+" "+cleanLook))
			if err != nil {
				t.Fatal(err)
			}
			if _, err := rec.Record(b); err != nil {
				t.Fatal(err)
			}
			if floor := a.Verdict.Condition; floor > triage.Undetermined && (b.Verdict.Condition < floor || b.Verdict.Handling < triage.Isolate) {
				t.Errorf("%s: %s, %s; then %s, %s", first, a.Verdict.Handling, floor, b.Verdict.Handling, b.Verdict.Condition)
			}
		}
		// The same through a sheet.
		var out bytes.Buffer
		sheet := "tag,signs,recalled\n" + a.Verdict.Tag + ",none,no\n"
		if _, err := Sort(SortOptions{Files: []string{"-"}, Stdin: strings.NewReader(sheet), Shop: shop, Format: "csv", Out: &out, Record: rec}); err != nil {
			t.Fatal(err)
		}
		if a.Verdict.Condition > triage.Undetermined && strings.Contains(out.String(), ",hold,") {
			t.Errorf("%s: the sheet says\n%s", first, out.String())
		}
	}
}

// One that reacted leaves the emergency only when it is said to have been quiet
// for 24 h.
func TestAnEmergencyStaysUntilQuiet(t *testing.T) {
	shop := &Shop{Rulebook: rulebook(t)}
	rec := newRecording(t)
	a, err := rec.Judge(shop, typed(t, "signs=none cell_c=65 ambient_c=21"))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := rec.Record(a); err != nil {
		t.Fatal(err)
	}
	clock, first := rec.now, rec.now()
	for hours, want := range map[string]triage.Handling{"23.9": triage.Emergency, "24": triage.Isolate} {
		if b, err := rec.Judge(shop, typed(t, "tag="+a.Verdict.Tag+" "+cleanLook+" quiet_h="+hours)); err != nil || b.Verdict.Handling != triage.Emergency {
			t.Errorf("quiet for %s h, minutes after it reacted: %s (%v)", hours, b.Verdict.Handling, err)
		}
		rec.now = func() time.Time { return first.Add(24 * time.Hour) }
		b, err := rec.Judge(shop, typed(t, "tag="+a.Verdict.Tag+" "+cleanLook+" quiet_h="+hours))
		if err != nil || b.Verdict.Handling != want {
			t.Errorf("quiet for %s h: %s, want %s (%v)", hours, b.Verdict.Handling, want, err)
		}
		rec.now = clock
	}
}

// Two benches judge one cell at once: the one that records later counts what the
// other has seen.
func TestJudgedAgainWhenAnotherRecorded(t *testing.T) {
	shop := &Shop{Rulebook: rulebook(t)}
	rec := newRecording(t)
	first, err := rec.Judge(shop, typed(t, "signs=none"))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := rec.Record(first); err != nil {
		t.Fatal(err)
	}
	tag := "tag=" + first.Verdict.Tag + " "
	clean, err := rec.Judge(shop, typed(t, tag+cleanLook))
	if err != nil || clean.Verdict.Handling != triage.Sound {
		t.Fatalf("%s, %v", clean.Verdict.Handling, err)
	}
	swollen, err := rec.Judge(shop, typed(t, tag+"signs=swollen"))
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range []*Assessment{swollen, clean} {
		if _, err := rec.Record(a); err != nil {
			t.Fatal(err)
		}
	}
	if clean.Verdict.Handling != triage.Isolate || len(clean.earlier) != 2 {
		t.Errorf("recorded as %s over %v", clean.Verdict.Handling, clean.earlier)
	}
}

// A folder cannot take the verdicts: told before anything is judged or recorded.
func TestWriteWholeRefusesAFolder(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "out")
	if err := os.Mkdir(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	err := WriteWhole(dir, nil)
	if err == nil || !strings.Contains(err.Error(), "folder") {
		t.Errorf("%v", err)
	}
}

// The raise of a row whose cells may have shifted is that row's alone: compare
// and sort judge the next row with the same case.
func TestAShiftedRowRaisesNoOther(t *testing.T) {
	rb := rulebook(t)
	clean, _ := readGiven(typed(t, cleanLook))
	swollen, _ := readGiven(typed(t, "signs=swollen"))
	var v triage.Verdict
	c := triage.Case{Reading: clean, On: rb.On}
	judgeRow(rb, &c, &v, &swollen)
	if v.Handling != triage.Isolate {
		t.Fatalf("the shifted row is %s", v.Handling)
	}
	judgeRow(rb, &c, &v, nil)
	if v.Handling != triage.Sound || len(c.Raises) != 0 {
		t.Errorf("the row after it is %s, %d raises", v.Handling, len(c.Raises))
	}
}
