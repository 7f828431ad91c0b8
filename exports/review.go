package exports

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"pouchward/triage"
	"pouchward/triage/review"
)

// severityHeads are the sections of a review, worst first, with what is asked of
// whoever reads it.
var severityHeads = []string{"CRITICAL: stop, and act today", "MAJOR: act this week", "MINOR: put it right at the next round", "NOTE: look"}

// A Rejudged is which cells change an answer between the rules of two days.
type Rejudged struct {
	From, To string
	Rules    int // that begin or end between the two
	Cells    []RejudgedCell
	Compared int64    // single cells; a lot has no reading to judge
	Unread   []string // why a cell could not be compared
}

// A RejudgedCell is a cell whose answers change.
type RejudgedCell struct {
	Tag, Place, In string // In is the container that holds it
	Entry          int64  // of the last look, 0 for none
	Changes        []triage.AnswerChange
}

// damagedMark begins every line of a review of a log that does not verify.
const damagedMark = "DOES NOT VERIFY | "

// Review writes a review as a page: what to ask about, the worst first, then what was
// in order. again is nil where nothing was judged by the rules of another day.
func Review(w io.Writer, r *review.Report, again *Rejudged) error {
	c := card{width: width}
	c.reviewHead(r)
	c.findings(r)
	c.rejudged(again)
	c.clean(r)
	c.ledger(r)
	c.sample(&r.Sample)
	c.howToCheck(r)
	return writeMarked(w, r, c.b.String())
}

// writeMarked puts the mark before every line where the log does not verify.
func writeMarked(w io.Writer, r *review.Report, text string) error {
	if len(r.Snapshot.Troubles) > 0 {
		lines := strings.Split(strings.TrimSuffix(text, "\n"), "\n")
		for i := range lines {
			lines[i] = strings.TrimRight(damagedMark+lines[i], " ")
		}
		text = strings.Join(lines, "\n") + "\n"
	}
	_, err := io.WriteString(w, text)
	return err
}

func (c *card) reviewHead(r *review.Report) {
	c.rule("=")
	fmt.Fprintf(&c.b, "REVIEW  %s\n", Clean(r.Snapshot.Site))
	c.rule("=")
	c.reviewed(r)
}

// reviewed says what was reviewed, and sums up.
func (c *card) reviewed(r *review.Report) {
	s := r.Snapshot
	c.item("PERIOD", fmt.Sprintf("%s to %s, as the log stood at %s", s.From, s.To, s.Now.Format("2006-01-02 15:04")))
	c.item("LOG", logLine(s))
	c.item("SHOP", shopLine(s))
	c.item("RULES", fmt.Sprintf("of %s, rulebook %.12s. An answer stands as it was given on its day.", s.Rules.On, s.Rules.Digest))
	c.item("FOUND", foundLine(r))
	if n := r.Pressing(); n > 0 {
		c.item("OPEN", fmt.Sprintf("%s of critical or major severity that nobody has answered", Count(int64(n), "finding")))
	}
}

// ReviewRows are the head of a review as a page shows it.
func ReviewRows(r *review.Report) (rows []PanelRow) {
	c := card{width: width, rows: &rows}
	c.reviewed(r)
	return rows
}

func logLine(s *review.Snapshot) string {
	n := &s.Entries
	text := fmt.Sprintf("entries %d to %d", n.First, n.Last)
	if n.Root != "" {
		text += fmt.Sprintf(", paper line %d %.20s", n.Last, n.Root)
	}
	switch {
	case len(s.Troubles) > 0:
		text += ". IT DOES NOT VERIFY: what follows may be wrong in any part"
	case s.Verified:
		text += ". It verifies: bytes, hashes, tree and views agree with one another"
	default:
		text += ". It was not verified"
	}
	return text + fmt.Sprintf(". %s and %s, each with its reason, stand in it.", Count(n.Corrections, "correction"), Count(n.Retractions, "retraction"))
}

func shopLine(s *review.Snapshot) string {
	var here, apart, left int64
	for i := range s.Cells {
		last := s.Cells[i].Last()
		here += last.Cells()
		switch {
		case last.Is == review.Out:
			left++
		case last.Is == review.Here && (last.Handling >= triage.Isolate || last.Condition >= triage.Damaged):
			apart++
		}
	}
	return fmt.Sprintf("%s here, of which %d are to stand alone; %d left since the log began; %s", Count(here, "cell"), apart, left, Count(int64(len(s.Shipments)), "shipment"))
}

// foundLine counts by severity and names the oldest that is open. There is no score.
func foundLine(r *review.Report) string {
	counts, open := make([]int, len(triage.CheckSeverities)), make([]int, len(triage.CheckSeverities))
	var oldest time.Time
	for i := range r.Findings {
		f := &r.Findings[i]
		counts[f.Check.Rank()]++
		if f.Open() {
			open[f.Check.Rank()]++
			if oldest.IsZero() || f.Since.Before(oldest) {
				oldest = f.Since
			}
		}
	}
	var parts []string
	for rank, name := range triage.CheckSeverities {
		parts = append(parts, fmt.Sprintf("%d %s (%d open)", counts[rank], name, open[rank]))
	}
	text := strings.Join(parts, ", ")
	if !oldest.IsZero() {
		text += "; the oldest that is open since " + day(oldest)
	}
	return text
}

// day prints the day of a moment; one that is not known is said to be.
func day(t time.Time) string {
	if t.IsZero() || t.Year() < 1971 {
		return "a day not known"
	}
	return t.Format(time.DateOnly)
}

// A ReviewSection is the findings of one severity.
type ReviewSection struct {
	Head   string
	Checks []ReviewCheck
}

// A ReviewCheck is a check with what it found.
type ReviewCheck struct {
	Check    *triage.Check
	Findings []*review.Finding
	Untold   string
}

// ReviewSections are the findings by check: the checks in the order of their worst.
func ReviewSections(r *review.Report) (list []ReviewSection) {
	rank := -1
	var done []*triage.Check
	for i := range r.Findings {
		k := r.Findings[i].Check
		if slices.Contains(done, k) {
			continue
		}
		done = append(done, k)
		if k.Rank() != rank {
			rank = k.Rank()
			list = append(list, ReviewSection{Head: severityHeads[rank]})
		}
		x := ReviewCheck{Check: k, Untold: untoldOf(r, k)}
		for j := range r.Findings {
			if r.Findings[j].Check == k {
				x.Findings = append(x.Findings, &r.Findings[j])
			}
		}
		s := &list[len(list)-1]
		s.Checks = append(s.Checks, x)
	}
	return list
}

// NothingFound is what a review without a finding says.
const NothingFound = "Nothing was found that a check looks for. That is no permission and no praise: see below what was looked at, and what a log cannot show."

// findings writes the findings.
func (c *card) findings(r *review.Report) {
	for _, s := range ReviewSections(r) {
		fmt.Fprintf(&c.b, "\n%s\n", s.Head)
		c.rule("-")
		for i, x := range s.Checks {
			if i > 0 {
				c.b.WriteByte('\n')
			}
			c.check(x.Check, x.Findings, x.Untold)
		}
	}
	if len(r.Findings) == 0 {
		c.b.WriteString("\n" + strings.Join(Wrap(NothingFound, c.width), "\n") + "\n")
	}
}

func (c *card) check(k *triage.Check, list []*review.Finding, untold string) {
	for _, line := range Wrap(strings.ToUpper(k.Title), c.width) {
		fmt.Fprintln(&c.b, line)
	}
	for _, f := range list {
		c.finding(f)
	}
	if untold != "" {
		c.item("NOT TOLD", Clean(untold)+".")
	}
	c.checkSays(k)
}

// checkSays says what closes a finding of a check, whom to ask, and by which rule.
func (c *card) checkSays(k *triage.Check) {
	c.item("TO CLOSE", upperFirst(k.Closes)+".")
	c.item("ASK", upperFirst(k.Ask)+".")
	c.item("RULE", fmt.Sprintf("%s [%s; %s]", k.ID, basisAnd(k), confidenceText(k.Confidence)))
}

// CheckRows are checkSays as a page shows it.
func CheckRows(k *triage.Check) (rows []PanelRow) {
	c := card{width: width, rows: &rows}
	c.checkSays(k)
	return rows
}

// basisAnd is the source, with the basis where the source does not begin with it.
func basisAnd(k *triage.Check) string {
	if strings.HasPrefix(k.Source, strings.ReplaceAll(string(k.Basis), "-", " ")) {
		return k.Source
	}
	return strings.ReplaceAll(string(k.Basis), "-", " ") + ": " + k.Source
}

// confidenceText says how far a source was read.
func confidenceText(word string) string {
	switch word {
	case "memory":
		return "from memory"
	case "read":
		return "read"
	}
	return word
}

func untoldOf(r *review.Report, k *triage.Check) string {
	for i := range r.Untold {
		if r.Untold[i].Check == k {
			return r.Untold[i].Untold
		}
	}
	return ""
}

func (c *card) finding(f *review.Finding) {
	c.bullet("*", FindingText(f))
	c.bullet("", evidence(f))
	if text := AnswerText(f); text != "" {
		c.bullet("", text)
	}
}

// FindingText says since when something is so, and what.
func FindingText(f *review.Finding) string {
	state := "open since " + day(f.Since)
	if !f.Open() {
		state = "past, " + day(f.Since)
		if until := day(f.Until); until != day(f.Since) {
			state += " to " + until
		}
	}
	return fmt.Sprintf("%s: %s.", state, Clean(f.Text))
}

// AnswerText says what was answered to a finding, blank for nothing.
func AnswerText(f *review.Finding) string {
	switch x := f.Signed; {
	case x != nil:
		return fmt.Sprintf("answered by %s on %s%s (entry %d): %s", orNobody(x.Who), day(x.Happened), untilText(x), x.Entry, Clean(x.Reason))
	case f.Stale != nil:
		x = f.Stale
		return fmt.Sprintf("the answer of %s (entry %d) no longer counts: more was found since, or its day is over", orNobody(x.Who), x.Entry)
	}
	return ""
}

// Answered says that a finding was signed off until a day, blank for without end, and
// what that does not change.
func Answered(w io.Writer, f *review.Finding, until string) error {
	if until != "" {
		until = ", until " + until
	}
	_, err := fmt.Fprintf(w, "%s, %s: answered, for the entries that it rests on today%s.\nIt stays in every review with the answer beside it, and is open again when more is found.\n",
		f.Check.ID, Clean(f.Subject), until)
	return err
}

func untilText(x *review.SignOff) string {
	if x.Until == 0 {
		return ""
	}
	return ", until " + x.Until.String()
}

func orNobody(who string) string {
	if who == "" {
		return "a person not named"
	}
	return Clean(who)
}

// mostEntries is how many entries of a finding are named; the JSON names all.
const mostEntries = 12

// evidence is where a reviewer looks next.
func evidence(f *review.Finding) string {
	if len(f.Entries) == 0 {
		return "evidence: no entry, which is the matter"
	}
	var list []string
	for _, n := range f.Entries[:min(len(f.Entries), mostEntries)] {
		list = append(list, fmt.Sprint(n))
	}
	text := "evidence: pouchward log show " + list[0]
	if len(list) > 1 {
		text += " (also " + strings.Join(list[1:], ", ")
		if more := len(f.Entries) - len(list); more > 0 {
			text += fmt.Sprintf(" and %d more", more)
		}
		text += ")"
	}
	if len(f.Tags) > 0 {
		text += "; pouchward log history " + f.Tags[0]
	}
	return text
}

// bullet writes wrapped text beside a mark.
func (c *card) bullet(mark, text string) {
	for i, line := range Wrap(text, c.width-4) {
		if i > 0 {
			mark = ""
		}
		fmt.Fprintf(&c.b, " %-2s %s\n", mark, line)
	}
}
