package papers

import (
	"fmt"
	"io"
	"strings"

	"pouchward/exports"
)

// The measures of the text, in letters and lines: a page of paper at ten letters
// and six lines to the inch.
const (
	textWidth  = 80
	textLines  = 60
	labelWidth = 26
	lineChars  = 30 // the least that is left to write on
)

// Text writes the document in plain text, page by page.
func (x *Document) Text(w io.Writer) error {
	type page struct {
		sheet int
		lines []line
	}
	var pages []page
	room := textLines - 4 - len(x.textFoot())
	for i := range x.Sheets {
		t := &textWriter{}
		for _, b := range x.Sheets[i].Blocks {
			b.text(t)
		}
		for first := true; first || len(t.lines) > 0; first = false {
			pages = append(pages, page{i, t.cut(room)})
		}
	}
	var b strings.Builder
	for n, p := range pages {
		if n > 0 {
			b.WriteByte('\f')
		}
		title := fmt.Sprintf("SHIPMENT %s   %s", x.Tag, x.Sheets[p.sheet].Title)
		number := fmt.Sprintf("page %d of %d", n+1, len(pages))
		fmt.Fprintf(&b, "%s%*s\n", title, textWidth-len([]rune(title)), number)
		for _, l := range fold(x.Stand, textWidth) {
			fmt.Fprintln(&b, l)
		}
		fmt.Fprintln(&b, strings.Repeat("=", textWidth))
		for _, l := range p.lines {
			fmt.Fprintln(&b, strings.TrimRight(l.text, " "))
		}
		fmt.Fprintln(&b, strings.Repeat("-", textWidth))
		for _, l := range x.textFoot() {
			fmt.Fprintln(&b, l)
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func (x *Document) textFoot() (lines []string) {
	for _, p := range x.Foot {
		lines = append(lines, fold(p, textWidth)...)
	}
	return lines
}

// A line of text.
type line struct {
	text  string
	head  []string // of the table that it is a row of, to be said again on a new page
	group bool     // what follows stays on one page where it can
}

// A textWriter gathers the lines of a sheet.
type textWriter struct {
	lines []line
	head  []string
}

func (t *textWriter) add(lines ...string) {
	for _, l := range lines {
		t.lines = append(t.lines, line{text: l, head: t.head})
	}
}

// gap leaves a line free between blocks.
func (t *textWriter) gap() {
	if n := len(t.lines); n > 0 && t.lines[n-1].text != "" {
		t.add("")
	}
}

// cut takes the lines of a page: all, else up to a group or a free line where one is
// near. Of a table that goes on, the head is said again.
func (t *textWriter) cut(room int) []line {
	n := min(room, len(t.lines))
	if n < len(t.lines) {
		for _, ends := range []func(i int) bool{func(i int) bool { return t.lines[i].group }, func(i int) bool { return t.lines[i-1].text == "" }} {
			if i := n; n == room {
				for ; i > room/3 && !ends(i); i-- {
				}
				if i > room/3 {
					n = i
				}
			}
		}
	}
	page := t.lines[:n:n]
	t.lines = t.lines[n:]
	if len(t.lines) > 0 && len(t.lines[0].head) > 0 {
		var again []line
		for _, h := range t.lines[0].head {
			again = append(again, line{text: h})
		}
		t.lines = append(again, t.lines...)
	}
	for len(page) > 0 && page[len(page)-1].text == "" {
		page = page[:len(page)-1]
	}
	return page
}

// fold breaks cleaned text into lines, long words inside too.
func fold(text string, width int) (lines []string) {
	for _, l := range exports.Wrap(exports.Clean(text), width) {
		for r := []rune(l); ; {
			if len(r) <= width {
				lines = append(lines, string(r))
				break
			}
			lines = append(lines, string(r[:width]))
			r = r[width:]
		}
	}
	return lines
}

func (h Heading) text(t *textWriter) {
	t.gap()
	for _, l := range fold(string(h), textWidth) {
		t.add(l, strings.Repeat("-", len([]rune(l))))
	}
}

func (p Para) text(t *textWriter) { t.add(append(fold(string(p), textWidth), "")...) }

func (g Together) text(t *textWriter) {
	t.gap()
	from := len(t.lines)
	for _, b := range g {
		b.text(t)
	}
	if from < len(t.lines) {
		t.lines[from].group = true
	}
}

func (n Notice) text(t *textWriter) {
	t.gap()
	rule := strings.Repeat("*", textWidth)
	t.add(rule)
	for _, part := range []string{n.Word, n.Text} {
		if part != "" {
			for _, l := range fold(part, textWidth-2) {
				t.add("* " + l)
			}
		}
	}
	t.add(rule, "")
}

func (f Form) text(t *textWriter) {
	for _, x := range f {
		labels, values := fold(x.Label, labelWidth-2), fold(x.Value, textWidth-labelWidth)
		if x.Value == "" || x.Write {
			last := len(values) - 1
			if values[last] != "" {
				values[last] += " "
			}
			if len([]rune(values[last])) > textWidth-labelWidth-lineChars {
				values, last = append(values, ""), last+1
			}
			values[last] += strings.Repeat("_", textWidth-labelWidth-len([]rune(values[last])))
		}
		beside(t, labels, values)
	}
	t.add("")
}

func (s Steps) text(t *textWriter) { Form(s).text(t) }

// beside writes labels with text to their right.
func beside(t *textWriter, labels, values []string) {
	for i := range max(len(labels), len(values)) {
		label, value := "", ""
		if i < len(labels) {
			label = labels[i]
		}
		if i < len(values) {
			value = values[i]
		}
		t.add(pad(label, labelWidth, false) + value)
	}
}

// pad fills text up to a width, from the left for numbers.
func pad(text string, width int, right bool) string {
	fill := strings.Repeat(" ", max(0, width-len([]rune(text))))
	if right {
		return fill + text
	}
	return text + fill
}

func (x *Table) text(t *textWriter) {
	t.gap()
	widths := x.chars()
	var heads []string
	for _, c := range x.Columns {
		heads = append(heads, c.Head)
	}
	from := len(t.lines)
	x.textRow(t, heads, widths)
	rule := ""
	for _, w := range widths {
		rule += strings.Repeat("-", w) + " "
	}
	t.add(rule)
	for _, l := range t.lines[from:] {
		t.head = append(t.head, l.text)
	}
	for _, row := range x.Rows {
		x.textRow(t, row, widths)
		if x.High {
			t.add(rule)
		}
	}
	t.head = nil
	t.add("")
}

func (x *Table) textRow(t *textWriter, row []string, widths []int) {
	cells := make([][]string, len(row))
	high := 1
	for i, text := range row {
		cells[i] = fold(strings.ReplaceAll(text, NotTicked, "[ ]"), widths[i])
		high = max(high, len(cells[i]))
	}
	for n := range high {
		line := ""
		for i := range cells {
			text := ""
			if n < len(cells[i]) {
				text = cells[i][n]
			}
			line += pad(text, widths[i], x.Columns[i].Right) + " "
		}
		t.add(line)
	}
}

// chars are the widths of the columns in letters, a blank between.
func (x *Table) chars() []int {
	widths := make([]int, len(x.Columns))
	left, open := textWidth, 0
	for i, c := range x.Columns {
		widths[i] = c.Chars
		left -= c.Chars + 1
		if c.Chars == 0 {
			open++
		}
	}
	for i := range widths {
		if widths[i] == 0 {
			widths[i] = left / open
		}
	}
	return widths
}
