package exports

import (
	"fmt"
	"io"
	"strings"

	"pouchward/triage"
	"pouchward/triage/review"
)

// rejudged writes which cells change an answer under the rules of another day.
func (c *card) rejudged(x *Rejudged) {
	if x == nil {
		return
	}
	fmt.Fprintf(&c.b, "\nTHE CELLS IN THE SHOP BY THE RULES OF %s, AGAINST THOSE OF %s\n", x.To, x.From)
	c.rule("-")
	for _, line := range Wrap(fmt.Sprintf("%s begin or end between the two (pouchward rules compare). %d of %s change an answer; determinations are kept, readings and holds are the same for both.",
		Count(int64(x.Rules), "rule"), len(x.Cells), Count(x.Compared, "cell")), c.width) {
		fmt.Fprintln(&c.b, line)
	}
	for _, text := range x.Unread {
		c.bullet("!", "NOT COMPARED: "+Clean(text))
	}
	for i := range x.Cells {
		cell := &x.Cells[i]
		for j, ch := range cell.Changes {
			mark := ""
			if j == 0 {
				mark = "*"
			}
			text := fmt.Sprintf("%s: %s -> %s. %s.", ch.Answer, none(ch.From), none(ch.To), upperFirst(ch.Why))
			if j == 0 {
				text = fmt.Sprintf("%s, %s (entry %d): ", triage.SpacedTag(cell.Tag), whereText(cell), cell.Entry) + text
			}
			if ch.Source != "" {
				text += " [" + ch.Source + "]"
			}
			c.bullet(mark, text)
		}
	}
}

func whereText(x *RejudgedCell) string {
	switch {
	case x.In != "":
		return "in " + triage.SpacedTag(x.In)
	case x.Place != "":
		return "at " + Clean(x.Place)
	}
	return "place not said"
}

// A ReviewClean is what a review says besides its findings.
type ReviewClean struct {
	Clean  []CleanRow // gone through and found in order
	Empty  []string   // nothing there to look at
	Unseen []string   // not to be seen in a log
}

// A CleanRow is a check that found nothing, and among how many.
type CleanRow struct {
	Checked int64
	Text    string
}

// NewReviewClean gathers what was gone through and found in order, what there was
// nothing of, and what a log cannot show.
func NewReviewClean(r *review.Report) (x ReviewClean) {
	for i := range r.Clean {
		k := &r.Clean[i]
		if k.Checked == 0 {
			x.Empty = append(x.Empty, k.Check.Title+untold(k)+".")
			continue
		}
		_, counts, _ := strings.Cut(review.CountOf(k.Checked, k.Check.Counts), " ")
		x.Clean = append(x.Clean, CleanRow{k.Checked, fmt.Sprintf("%s: %s%s.", counts, k.Check.Clean, untold(k))})
	}
	for _, k := range r.Unseen {
		x.Unseen = append(x.Unseen, fmt.Sprintf("%s: %s. Ask %s. [%s]", k.Title, k.Unseen, k.Ask, k.Source))
	}
	return x
}

// clean writes it.
func (c *card) clean(r *review.Report) {
	x := NewReviewClean(r)
	c.b.WriteString("\nLOOKED AT AND IN ORDER\n")
	c.rule("-")
	for _, row := range x.Clean {
		c.numbered(row.Checked, row.Text)
	}
	if len(x.Empty) > 0 {
		c.b.WriteString("\nNOTHING THERE TO LOOK AT: in order cannot be said of these\n")
		c.rule("-")
		for _, text := range x.Empty {
			c.bullet("-", text)
		}
	}
	c.b.WriteString("\nNOT TO BE SEEN IN A LOG\n")
	c.rule("-")
	for _, text := range x.Unseen {
		c.bullet("-", text)
	}
}

func untold(x *review.Clean) string {
	if x.Untold == "" {
		return ""
	}
	return ". NOT TOLD: " + Clean(x.Untold)
}

// numbered writes wrapped text beside a count.
func (c *card) numbered(n int64, text string) {
	mark := fmt.Sprint(n)
	for _, line := range Wrap(text, c.width-8) {
		fmt.Fprintf(&c.b, "%6s  %s\n", mark, line)
		mark = ""
	}
}

// sample writes the cells drawn to be walked to.
func (c *card) sample(x *review.Sample) {
	c.b.WriteString("\nTEN CELLS DRAWN AT RANDOM: walk from the record to the shelf, and back\n")
	c.rule("-")
	for _, part := range []struct {
		head string
		tags []string
		of   int64
	}{{"in the shop", x.Here, x.OfHere}, {"left in the period", x.Gone, x.OfGone}} {
		var tags []string
		for _, t := range part.tags {
			tags = append(tags, triage.SpacedTag(t))
		}
		if len(tags) == 0 {
			tags = []string{"none"}
		}
		c.item("", fmt.Sprintf("%s, of %d: %s", part.head, part.of, strings.Join(tags, ", ")))
	}
	c.item("SEED", fmt.Sprintf("%q. The same seed draws the same: the tags with the least SHA-256 of the seed, a space and the tag. "+
		"Name one of your own: --seed WORDS.", Clean(x.Seed)))
}

// howToCheck says how to check the page without trusting it.
func (c *card) howToCheck(r *review.Report) {
	c.b.WriteString("\nHOW TO CHECK THIS\n")
	c.rule("-")
	c.bullet("-", "pouchward log verify checks the log against itself, and against a checkpoint or paper line that was kept elsewhere (--checkpoint, --paper).")
	c.bullet("-", "pouchward log history TAG prints all that is written of a tag; pouchward rules explain RULE the record that a finding goes by, with its whole source.")
	c.bullet("-", "pouchward review --json prints every finding with all its entries; nothing here is stored, all of it comes out of the entries again.")
	c.bullet("-", "pouchward review sign RULE SUBJECT --reason ... --who ... answers a finding. The finding stays, with the answer beside it.")
	c.item("CARE", triage.LocalFirst)
}

// ReviewTable writes the findings, one a line, worst first.
func ReviewTable(w io.Writer, r *review.Report) error {
	t := table{head: []string{"SEVERITY", "SINCE", "STATE", "SUBJECT", "ENTRY", "RULE"}, right: []bool{false, false, false, false, true, false}}
	for i := range r.Findings {
		f := &r.Findings[i]
		state := "open"
		switch {
		case !f.Open():
			state = "past"
		case f.Signed != nil:
			state = "answered"
		}
		entry := ""
		if len(f.Entries) > 0 {
			entry = fmt.Sprint(f.Entries[len(f.Entries)-1])
		}
		t.rows = append(t.rows, []string{f.Check.Severity, strings.TrimPrefix(day(f.Since), "a day "), state, f.Subject, entry, strings.TrimPrefix(f.Check.ID, "review-")})
	}
	var b strings.Builder
	t.write(&b)
	b.WriteString("\n" + strings.Join(Fold(foundLine(r), width, 2), "\n") + "\nA rule is named in full by pouchward rules explain review-RULE. " + triage.LocalFirst + "\n")
	return writeMarked(w, r, b.String())
}
