package exports

import (
	"slices"
	"strings"
	"unicode/utf8"
)

// A table is text in columns; right says which are set right.
type table struct {
	head  []string
	right []bool
	rows  [][]string
}

// write leaves out the columns that are blank in every row. Where the rest is wider
// than a screen, columns of words are made narrower and their words break.
func (t *table) write(b *strings.Builder) {
	if len(t.rows) == 0 {
		return
	}
	wide := t.widths()
	t.narrow(wide)
	for _, r := range slices.Insert(slices.Clone(t.rows), 0, t.head) {
		parts, lines := make([][]string, len(r)), 1
		for i, cell := range r {
			if parts[i] = []string{cell}; utf8.RuneCountInString(cell) > wide[i] {
				parts[i] = Wrap(cell, wide[i])
			}
			lines = max(lines, len(parts[i]))
		}
		for n := range lines {
			b.WriteString(t.line(parts, wide, n) + "\n")
		}
	}
}

// line is the line n of a row.
func (t *table) line(parts [][]string, wide []int, n int) string {
	var b strings.Builder
	for i := range parts {
		if wide[i] == 0 {
			continue
		}
		cell := ""
		if n < len(parts[i]) {
			cell = parts[i][n]
		}
		pad := strings.Repeat(" ", max(0, wide[i]-utf8.RuneCountInString(cell)))
		if t.isRight(i) {
			b.WriteString(pad + cell + "  ")
		} else {
			b.WriteString(cell + pad + "  ")
		}
	}
	return strings.TrimRight(b.String(), " ")
}

func (t *table) isRight(i int) bool { return i < len(t.right) && t.right[i] }

// widths cleans the cells and returns what each column takes, 0 for one that is blank.
func (t *table) widths() []int {
	wide := make([]int, len(t.head))
	for i := range t.head {
		used := 0
		for _, r := range t.rows {
			r[i] = Clean(r[i])
			used = max(used, utf8.RuneCountInString(r[i]))
		}
		if used > 0 {
			wide[i] = max(used, len(t.head[i]))
		}
	}
	return wide
}

// narrow takes from the columns of words, always from that in which the fewest cells
// break, until the table is as wide as a screen or no column gives more: a word and a
// tag stay whole.
func (t *table) narrow(wide []int) {
	least := make([]int, len(t.head))
	for i, name := range t.head {
		least[i] = len(name)
		for _, r := range t.rows {
			for word := range strings.FieldsSeq(r[i]) {
				least[i] = max(least[i], utf8.RuneCountInString(word))
			}
		}
	}
	for t.total(wide) > width {
		best, fewest := -1, 0
		for i := range wide {
			if wide[i] <= least[i] || t.isRight(i) || t.head[i] == "TAG" {
				continue
			}
			n := 0
			for _, r := range t.rows {
				if utf8.RuneCountInString(r[i]) >= wide[i] {
					n++
				}
			}
			if best < 0 || n < fewest {
				best, fewest = i, n
			}
		}
		if best < 0 {
			return
		}
		wide[best]--
	}
}

// total is how wide a row is: two blanks stand between columns.
func (t *table) total(wide []int) (sum int) {
	for _, w := range wide {
		if w > 0 {
			sum += w + 2
		}
	}
	return sum - 2
}
