package exports

import (
	"io"
	"time"

	"pouchward/triage"
	"pouchward/triage/review"
)

// The lines of a review in JSON, one object each, told apart by "type"; their names
// are an interface. "log_verifies" stands in every one.
type reviewLine struct {
	Type     string `json:"type"` // review, finding, in_order, not_seen, sample, changed
	Verifies bool   `json:"log_verifies"`
}

type reviewDoc struct {
	reviewLine
	Site     string         `json:"site"`
	From     string         `json:"from"`
	To       string         `json:"to"`
	At       time.Time      `json:"at"`
	Entries  int64          `json:"entries"`
	Root     string         `json:"root"`
	Rulebook string         `json:"rulebook"`
	Pressing int            `json:"open_critical_or_major_unanswered"`
	Counts   map[string]int `json:"findings"`
	Troubles []string       `json:"troubles"`
}

type findingDoc struct {
	reviewLine
	Rule     string      `json:"rule"`
	Severity string      `json:"severity"`
	Title    string      `json:"title"`
	Subject  string      `json:"subject"`
	Open     bool        `json:"open"`
	Since    *time.Time  `json:"since"`
	Until    *time.Time  `json:"until"`
	Text     string      `json:"text"`
	Tags     []string    `json:"tags"`
	Entries  []int64     `json:"entries"`
	Closes   string      `json:"closes"`
	Ask      string      `json:"ask"`
	Source   string      `json:"source"`
	Basis    string      `json:"basis"`
	Untold   string      `json:"check_could_not_tell,omitempty"`
	Signed   *signOffDoc `json:"answer"`
	Stale    *signOffDoc `json:"answer_that_no_longer_counts"`
}

type signOffDoc struct {
	Entry  int64     `json:"entry"`
	Who    string    `json:"who"`
	At     time.Time `json:"at"`
	Reason string    `json:"reason"`
	Until  string    `json:"until,omitempty"`
}

type cleanDoc struct {
	reviewLine
	Rule    string `json:"rule"`
	Checked int64  `json:"checked"` // 0: there was nothing to look at
	Counts  string `json:"of"`
	Clean   string `json:"found"`
	Untold  string `json:"not_told,omitempty"`
}

type unseenDoc struct {
	reviewLine
	Rule   string `json:"rule"`
	Title  string `json:"title"`
	Why    string `json:"why"`
	Ask    string `json:"ask"`
	Source string `json:"source"`
}

type sampleDoc struct {
	reviewLine
	Seed string   `json:"seed"`
	Here []string `json:"in_the_shop"`
	Gone []string `json:"left_in_the_period"`
}

type changedDoc struct {
	reviewLine
	Tag     string                `json:"tag"`
	Entry   int64                 `json:"entry"`
	From    string                `json:"rules_of"`
	To      string                `json:"against_rules_of"`
	Changes []triage.AnswerChange `json:"changes"`
}

// ReviewJSON writes a review, one object a line: the review, each finding, what was in
// order, what a log cannot show, the sample, and the ledger's lines.
func ReviewJSON(w io.Writer, r *review.Report, again *Rejudged) error {
	head := func(kind string) reviewLine { return reviewLine{kind, len(r.Snapshot.Troubles) == 0} }
	lines := []any{newReviewDoc(head("review"), r)}
	for i := range r.Findings {
		lines = append(lines, newFindingDoc(head("finding"), &r.Findings[i], untoldOf(r, r.Findings[i].Check)))
	}
	if again != nil {
		for _, x := range again.Cells {
			lines = append(lines, changedDoc{head("changed"), x.Tag, x.Entry, again.From, again.To, x.Changes})
		}
	}
	for _, x := range r.Clean {
		lines = append(lines, cleanDoc{head("in_order"), x.Check.ID, x.Checked, x.Check.Counts, x.Check.Clean, x.Untold})
	}
	for _, k := range r.Unseen {
		lines = append(lines, unseenDoc{head("not_seen"), k.ID, k.Title, k.Unseen, k.Ask, k.Source})
	}
	s := &r.Sample
	lines = append(lines, sampleDoc{head("sample"), s.Seed, s.Here, s.Gone})
	lines = append(lines, ledgerLines(r, head("ledger"))...)
	return jsonLines(w, lines)
}

func newReviewDoc(head reviewLine, r *review.Report) *reviewDoc {
	s := r.Snapshot
	d := &reviewDoc{reviewLine: head, Site: s.Site, From: s.From.String(), To: s.To.String(), At: s.Now, Entries: s.Entries.Last, Root: s.Entries.Root, Rulebook: s.Rules.Digest,
		Pressing: r.Pressing(), Counts: map[string]int{}, Troubles: []string{}}
	for _, name := range triage.CheckSeverities {
		d.Counts[name] = 0
	}
	for i := range r.Findings {
		d.Counts[r.Findings[i].Check.Severity]++
	}
	for _, t := range s.Troubles {
		d.Troubles = append(d.Troubles, t.Text)
	}
	return d
}

func newFindingDoc(head reviewLine, f *review.Finding, untold string) *findingDoc {
	k := f.Check
	d := &findingDoc{reviewLine: head, Rule: k.ID, Severity: k.Severity, Title: k.Title, Subject: f.Subject, Open: f.Open(), Since: timeOrNil(f.Since), Until: timeOrNil(f.Until), Text: f.Text,
		Tags: f.Tags, Entries: f.Entries, Closes: k.Closes, Ask: k.Ask, Source: k.Source, Basis: string(k.Basis), Untold: untold, Signed: newSignOffDoc(f.Signed), Stale: newSignOffDoc(f.Stale)}
	if d.Tags == nil {
		d.Tags = []string{}
	}
	if d.Entries == nil {
		d.Entries = []int64{}
	}
	return d
}

func timeOrNil(t time.Time) *time.Time {
	if t.IsZero() {
		return nil
	}
	return &t
}

func newSignOffDoc(x *review.SignOff) *signOffDoc {
	if x == nil {
		return nil
	}
	d := &signOffDoc{Entry: x.Entry, Who: x.Who, At: x.Happened, Reason: x.Reason}
	if x.Until != 0 {
		d.Until = x.Until.String()
	}
	return d
}
