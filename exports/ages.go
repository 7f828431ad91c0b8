package exports

import (
	"bytes"
	"cmp"
	"fmt"
	"io"
	"strings"

	"pouchward/triage"
	"pouchward/triage/review"
)

// AgesHead says how much is past the last step, or how far the oldest is from it.
func AgesHead(x *review.Ages) string {
	if len(x.Cells)+len(x.Unknown) == 0 {
		return fmt.Sprintf("No accumulation clock runs on %s", x.On)
	}
	if len(x.Steps) == 0 {
		return fmt.Sprintf("No accumulation time is known for %s", x.Country)
	}
	last := x.Steps[len(x.Steps)-1]
	switch n, unknown := x.Past(last).Cells, x.UnknownCells(); {
	case unknown > 0 && n == unknown:
		return fmt.Sprintf("%s of unknown age on %s, to be taken as past %s", Count(n, "cell"), x.On, last.By.After)
	case n > 0:
		return fmt.Sprintf("%s past %s on %s", Count(n, "cell"), last.By.After, x.On)
	}
	old := &x.Cells[0]
	return fmt.Sprintf("None past %s on %s; the oldest is %s, day %d", last.By.After, x.On, triage.SpacedTag(old.Tag), old.Days)
}

// AgesNote says what the picture leaves out and by which texts it goes.
func AgesNote(x *review.Ages) string {
	recorded := int64(0)
	for i := range x.Cells {
		if x.Cells[i].StartBy == "recorded" {
			recorded += x.Cells[i].Amount.Cells
		}
	}
	text := fmt.Sprintf("Of the start nothing is known: %s, counted as past every step and not drawn. Counted from the day of the first entry, for want of another: %s. Not waste by what was judged, so without a clock: %s.",
		Count(x.UnknownCells(), "cell"), Count(recorded, "cell"), Count(x.Kept.Cells, "cell"))
	for _, s := range x.Steps {
		if s.By.Severity == "overdue" {
			text += fmt.Sprintf(" The last step: %s.", s.By.Source)
		}
	}
	return text + " Local law may be stricter."
}

// Ages prints the steps with how much is past each, and the oldest in figures.
func Ages(w io.Writer, x *review.Ages) error {
	var b strings.Builder
	b.WriteString(AgesHead(x) + "\n\n")
	for _, s := range x.Steps {
		b.WriteString(strings.Join(Fold(fmt.Sprintf("from day %-4d %s: %s", s.Days, s.By.Title, AmountText(x.Past(s))), 80, 14), "\n") + "\n")
	}
	if len(x.Cells) > 0 {
		fmt.Fprintf(&b, "\n%-8s  %5s  %-10s  %-9s  %s\n", "oldest", "days", "since", "by", "what")
	}
	for i := range x.Cells[:min(len(x.Cells), 10)] {
		c := &x.Cells[i]
		fmt.Fprintf(&b, "%-8s  %5d  %-10s  %-9s  %s\n", triage.SpacedTag(c.Tag), c.Days, c.Start, c.StartBy, AmountText(c.Amount))
	}
	b.WriteString("\n" + strings.Join(Fold(AgesNote(x), 80, 0), "\n") + "\n")
	_, err := io.WriteString(w, b.String())
	return err
}

// agesDoc is ages in JSON; its names are an interface.
type agesDoc struct {
	On      string       `json:"on"`
	Country string       `json:"country"`
	Steps   []ageStepDoc `json:"steps"`
	Cells   []ageDoc     `json:"cells"`
	Unknown []ageDoc     `json:"start_unknown"`
	Kept    amountDoc    `json:"kept_without_a_clock"`
}

type ageStepDoc struct {
	ID       string    `json:"id"`
	FromDay  int       `json:"from_day"`
	Severity string    `json:"severity"`
	Source   string    `json:"source"`
	Past     amountDoc `json:"past"`
}

type ageDoc struct {
	Tag     string    `json:"tag"`
	Start   string    `json:"start,omitempty"`
	StartBy string    `json:"start_by,omitempty"`
	Days    *int      `json:"days"` // null: not known
	Reached string    `json:"reached,omitempty"`
	Amount  amountDoc `json:"amount"`
}

// AgesJSON writes ages as JSON.
func AgesJSON(w io.Writer, x *review.Ages) error {
	d := agesDoc{On: x.On.String(), Country: cmp.Or(x.Country, triage.BaselineCountry), Steps: []ageStepDoc{}, Cells: []ageDoc{}, Unknown: []ageDoc{}, Kept: newAmountDoc(x.Kept)}
	for _, s := range x.Steps {
		d.Steps = append(d.Steps, ageStepDoc{s.By.ID, s.Days, s.By.Severity, s.By.Source, newAmountDoc(x.Past(s))})
	}
	for i := range x.Cells {
		c := &x.Cells[i]
		a := ageDoc{Tag: c.Tag, Start: c.Start.String(), StartBy: c.StartBy, Days: &c.Days, Amount: newAmountDoc(c.Amount)}
		if c.Reached != nil {
			a.Reached = c.Reached.ID
		}
		d.Cells = append(d.Cells, a)
	}
	for i := range x.Unknown {
		d.Unknown = append(d.Unknown, ageDoc{Tag: x.Unknown[i].Tag, Amount: newAmountDoc(x.Unknown[i].Amount)})
	}
	return writeJSON(w, d)
}

func writeJSON(w io.Writer, d any) error {
	var buf bytes.Buffer
	if err := EncodeJSON(&buf, d, "  "); err != nil {
		return err
	}
	_, err := w.Write(buf.Bytes())
	return err
}
