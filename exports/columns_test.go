package exports

import (
	"strings"
	"testing"
	"unicode/utf8"
)

// Figures are as short as they are, and a half is rounded up: 19.25 Wh was printed as
// 19.2 by the binary half below it.
func TestFigures(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{shortest(19.25), "19.25"}, {shortest(20), "20"}, {shortest(0), "0"}, {shortest(-0.0000001), "0"},
		{shortest(16.555 * 3), "49.665"}, {shortest(10.45275), "10.45275"}, {Amount(114_305, 1e6), "0.114305"}, {Amount(2_440_000, 1e6), "2.44"},
		{rowWh(19.25, 1), "19.25"}, {rowWh(10.45275, 1), "10.453"}, {rowWh(19.25, 2), "19.3"}, {rowWh(38.25, 2), "38.3"}, {rowWh(0, 60), "0"},
		{figure(19.25, 1), "19.3"}, {figure(2.9, 3), "2.900"}, {rowKg(0.0697, 1), "0.0697"}, {rowKg(2.0375, 31), "2.038"},
		{withOpen("0", 0, 22), "+22"}, {withOpen("1.5", 1.5, 2), "1.5 +2"}, {withOpen("1.5", 1.5, 0), "1.5"},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
}

// A table is no wider than a screen: words break in the column where the fewest cells
// do, tags, figures and single words never.
func TestTableFits(t *testing.T) {
	long := table{head: []string{"TAG", "PLACE", "CLASS", "Wh"}, right: []bool{false, false, false, true}}
	for range 3 {
		long.rows = append(long.rows, []string{"JE HCF7", "Yard locker", "RETIRE, undamaged", "11.935"})
	}
	long.rows = append(long.rows, []string{"7T 3JX7", strings.Repeat("a long way off ", 5), "ISOLATE, undetermined", "1043.1"})
	var b strings.Builder
	long.write(&b)
	lines := strings.Split(strings.TrimSuffix(b.String(), "\n"), "\n")
	for _, l := range lines {
		if n := utf8.RuneCountInString(l); n > width {
			t.Errorf("%d columns: %q", n, l)
		}
	}
	for _, want := range []string{"JE HCF7  Yard locker", "RETIRE, undamaged", "ISOLATE, undetermined  1043.1"} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("%q is not in\n%s", want, b.String())
		}
	}
	if len(lines) != 6 || !strings.HasPrefix(lines[5], "         ") {
		t.Errorf("want one row of two lines, got\n%s", b.String())
	}
	word := table{head: []string{"WHAT"}, rows: [][]string{{strings.Repeat("x", 90)}}}
	b.Reset()
	if word.write(&b); !strings.Contains(b.String(), strings.Repeat("x", 90)) {
		t.Errorf("a word was broken: %q", b.String())
	}
}
