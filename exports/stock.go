package exports

import (
	"bytes"
	"cmp"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"time"

	"pouchward/logbook"
	"pouchward/triage"
)

// HandlingText is a handling class as printed: a cell without a fault shown is
// not said to be more than that.
func HandlingText(class string) string {
	if class == triage.Sound.String() {
		return "NO FAULT SEEN"
	}
	return strings.ToUpper(class)
}

// StateLine writes what holds of a tag, and what held before where the class was
// another.
func StateLine(w io.Writer, was, is logbook.State) error {
	var b strings.Builder
	fmt.Fprintf(&b, "%-8s", triage.SpacedTag(is.Tag))
	if is.Count > 0 {
		fmt.Fprintf(&b, "  lot of %d", is.Count)
	}
	if is.What != "" {
		b.WriteString("  " + containerText(is.What, is.MilliLitr))
	}
	if is.Handling != "" {
		fmt.Fprintf(&b, "  %s, %s", HandlingText(is.Handling), is.Condition)
	}
	if is.Lapses != "" {
		b.WriteString(" until " + is.Lapses)
	}
	switch {
	case is.Is == logbook.Out:
		b.WriteString("  left the shop")
	case is.In != "":
		b.WriteString("  in " + triage.SpacedTag(is.In))
	case is.Place != "":
		b.WriteString("  at " + is.Place)
	}
	if was.Handling != "" && (was.Handling != is.Handling || was.Condition != is.Condition) {
		fmt.Fprintf(&b, "  (was %s, %s)", HandlingText(was.Handling), was.Condition)
	}
	_, err := io.WriteString(w, Clean(b.String())+"\n")
	return err
}

func containerText(what string, ml int64) string {
	if ml > 0 {
		what += ", " + Amount(ml, 1000) + " L"
	}
	return what
}

// Amount writes a whole number of parts of a unit in shortest form, to the millionth
// at most.
func Amount(n, parts int64) string { return shortest(float64(n) / float64(parts)) }

// shortest writes a figure as short as it is, to the millionth: 19.25, 20. What is added
// up is in whole millionths, and a sum of rounded figures would not be that of its rows.
func shortest(x float64) string {
	text := strings.TrimRight(strings.TrimRight(fmt.Sprintf("%.6f", x), "0"), ".")
	if text == "-0" {
		return "0"
	}
	return text
}

// A StockRow is one line of the stock: cells of one place, container and class,
// or fewer of these where rows were added up.
type StockRow struct {
	Tag       string  `json:"tag,omitempty"` // where each cell has its row
	Place     string  `json:"place,omitempty"`
	Container string  `json:"container,omitempty"`
	What      string  `json:"what,omitempty"`
	Handling  string  `json:"handling,omitempty"`
	Condition string  `json:"condition,omitempty"`
	Cells     int64   `json:"cells"`
	Wh        float64 `json:"wh"`
	Unrated   int64   `json:"unrated"`
	Kg        float64 `json:"kg"`
	Unweighed int64   `json:"unweighed"`
	Oldest    string  `json:"oldest,omitempty"`
	Unsecured int64   `json:"not_made_safe"`
}

// A StockReport is the stock on a day.
type StockReport struct {
	On    string     `json:"on"`
	By    string     `json:"by"`           // place, container, class, cell, or blank for the first three
	At    string     `json:"at,omitempty"` // the place or container that it keeps to
	Rows  []StockRow `json:"rows"`
	Total StockRow   `json:"total"`
	// What the largest container could do; left out where no cell stands.
	Hazard *StockHazard `json:"hazard,omitempty"`
}

// stockHead are the columns of the stock, and which of them are figures.
var (
	stockHead  = []string{"TAG", "PLACE", "CONTAINER", "CLASS", "CELLS", "Wh", "kg", "OLDEST"}
	stockRight = []bool{false, false, false, false, true, true, true, false}
)

// Stock writes the stock as a table.
func Stock(w io.Writer, r *StockReport) error {
	t := table{head: stockHead, right: stockRight}
	for i := range r.Rows {
		t.rows = append(t.rows, r.Rows[i].cells(r.By))
	}
	var b strings.Builder
	b.WriteString(strings.Join(Fold(r.Headline(), width, 2), "\n") + "\n\n")
	t.write(&b)
	if r.Total.Cells == 0 {
		b.WriteString("Nothing is in the shop, as far as the log knows.\n")
	}
	if n := r.Total.Unsecured; n > 0 {
		fmt.Fprintf(&b, "\nNOTICE not recorded as secured: %s. pouchward due names them.\n", Count(n, "cell"))
	}
	if r.Hazard != nil {
		r.Hazard.write(&b)
	}
	b.WriteString("\n" + strings.Join(Wrap(StockCaution, width), "\n") + "\n")
	_, err := io.WriteString(w, b.String())
	return err
}

// cells are the columns of a row.
func (x *StockRow) cells(by string) []string {
	class := ""
	if x.Handling != "" {
		class = HandlingText(x.Handling) + ", " + x.Condition
	}
	place := x.Place
	if place == "" && by != "class" && by != "container" {
		place = "NOT SAID"
	}
	box := ""
	if x.Container != "" {
		box = strings.TrimSpace(triage.SpacedTag(x.Container) + " " + x.What)
	}
	oldest := x.Oldest
	if oldest == "" {
		oldest = "no clock"
	}
	cells := fmt.Sprint(x.Cells)
	if by == "cell" { // one each, but for a lot, which stands by its own tag
		box, cells = triage.SpacedTag(x.Container), ""
		if x.Container == x.Tag {
			box = fmt.Sprintf("%s, lot of %d", x.What, x.Cells)
		}
	}
	return []string{triage.SpacedTag(x.Tag), place, box, class, cells, withOpen(rowWh(x.Wh, x.Cells), x.Wh, x.Unrated), withOpen(rowKg(x.Kg, x.Cells), x.Kg, x.Unweighed), oldest}
}

// Headline sums the stock up in one line.
func (r *StockReport) Headline() string {
	var b strings.Builder
	total := &r.Total
	b.WriteString("STOCK")
	if r.At != "" {
		b.WriteString(" at " + Clean(r.At))
	}
	fmt.Fprintf(&b, " on %s: %s, %s Wh", r.On, Count(total.Cells, "cell"), rowWh(total.Wh, total.Cells))
	if total.Unrated > 0 {
		fmt.Fprintf(&b, " and %d without a rating", total.Unrated)
	}
	fmt.Fprintf(&b, ", %s kg weighed", rowKg(total.Kg, total.Cells))
	if total.Unweighed > 0 {
		fmt.Fprintf(&b, " and %d not weighed", total.Unweighed)
	}
	if total.Oldest != "" {
		b.WriteString(", oldest " + total.Oldest)
	}
	return b.String()
}

// Table returns the columns in use, which of them are figures, and the cells of each
// row, in the order of Rows.
func (r *StockReport) Table() (head []string, right []bool, rows [][]string) {
	all := make([][]string, len(r.Rows))
	used := make([]bool, len(stockHead))
	for i := range r.Rows {
		all[i] = r.Rows[i].cells(r.By)
		for c, text := range all[i] {
			used[c] = used[c] || text != ""
		}
	}
	rows = make([][]string, len(all))
	for c, name := range stockHead {
		if !used[c] {
			continue
		}
		head, right = append(head, name), append(right, stockRight[c])
		for i := range all {
			rows[i] = append(rows[i], all[i][c])
		}
	}
	return head, right, rows
}

// StockCaution stands under every stock.
const StockCaution = "+n: so many more without that figure. Classes are those of the last look; local codes and licensed practice say how much may stand where."

// SumText writes a sum, and for how many more cells it is not known.
func SumText(sum float64, decimals int, unknown int64) string {
	return withUnknown(sum, decimals, unknown)
}

// withUnknown writes a sum, and for how many cells it is not known.
func withUnknown(sum float64, decimals int, unknown int64) string {
	return withOpen(figure(sum, decimals), sum, unknown)
}

// rowWh and rowKg are the figures of a row, in Wh and kg: a sum to a tenth of a Wh and to
// the gram, of one cell what it has, to a thousandth of a Wh.
func rowWh(sum float64, cells int64) string {
	if cells == 1 {
		return shortest(rounded(sum, 1000))
	}
	return shortest(rounded(sum, 10))
}

func rowKg(sum float64, cells int64) string {
	if cells == 1 {
		return shortest(sum)
	}
	return shortest(rounded(sum, 1000))
}

// rounded rounds to a part of the unit, a half up: 19.25 to a tenth is 19.3.
func rounded(x float64, parts int) float64 {
	return math.Round(math.Round(x*1e6)/1e6*float64(parts)) / float64(parts)
}

// withOpen adds to the text of a sum for how many cells it is not known.
func withOpen(text string, sum float64, unknown int64) string {
	switch {
	case unknown > 0 && sum == 0:
		return fmt.Sprintf("+%d", unknown)
	case unknown > 0:
		return fmt.Sprintf("%s +%d", text, unknown)
	}
	return text
}

// figure writes a figure with so many decimals, a half rounded up.
func figure(x float64, decimals int) string {
	return fmt.Sprintf("%.*f", decimals, rounded(x, int(math.Pow10(decimals))))
}

// A ContainerRow is a container with what it holds.
type ContainerRow struct {
	Tag     string  `json:"tag"`
	What    string  `json:"what"`
	Litres  float64 `json:"volume_l,omitempty"`
	Place   string  `json:"place,omitempty"`
	Cells   int64   `json:"cells"`
	Wh      float64 `json:"wh"`
	Unrated int64   `json:"unrated,omitempty"` // cells that are not in that sum
	Worst   string  `json:"worst,omitempty"`   // handling class
	Oldest  string  `json:"oldest,omitempty"`
}

// Containers writes the containers in the shop.
func Containers(w io.Writer, list []ContainerRow, asJSON bool) error {
	if asJSON {
		return jsonLines(w, list)
	}
	t := table{head: []string{"TAG", "WHAT", "PLACE", "CELLS", "Wh", "WORST", "OLDEST"}, right: []bool{false, false, false, true, true}}
	for _, x := range list {
		place := x.Place
		if place == "" {
			place = "NOT SAID"
		}
		t.rows = append(t.rows, []string{triage.SpacedTag(x.Tag), containerText(x.What, int64(x.Litres*1000+0.5)), place, fmt.Sprint(x.Cells), withOpen(rowWh(x.Wh, x.Cells), x.Wh, x.Unrated), HandlingText(x.Worst), x.Oldest})
	}
	var b strings.Builder
	t.write(&b)
	if len(list) == 0 {
		b.WriteString("No container is on record: pouchward container add --kind tin --place ...\n")
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// jsonLines writes one object a line.
func jsonLines[T any](w io.Writer, list []T) error {
	var buf bytes.Buffer
	for i := range list {
		if err := EncodeJSON(&buf, list[i], ""); err != nil {
			return err
		}
	}
	_, err := w.Write(buf.Bytes())
	return err
}

// A DueRow is one thing that is owed.
type DueRow struct {
	When    time.Time `json:"-"`
	At      string    `json:"at"`    // date, or date and time, in the shop's zone
	State   string    `json:"state"` // overdue, due (now or today), soon
	What    string    `json:"what"`
	Tag     string    `json:"tag,omitempty"`
	Subject string    `json:"subject,omitempty"`
	Text    string    `json:"text"`
	Where   string    `json:"where,omitempty"`
	Do      string    `json:"do,omitempty"` // the command that settles it
	Rule    string    `json:"rule,omitempty"`
	Source  string    `json:"source,omitempty"`
}

// A DueSection is a part of a due list.
type DueSection struct {
	State, Head string
	Rows        []*DueRow
}

// DueSections sorts what is owed into the sections of the list, in their order.
func DueSections(list []DueRow) []DueSection {
	SortDue(list)
	sections := []DueSection{{State: "overdue", Head: "OVERDUE"}, {State: "due", Head: "NOW"}, {State: "soon", Head: "SOON"}}
	for i := range list {
		for j := range sections {
			if sections[j].State == list[i].State {
				sections[j].Rows = append(sections[j].Rows, &list[i])
			}
		}
	}
	return sections
}

// Due writes what is owed, the most pressing first, and by which rule.
func Due(w io.Writer, now time.Time, list []DueRow, most int) error {
	var b strings.Builder
	fmt.Fprintf(&b, "DUE at %s\n", now.Format("2006-01-02 15:04"))
	var rules []string
	for _, s := range DueSections(list) {
		fmt.Fprintf(&b, "\n%s  %d\n", s.Head, len(s.Rows))
		for i, x := range s.Rows {
			if i == most {
				fmt.Fprintf(&b, "  and %d more (--all)\n", len(s.Rows)-most)
				break
			}
			x.line(&b)
			if rule := x.Rule + "  " + x.Source; x.Rule != "" && !slices.Contains(rules, rule) {
				rules = append(rules, rule)
			}
		}
	}
	if len(rules) > 0 {
		b.WriteString("\nBY WHICH RULE (a house file may make each stricter)\n")
	}
	for _, r := range rules {
		for i, line := range Wrap(Clean(r), 76) {
			fmt.Fprintf(&b, "  %s%s\n", strings.Repeat(" ", min(i, 1)*2), line)
		}
	}
	b.WriteString("\nLocal codes and licensed practice come first.\n")
	_, err := io.WriteString(w, b.String())
	return err
}

// SortDue puts what is owed into the order of its time.
func SortDue(list []DueRow) {
	slices.SortStableFunc(list, func(a, b DueRow) int { return cmp.Or(a.When.Compare(b.When), cmp.Compare(a.Tag, b.Tag)) })
}

func (x *DueRow) line(b *strings.Builder) {
	text, at, tag := x.Text, x.At, ""
	if x.Tag != "" {
		tag = triage.SpacedTag(x.Tag)
	}
	if x.Where != "" {
		text += ", " + x.Where
	}
	width := 60
	if tag != "" {
		width -= 9
	}
	for _, line := range Wrap(Clean(text), width) {
		fmt.Fprintf(b, "  %-16s  ", at)
		if x.Tag != "" {
			fmt.Fprintf(b, "%-9s", tag)
		}
		b.WriteString(line + "\n")
		at, tag = "", ""
	}
	if x.Do == "" {
		return
	}
	arrow := "-> "
	// A flag and its blank stay together.
	for _, line := range Wrap(strings.ReplaceAll(Clean(x.Do), " ...", "\x00..."), 60) {
		fmt.Fprintf(b, "%17s%s%s\n", "", arrow, strings.ReplaceAll(line, "\x00", " "))
		arrow = "   "
	}
}

// Count writes a number of things: 1 cell, 2 cells, 2 entries.
func Count(n int64, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	if stem, ok := strings.CutSuffix(thing, "y"); ok && !strings.HasSuffix(stem, "a") { // entry, day
		return fmt.Sprintf("%d %sies", n, stem)
	}
	return fmt.Sprintf("%d %ss", n, thing)
}

// DueJSON writes what is owed, one object a line.
func DueJSON(w io.Writer, list []DueRow) error {
	SortDue(list)
	return jsonLines(w, list)
}
