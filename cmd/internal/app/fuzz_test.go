package app

import (
	"bytes"
	"encoding/csv"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"pouchward/triage"
)

// asCSV writes rows as the standard library does.
func asCSV(t testing.TB, rows [][]string) []byte {
	t.Helper()
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	if err := w.WriteAll(rows); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// A recall list that is taken says the same when it is written anew; and no cell that
// stands in it, with its part typed as in the list or in capitals, is said not to be
// recalled.
func FuzzRecalls(f *testing.F) {
	for _, s := range []string{"part,notice,read_on\nPX-4820-R,N1,2026-11-03\n", "\uFEFFpart;serials;made_from;made_to;notice;read_on\r\nPX 3300;;2023-01-01;2023-06-30;N2;2026-11-03\r\n", "part,notice,read_on,serials\n\"LB.114\n2\",N3,2026-11-03,A1 to A9\n",
		"part,notice,read_on,made_from,made_to\nPX1,N,2026-11-03,2024-01-01,2023-01-01\n", "part,notice,read_on\rPX1,N,2026-11-03\r", "part,part,notice,read_on\na,b,c,2026-11-03\n", "part,notice,read_on\nPX\u20114,N,2026-11-03\n", "part,notice,read_on\n\xff,N,2026-11-03\n", "", "part,notice,read_on\n?,N,2026-11-03\n", "part,notice,read_on\nna1,N,2062-11-03\n"} {
		f.Add([]byte(s))
	}
	on, err := triage.ParseDate("2026-11-25")
	if err != nil {
		f.Fatal(err)
	}
	rb, err := NewestRules()
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		l, err := parseRecalls("list.csv", data)
		if err != nil {
			if l != nil || !strings.Contains(err.Error(), "list.csv") {
				t.Fatalf("refused without its name: %v", err)
			}
			return
		}
		rows := [][]string{recallColumns}
		for i := range l.Entries {
			e := &l.Entries[i]
			rows = append(rows, []string{e.Part, e.Serials, e.MadeFrom.String(), e.MadeTo.String(), e.Notice, e.ReadOn.String()})
		}
		if again, err := parseRecalls("list.csv", asCSV(t, rows)); err != nil || !slices.Equal(again.Entries, l.Entries) {
			t.Fatalf("%q reads %+v, and written anew %+v, %v", data, l.Entries, again, err)
		}
		for i := range l.Entries {
			for _, part := range []string{l.Entries[i].Part, strings.ToUpper(l.Entries[i].Part), " " + l.Entries[i].Part} {
				c := triage.Case{On: on, Recalls: l}
				if c.Reading.Set(triage.Part, part) != nil {
					continue // too long for a part number
				}
				for _, made := range []triage.Date{l.Entries[i].MadeFrom, l.Entries[i].MadeTo, 0} {
					if c.Reading[triage.MadeOn] = (triage.Value{}); made != 0 {
						c.Reading[triage.MadeOn] = triage.Value{State: triage.Known, Num: triage.Micro(made), Hi: triage.Micro(made)}
					}
					var v triage.Verdict
					rb.Judge(&c, &v)
					if r := v.Reading[triage.Recalled]; r.State == triage.Known && r.Num == 0 {
						t.Fatalf("part %q stands in the list %q and is said not to be recalled", part, data)
					}
				}
			}
		}
	})
}

// A consignee's receipt that is taken names each tag once, says the same when it is
// written anew, and has as many lines as the file; one that is refused is of no use at
// all and is named.
func FuzzReceipt(f *testing.F) {
	for _, s := range []string{"tag,count,mass_kg,note\nje hcf7,1,0.048,fine\n", "\uFEFFpackage;count;mass_kg\r\nJEHF;40;1,92\r\n", "package,tag\nJEHF,JEHCF7\n", "tag,rejected\nJEHCF7,yes\n7T3JX7,\n", "tag,count\n\nJEHCF9,1\n\nJEHCF7,-1\n", "tag,note\nJEHCF?,\"a\nb\"\n",
		"tag,count\rJEHCF7,1\r", "tag,count\nJEHCF7,1\rJEHF,2\n", "tag\n\xff\n", "tag,mass_kg\nJEHCF7,1e3\n", "tag,mass_kg\nJEHCF7,0.0000001\n"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		lines, err := parseReceipt("receipt.csv", data)
		if err != nil {
			var exit *ExitError
			if lines != nil || !strings.Contains(err.Error(), "receipt.csv") || !errors.As(err, &exit) || exit.Code != ExitUsage {
				t.Fatalf("refused with %v, %v", lines, err)
			}
			return
		}
		rows := [][]string{receiptColumns}
		seen := map[string]bool{}
		for i := range lines {
			l := &lines[i]
			if tag, _, err := triage.CheckTag(l.Tag); err != nil || tag != l.Tag || seen[tag] {
				t.Fatalf("%q: tag %q, %v", data, l.Tag, err)
			}
			seen[l.Tag] = true
			row := []string{l.Tag, l.Package, "", "", "", l.Note}
			if l.Count != nil {
				row[2] = strconv.FormatInt(*l.Count, 10)
			}
			if l.MassMg != nil {
				row[3] = triage.Micro(*l.MassMg).String()
			}
			if l.Rejected {
				row[4] = "yes"
			}
			rows = append(rows, row)
		}
		again, err := parseReceipt("receipt.csv", asCSV(t, rows))
		same := slices.EqualFunc(again, lines, func(a, b receiptLine) bool {
			return a.Tag == b.Tag && a.Package == b.Package && same(a.Count, b.Count) && same(a.MassMg, b.MassMg) && a.Rejected == b.Rejected && a.Note == b.Note
		})
		if err != nil || !same {
			t.Fatalf("%q reads %+v, and written anew %+v, %v", data, lines, again, err)
		}
	})
}

// A description of packages in TOML: what is described is judged or refused, within
// the time and the memory of a small machine; no cell is left out.
func FuzzPackages(f *testing.F) {
	for _, s := range []string{"route = \"us-highway\"\n[[package]]\nouter = \"4G box\"\nlevel = \"pg2\"\ntare = \"0.4 kg\"\ninner = true\nfill = true\nmarks = [\"UN3480\"]\n[[package.cell]]\ntag = \"A\"\nsigns = \"swollen\"\nocv_v = 3.8\nnet = \"40 g\"\ntimes = 3\n",
		"[[package]]\n[[package.cell]]\ntimes = 1000000\n", "[[package]]\nspare_sets = -1\n", "[[package]]\ngross = \"12\"\nlevel = \"weak\"\n[[package.cell]]\nswollen = true\nseries = 1\nmade_on = 2024-01-01\ncount = \"x\"\n", "[[package]]\n[[package.cell]]\nsigns = [\"a\"]\n", "rout = 1\n", "\xff", ""} {
		f.Add([]byte(s))
	}
	shop, err := OpenShop("2026-11-25", "", time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC))
	if err != nil {
		f.Fatal(err)
	}
	file := filepath.Join(f.TempDir(), "p.toml")
	f.Fuzz(func(t *testing.T, data []byte) {
		if len(data) > 1<<12 {
			return
		}
		if err := os.WriteFile(file, data, 0o600); err != nil {
			t.Fatal(err)
		}
		began := time.Now()
		c, err := CheckPackages(shop, file, "", nil)
		if took := time.Since(began); took > 10*time.Second {
			t.Fatalf("%d bytes took %s", len(data), took)
		}
		if err != nil {
			if c != nil || strings.TrimSpace(err.Error()) == "" {
				t.Fatalf("refused with %v, %v", c, err)
			}
			return
		}
		cells := 0
		for _, p := range c.Packages {
			cells += len(p.Items)
			for i := range p.Items {
				if p.Items[i].Count < 0 || p.Items[i].NetG < 0 {
					t.Fatalf("%q holds %+v", data, p.Items[i])
				}
			}
		}
		if n := strings.Count(string(data), "cell]]"); cells < n && !bytes.ContainsAny(data, "\"'#") {
			t.Fatalf("%d cells are described, %d were read", n, cells)
		}
		if len(c.Judged) != len(c.Packages) {
			t.Fatalf("%d packages, %d judged", len(c.Packages), len(c.Judged))
		}
	})
}

// What is typed as an outer packaging, a moment, a mass, a place or a mapping reads
// the same again as it is kept.
func FuzzTyped(f *testing.F) {
	for _, s := range []string{"box 30x20x20,strong,0.4,30", "drum,pg1,1.1,10,1A2/X10/S/26", ",strong", "2026-11-24 17:40", "2026-11-24T17:40", "17:40", "2026-11-24T17:40:00+14:00", "0001-01-01", "9999-12-31T23:59:59-23:59", "1.92 kg", "1,92", "100000", " Y  1 ", "\x00", "Voltage=ocv_v", "a=b=c", "=", "12 V\u00a0"} {
		f.Add(s)
	}
	now := time.Date(2026, 11, 25, 9, 0, 0, 0, time.FixedZone("", -6*3600))
	f.Fuzz(func(t *testing.T, s string) {
		if o, err := ParseOuter(s); err == nil {
			text := o.Name + "," + o.Level
			for _, mg := range []int64{o.TareMg, o.MaxMg} {
				if text += ","; mg > 0 {
					text += triage.Micro(mg).String()
				}
			}
			if again, err := ParseOuter(text + "," + o.UNMark); err != nil || again != o || o.TareMg < 0 || o.MaxMg < 0 {
				t.Fatalf("%q reads %+v, and again %+v, %v", s, o, again, err)
			}
		}
		if at, err := ParseHappened(s, now); err == nil && !at.IsZero() {
			again, err := ParseHappened(at.Format(time.RFC3339), now)
			if err != nil || !again.Equal(at.Truncate(time.Second)) || at.Year() < firstYear {
				t.Fatalf("%q reads %s, and again %s, %v", s, at, again, err)
			}
		}
		if mg, err := parseKg("m", s); err == nil {
			if again, err := parseKg("m", triage.Micro(mg).String()); err != nil || again != mg || mg <= 0 {
				t.Fatalf("%q reads %d mg, and again %d, %v", s, mg, again, err)
			}
		}
		if name, err := placeName("--to", s); err == nil {
			if again, err := placeName("--to", name); err != nil || again != name {
				t.Fatalf("%q reads %q, and again %q, %v", s, name, again, err)
			}
		}
		if m, err := ParseMap([]string{s}); err == nil {
			for from, to := range m {
				again, err := ParseMap([]string{from + "=" + to})
				if from == "" || to == "" || err != nil || again[from] != to {
					t.Fatalf("%q maps %q to %q, and that %v, %v", s, from, to, again, err)
				}
			}
		}
	})
}
