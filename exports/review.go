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

// SeverityHeads are the sections of a review, worst first, with what is asked of
// whoever reads it.
var SeverityHeads = []string{"CRITICAL: stop, and act today", "MAJOR: act this week", "MINOR: put it right at the next round", "NOTE: look"}

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
	c.item("SHOP", ShopText(s))
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

// ShopText says what is in the shop and what left it.
func ShopText(s *review.Snapshot) string {
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

// ReviewSections are the findings by severity and check, what is open before what is
// past.
func ReviewSections(r *review.Report) (list []ReviewSection) {
	for rank, head := range SeverityHeads {
		open, past := ByCheck(r, rank)
		if len(open)+len(past) == 0 {
			continue
		}
		s := ReviewSection{Head: head}
		for _, findings := range slices.Concat(open, past) {
			k := findings[0].Check
			s.Checks = append(s.Checks, ReviewCheck{k, findings, UntoldOf(r, k)})
		}
		list = append(list, s)
	}
	return list
}

// NothingFound is what a review without a finding says.
const NothingFound = "Nothing was found that a check looks for. That is no permission and no praise: see below what was looked at, and what a log cannot show."

// findings writes the findings by severity: first the checks of which something is open,
// with what would close it and who answers for it, then in short those of which all is
// past.
func (c *card) findings(r *review.Report) {
	for rank, head := range SeverityHeads {
		open, past := ByCheck(r, rank)
		if len(open)+len(past) == 0 {
			continue
		}
		fmt.Fprintf(&c.b, "\n%s\n", head)
		c.rule("-")
		for i, list := range open {
			if i > 0 {
				c.b.WriteByte('\n')
			}
			c.check(list, UntoldOf(r, list[0].Check))
		}
		if len(past) > 0 && len(open) > 0 {
			c.b.WriteString("\nPast, and told all the same:\n")
		}
		for _, list := range past {
			c.pastCheck(list, UntoldOf(r, list[0].Check))
		}
	}
	if len(r.Findings) == 0 {
		c.b.WriteString("\n" + strings.Join(Wrap(NothingFound, c.width), "\n") + "\n")
	}
}

// ByCheck gathers the findings of a severity by check, in the order of the report: the
// checks of which something is open, and those of which all is past.
func ByCheck(r *review.Report, rank int) (open, past [][]*review.Finding) {
	at := map[*triage.Check]int{}
	var lists [][]*review.Finding
	for i := range r.Findings {
		f := &r.Findings[i]
		if f.Check.Rank() != rank {
			continue
		}
		if _, seen := at[f.Check]; !seen {
			at[f.Check] = len(lists)
			lists = append(lists, nil)
		}
		lists[at[f.Check]] = append(lists[at[f.Check]], f)
	}
	for _, list := range lists {
		if list[0].Open() { // the open ones come first
			open = append(open, list)
		} else {
			past = append(past, list)
		}
	}
	return open, past
}

func (c *card) check(list []*review.Finding, untold string) {
	k := list[0].Check
	for _, line := range Wrap(strings.ToUpper(k.Title), c.width) {
		fmt.Fprintln(&c.b, line)
	}
	for _, f := range list {
		c.finding("*", "", "", f)
	}
	if untold != "" {
		c.item("NOT TOLD", Clean(untold)+".")
	}
	c.checkSays(k)
}

// checkSays says what closes a finding of a check, whom to ask, and by which rule.
func (c *card) checkSays(k *triage.Check) {
	c.item("TO CLOSE", upperFirst(k.Closes)+". Ask "+k.Ask+".")
	c.item("RULE", ruleText(k))
}

// CheckRows are checkSays as a page shows it.
func CheckRows(k *triage.Check) (rows []PanelRow) {
	c := card{width: width, rows: &rows}
	c.checkSays(k)
	return rows
}

// pastCheck writes a check of which nothing is open any more: what would close it needs
// no telling.
func (c *card) pastCheck(list []*review.Finding, untold string) {
	k := list[0].Check
	mark, title := "-", k.Title+", "
	for i, f := range list {
		rule := ""
		if i == len(list)-1 {
			rule = " [" + ruleText(k) + "]"
		}
		c.finding(mark, title, rule, f)
		mark, title = "", ""
	}
	if untold != "" {
		c.bullet("", "not told: "+Clean(untold))
	}
}

// ruleText names the record of a check, what it rests on, and how far that was read.
// The whole source stands in the record.
func ruleText(k *triage.Check) string {
	basis := strings.ReplaceAll(string(k.Basis), "-", " ")
	source := k.Source
	for _, end := range []string{": ", "; "} {
		source, _, _ = strings.Cut(source, end)
	}
	if source == basis {
		return k.ID + ": " + basis
	}
	return k.ID + ": " + basis + ", " + source + ", " + confidenceText(k.Confidence)
}

// CheckSource is the id of a check with the whole of its source, and how far that was
// read.
func CheckSource(k *triage.Check) string {
	basis := strings.ReplaceAll(string(k.Basis), "-", " ")
	source := k.Source
	if !strings.HasPrefix(source, basis) {
		source = basis + ": " + source
	}
	return fmt.Sprintf("%s [%s; %s]", k.ID, source, confidenceText(k.Confidence))
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

// UntoldOf is what a check with findings could not tell besides, blank for nothing.
func UntoldOf(r *review.Report, k *triage.Check) string {
	for i := range r.Untold {
		if r.Untold[i].Check == k {
			return r.Untold[i].Untold
		}
	}
	return ""
}

// finding writes one finding beside a mark, between what has no line of its own.
func (c *card) finding(mark, before, after string, f *review.Finding) {
	c.bullet(mark, fmt.Sprintf("%s%s: %s.%s", before, FindingState(f), Clean(f.Text), after))
	c.bullet("", Evidence(f))
	if text := AnswerOf(f); text != "" {
		c.bullet("", text)
	}
}

// FindingText says since when something is so, and what.
func FindingText(f *review.Finding) string {
	return fmt.Sprintf("%s: %s.", FindingState(f), Clean(f.Text))
}

// FindingState says since when a finding is open, or when it was so.
func FindingState(f *review.Finding) string {
	if f.Open() {
		return "open since " + day(f.Since)
	}
	state := "past, " + day(f.Since)
	if until := day(f.Until); until != day(f.Since) {
		state += " to " + until
	}
	return state
}

// AnswerOf says who answered a finding and how, blank where nobody did.
func AnswerOf(f *review.Finding) string {
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

// Evidence is where a reviewer looks next.
func Evidence(f *review.Finding) string {
	if len(f.Entries) == 0 {
		return "evidence: no entry of the log"
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
