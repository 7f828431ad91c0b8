package exports

import (
	"encoding/csv"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"
)

// Whatever a cell holds, a reader of CSV finds it as it was cleaned, no spreadsheet
// program takes it for a formula or a power of ten, nothing in it steers a terminal,
// and it is read back as what it was.
func FuzzCell(f *testing.F) {
	for _, s := range []string{"F2XE9R", "34E279", "=HYPERLINK(\"x\")", "-5", "-5 °C", "+1+1", "@SUM(A1)", "'=1", "'", "''=1", "a\r\nb", "a\rb", " x", "\\.", "\xff", "\x1b[2J", "\u202e", "1e5", "e5", "\ufeff=1", "\t=1"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		for name, cell := range map[string]string{"a cell of a sheet": cleanCell(s), "a cell of text": CleanCell(s)} {
			if !utf8.ValidString(cell) || strings.ContainsFunc(cell, func(r rune) bool { return unicode.IsControl(r) && r != '\n' }) {
				t.Fatalf("%s: %q is %q", name, s, cell)
			}
			if cell != "" && (strings.IndexByte("=+-@", cell[0]) >= 0 && !isNumber(cell) || readsAsPower(cell)) {
				t.Fatalf("%s: %q is %q, which a spreadsheet program reads as something else", name, s, cell)
			}
			if back := PlainCell(cell); back != CleanText(s) && PlainCell(CleanText(s)) != back {
				t.Fatalf("%s: %q is %q, and read back it is %q", name, s, cell, back)
			}
		}
		line := string(appendCell(nil, s)) + ",end\n"
		got, err := csv.NewReader(strings.NewReader(line)).ReadAll()
		if err != nil || len(got) != 1 || len(got[0]) != 2 || got[0][0] != cleanCell(s) {
			t.Fatalf("%q is written %q and read %q, %v", s, line, got, err)
		}
	})
}
