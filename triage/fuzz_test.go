package triage

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"
)

// fuzzReadings are readings on every side of the lines that house rules are about:
// among them are cells for which each kind of way is open.
func fuzzReadings(t testing.TB) []Reading {
	t.Helper()
	var list []Reading
	for _, change := range []string{"", "rated_mah=5195", "cell_c=24", "cell_c=27", "ocv_v=2.9", "ocv_v=0.5", "signs=swollen", "signs=dented;wet", "recalled=yes",
		"fit=installed", "purpose=recycle", "purpose=return", "series=2 nominal_v=7.7 ocv_v=7.6", "label_wh=300 nominal_v= rated_mah=", "chemistry=unknown", "signs=smoking quiet_h=24",
		"chemistry=lfp nominal_v=3.2 ocv_v=3.3", "type_tested=yes charge_pct=25", "type_tested=yes fit=installed charge_pct=25", "kind=cylindrical"} {
		list = append(list, read(t, plain, change))
	}
	blank := read(t, plain)
	blank[OcvV] = Value{}
	return append(list, blank, Reading{})
}

// A house file that is accepted betters no answer and opens no way that the shipped
// rules close, but for the permits in it, which are regulated or heavier and never
// for a cell that reacts. One that is refused says so with its name.
func FuzzParseHouse(f *testing.F) {
	const rule = "[[rule]]\nid = \"house-x\"\nwhen = [%s]\n%s\n"
	seeds := []string{goodHouse, "", "[shop]\ncolour = 1\n", "[[bar]]\nid = \"b\"\nroutes = [\"all\"]\ncloses = [\"all\"]\n", "[[permit]]\nnumber = \"1\"\n", "[shop]\nopens = \"09:00\"\ncloses = \"18:00\"\nclosed_days = [\"sunday\"]\n",
		"[[interval]]\nid = \"house-look\"\nwhat = \"look\"\nseverity = \"action\"\nevery = \"1 h\"\nroutes = []\n", "[[rule]]\nid = \"rise-5\"\nwhen = [\"rise >= 9 K\"]\nhandling = \"sound\"\n", "\xff", "[map]\n\"V\" = \"ocv_v\"\n"}
	for _, when := range []string{`"rise >= 1 K"`, `"unit is battery", "energy > 10 Wh"`, `"swelling >= 2 %"`} {
		for _, outcome := range []string{"handling = \"hold\"", "condition = \"damaged\"", "condition = \"liable\"\nwaste = \"unknown\"", "waste = \"casing-intact\"", "handling = \"sound\"", "size = \"small\"", "condition = \"recalled\"\nfor = [\"recalled\"]"} {
			seeds = append(seeds, fmt.Sprintf(rule, when, outcome))
		}
	}
	for _, s := range seeds {
		f.Add(s)
	}
	tables, err := Embedded()
	if err != nil {
		f.Fatal(err)
	}
	on := day(f, testDay)
	base := shipped(f)
	readings := fuzzReadings(f)
	before := make([]*Verdict, len(readings))
	for i := range readings {
		before[i] = judged(base, readings[i])
	}
	if _, err := ParseHouse("h.toml", []byte(seeds[11]), tables); err != nil {
		f.Fatalf("a seed that must be accepted: %v", err)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if len(text) > 1<<14 {
			return
		}
		h, err := ParseHouse("h.toml", []byte(text), tables)
		if err != nil {
			if h != nil || !strings.Contains(err.Error(), "h.toml") {
				t.Fatalf("refused without its name: %v", err)
			}
			return
		}
		rb, err := append(slices.Clone(tables), h.Table()).On(on)
		if err != nil {
			t.Fatalf("accepted, and then no rulebook: %v", err)
		}
		for i := range readings {
			after := judged(rb, readings[i])
			if after.Handling < before[i].Handling || after.Condition < before[i].Condition || after.Waste < before[i].Waste || after.Size < before[i].Size {
				t.Fatalf("reading %d is bettered", i)
			}
			for r := range NumRoutes {
				was := openWays(before[i], r)
				for id, class := range openWays(after, r) {
					_, open := was[id]
					isPermit := strings.HasPrefix(id, "permit-") && class >= RouteRegulated && after.Condition != Reacting
					if !open && !isPermit && lightOrAir(r, class) {
						t.Fatalf("reading %d: %s opened by %s", i, id, r)
					}
				}
			}
		}
	})
}

// Whatever is written into one field: what is refused leaves the field unknown, or
// keeps bad news, and never makes an answer better than a question mark does; what
// is accepted reads the same again with spaces round it.
func FuzzSetField(f *testing.F) {
	for field := range NumFields {
		for i, text := range append([]string{"yes"}, domain[field]...) {
			if (i == 0) == (Fields[field].Type == YesNoField) && i < 3 { // the fuzzer finds more
				f.Add(uint8(field), text)
			}
		}
	}
	for _, text := range []string{"22º", "22°", "3,780", "none;swollen", "no ", "n/a", "\x00", "puffy", "3.8\r3.9", "３.８", "-0", "1e3", "\ufeff3.8", "yes?", "no, not swollen"} {
		for _, field := range []FieldID{CellC, Signs, Swollen, MadeOn, CellVolts} {
			f.Add(uint8(field), text)
		}
	}
	rb := shipped(f)
	base := read(f, plain)
	f.Fuzz(func(t *testing.T, n uint8, text string) {
		field := FieldID(n) % NumFields
		r, asked := base, base
		_ = asked.Set(field, "?") // a field that takes no question mark refuses it
		err := r.Set(field, text)
		if err == nil {
			var again Reading
			if e := again.Set(field, " "+text+"\t"); e != nil || again[field] != r[field] {
				t.Fatalf("%s %q: reads %+v, with spaces %+v, %v", Fields[field].Name, text, r[field], again[field], e)
			}
			return
		}
		var fe *FieldError
		if !errors.As(err, &fe) || fe.Field != Fields[field].Name || fe.Reason == "" || fe.Want == "" || len(err.Error()) > 4000 {
			t.Fatalf("%s %q: the error does not say what is wrong: %v", Fields[field].Name, text, err)
		}
		bad := (field == Signs || Fields[field].Type == YesNoField) && r[field].Num != 0
		if r[field].State != Refused && !bad {
			t.Fatalf("%s %q was refused and is %+v", Fields[field].Name, text, r[field])
		}
		if bad && !Fields[field].Sign && field != Signs && field != Recalled {
			return // a yes of another field is no bad news
		}
		r.Check()
		asked.Check()
		before, after := judged(rb, asked), judged(rb, r)
		if w := newlyOpen(before, after, lightOrAir); w != "" || after.Handling < before.Handling || after.Condition < before.Condition {
			t.Fatalf("%s %q was refused and bettered the answer (%s)", Fields[field].Name, text, w)
		}
	})
}

// A tag that is taken holds and is taken again as it is stored; a smudged symbol has
// exactly one value; what is offered as near holds.
func FuzzTag(f *testing.F) {
	for _, s := range []string{"F2XE9R", "f2 xe9r", "F2XE?R", "F2X_9R", "2FXE9R", "34E279", "", "é2XE9R", "F2XE9RR", "----", "??", "F\x00XE9R", "'4é\"çR", "٣2XE9R", "ſ2XE9R"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		tag, kind, err := CheckTag(s)
		switch {
		case err != nil && (tag != "" || len(err.Error()) > 1000):
			t.Fatalf("%q: refused with %q, %v", s, tag, err)
		case err == nil:
			again, k, err := CheckTag(SpacedTag(strings.ToLower(tag)))
			if err != nil || again != tag || k != kind || !tagHolds(tag) || len(tag) != kind.Length() {
				t.Fatalf("%q is %s, which is %s, %v", s, tag, again, err)
			}
			if k, n := TagNumber(tag); IssueTag(k, n) != tag {
				t.Fatalf("%s has the number of %s", tag, IssueTag(k, n))
			}
		}
		if whole, err := RestoreTag(s); err == nil {
			n := 0
			folded := foldTag(s)
			for _, c := range tagSymbols {
				if x, _, err := CheckTag(strings.NewReplacer("?", string(c), "_", string(c)).Replace(folded)); err == nil {
					if n++; x != whole {
						t.Fatalf("%q is restored to %s and could be %s", s, whole, x)
					}
				}
			}
			if n != 1 {
				t.Fatalf("%q is restored to %s, and %d tags hold", s, whole, n)
			}
		}
		if whole, ok := UnshiftTag(s); ok {
			if x, _, err := CheckTag(whole); err != nil || x != whole {
				t.Fatalf("%q is unshifted to %q, %v", s, whole, err)
			}
		}
		near := NearTags(s)
		for i, x := range near {
			if y, _, err := CheckTag(x); err != nil || y != x || x == tag || slices.Contains(near[:i], x) {
				t.Fatalf("%q: near is %q, %v", s, x, err)
			}
		}
	})
}

// A date that is taken has one spelling.
func FuzzParseDate(f *testing.F) {
	for _, s := range []string{"2026-11-25", "2026-02-29", "2024-02-29", "1979-12-31", "2200-12-31", "2201-01-01", "03/04/2026", "2026-1-2", "", "0000-00-00", "２026-11-25", "2026-11-25 "} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		d, err := ParseDate(s)
		if err != nil {
			if d != 0 {
				t.Fatalf("%q was refused and is %s", s, d)
			}
			return
		}
		if d.String() != s || DateOf(d.In(time.UTC)) != d {
			t.Fatalf("%q reads %s", s, d)
		}
	})
}

// A length of time that is taken ends after it begins, sooner or later as noLonger
// says, on every kind of day; hours that are taken print as they read.
func FuzzParseAmount(f *testing.F) {
	for _, s := range []string{"10 min", "24 h", "7 days", "9 months", "1 year", "end of day", "next opening", "0 h", "9999 years", "1 day", " 1 h", "100 years"} {
		f.Add(s, "09:00", "18:00", "sunday")
	}
	f.Add("1 h", "00:00", "23:59", "monday")
	f.Add("1 h", "9:00", "24:00", "holiday")
	zone, err := time.LoadLocation("America/Chicago")
	if err != nil {
		f.Skip("no time zones here")
	}
	// A common day, and the days on which the clocks change.
	moments := []time.Time{time.Date(2026, 11, 25, 14, 7, 0, 0, zone), time.Date(2026, 3, 8, 1, 59, 0, 0, zone), time.Date(2026, 11, 1, 0, 30, 0, 0, zone), time.Date(2024, 2, 29, 23, 59, 0, 0, zone)}
	f.Fuzz(func(t *testing.T, text, opens, closes, closed string) {
		shop := Shop{Opens: opens, Closes: closes, ClosedDays: []string{closed}}
		h, err := shop.hours()
		if err != nil {
			h = Hours{}
		} else if s := h.String(); opens != "" && !strings.HasPrefix(s, opens+" to "+closes) {
			t.Fatalf("%q to %q prints as %s", opens, closes, s)
		}
		a, err := parseAmount(text)
		if err != nil {
			return
		}
		for _, m := range moments {
			end := a.after(m, 1, h)
			if !end.After(m) {
				t.Fatalf("%s from %s ends %s", text, m, end)
			}
			for _, other := range []string{"1 h", "24 h", "1 day", "1 month", "1 year"} {
				b, _ := parseAmount(other)
				if a.noLonger(b) && end.After(b.after(m, 1, h)) {
					t.Fatalf("%s is said to be no longer than %s and ends later from %s", text, other, m)
				}
			}
		}
	})
}
