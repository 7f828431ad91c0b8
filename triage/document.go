package triage

import (
	"fmt"
	"slices"
)

// Document is the verdict as JSON prints it; its names are an interface.
type Document struct {
	Tag         string              `json:"tag"`
	On          string              `json:"on"`
	Rulebook    string              `json:"rulebook"`
	Handling    Answer              `json:"handling"`
	Condition   Answer              `json:"condition"`
	Size        Answer              `json:"size"`
	Waste       WasteAnswer         `json:"waste"`
	Facts       FactsDocument       `json:"facts"`
	Routes      map[string]RouteDoc `json:"routes"`
	Do          []string            `json:"do"`
	LookAgain   *int                `json:"look_again_min"`
	MeasureNext []NextDoc           `json:"measure_next"`
	Questions   []string            `json:"questions"`
	Cautions    []string            `json:"cautions"`
	Notices     []string            `json:"notices"`
	Error       []string            `json:"error"`
}

// Answer is one of the four answers with its findings.
type Answer struct {
	Class    string       `json:"class"`
	Findings []FindingDoc `json:"findings"`
}

// WasteAnswer adds the codes of the jurisdiction.
type WasteAnswer struct {
	Class    string       `json:"class"`
	Codes    []string     `json:"codes"`
	Duties   []DutyDoc    `json:"duties"`
	State    []string     `json:"state"` // where a state may differ
	Findings []FindingDoc `json:"findings"`
}

// FindingDoc is a finding in words.
type FindingDoc struct {
	Rule       string   `json:"rule"`
	State      string   `json:"state"`
	Outcome    string   `json:"outcome"`
	Title      string   `json:"title"`
	Value      string   `json:"value,omitempty"`
	Limit      string   `json:"limit,omitempty"`
	Missing    []string `json:"missing,omitempty"`
	By         string   `json:"by,omitempty"`
	Source     string   `json:"source"`
	Basis      string   `json:"basis"`
	Confidence string   `json:"confidence"`
}

// FactsDocument holds the derived facts; null is unknown.
type FactsDocument struct {
	Unit        *string     `json:"unit"`
	EnergyWh    *Decimal    `json:"energy_wh"`
	ChargePct   *[2]Decimal `json:"charge_pct"`
	SwellingPct *Decimal    `json:"swelling_pct"`
	DriftMvDay  *Decimal    `json:"drift_mv_day"`
	MassG       *[2]Decimal `json:"mass_g"`
}

// Decimal prints a Micro as a JSON number in shortest form.
type Decimal Micro

// MarshalJSON implements json.Marshaler.
func (d Decimal) MarshalJSON() ([]byte, error) { return Micro(d).Append(nil), nil }

// RouteDoc is a route's answer in words.
type RouteDoc struct {
	Class  string     `json:"class"`
	Way    string     `json:"way,omitempty"`
	UN     string     `json:"un,omitempty"`
	Duties []DutyDoc  `json:"duties"`
	Open   []string   `json:"open"`
	Maybe  []MaybeDoc `json:"maybe"`
	Why    string     `json:"why"`
	Source string     `json:"source,omitempty"`
}

// DutyDoc is one duty of a way or a waste stream.
type DutyDoc struct {
	Kind     string   `json:"kind"`
	Text     string   `json:"text"`
	Words    string   `json:"words,omitempty"`
	AnyOf    []string `json:"any_of,omitempty"`
	LetterMM string   `json:"letter_mm,omitempty"`
	AtMost   string   `json:"at_most,omitempty"`
	Within   string   `json:"within,omitempty"`
	Handler  string   `json:"handler,omitempty"`
	Source   string   `json:"source"`
	PackingTerms
}

// Document returns the duty as JSON has it.
func (d *Duty) Document() DutyDoc {
	return DutyDoc{d.Kind, d.Text, d.Words, d.AnyOf, d.LetterMM, d.AtMost, d.Within, d.Handler, d.Source, d.PackingTerms}
}

// Owed returns the duties that are owed, or that an unknown fact may make owed,
// on the route and the day of the verdict, in the order in which duties are
// printed.
func (v *Verdict) Owed(duties []Duty, route string) []DutyDoc {
	var room [32]*Duty // a document is long: it is copied once, into a list of the right length
	list := room[:0]
	for _, kind := range dutyKinds {
		for i := range duties {
			d := &duties[i]
			if d.Kind != kind || !inForce(v.On, d.from, d.until) || len(d.Routes) > 0 && !slices.Contains(d.Routes, route) {
				continue
			}
			if t, _ := d.when.eval(&v.Facts); t != No {
				list = append(list, d)
			}
		}
	}
	owed := make([]DutyDoc, len(list))
	for i, d := range list {
		owed[i] = d.Document()
	}
	return owed
}

// WasteCodes returns what the waste law calls the cell, each code once: two chemistries that it may have can share one.
func (v *Verdict) WasteCodes() []string {
	codes := []string{}
	for _, s := range v.Streams {
		for _, code := range s.Codes {
			if !slices.Contains(codes, code) {
				codes = append(codes, code)
			}
		}
	}
	return codes
}

// StateLines returns where the shop's state may differ from the baseline.
func (v *Verdict) StateLines() []string {
	lines := []string{}
	for _, s := range v.States {
		lines = append(lines, s.Text)
	}
	return lines
}

func (v *Verdict) wasteDuties() []DutyDoc {
	owed := []DutyDoc{}
	for _, s := range v.Streams {
		owed = append(owed, v.Owed(s.Duties, "")...)
	}
	return owed
}

// MaybeDoc is a way that could open.
type MaybeDoc struct {
	Way   string   `json:"way"`
	Class string   `json:"class"`
	Needs []string `json:"needs"`
}

// NextDoc is a reading worth taking.
type NextDoc struct {
	Reading     string `json:"reading"`
	CouldChange string `json:"could_change"`
	Seconds     int    `json:"seconds"`
}

// Document returns the verdict in words. refused are the input errors.
func (v *Verdict) Document(rb *Rulebook, refused []string) *Document {
	d := &Document{
		Tag: v.Tag, On: v.On.String(), Rulebook: rb.Digest,
		Handling:  Answer{v.Handling.String(), findingDocs(v.HandlingFindings, func(r *Rule) string { return r.Handling })},
		Condition: Answer{v.Condition.String(), findingDocs(v.ConditionFindings, func(r *Rule) string { return r.Condition })},
		Size:      Answer{v.Size.String(), findingDocs(v.SizeFindings, func(r *Rule) string { return r.Size })},
		Waste:     WasteAnswer{v.Waste.String(), v.WasteCodes(), v.wasteDuties(), v.StateLines(), findingDocs(v.WasteFindings, func(r *Rule) string { return r.Waste })},
		Facts:     v.factsDocument(),
		Routes:    map[string]RouteDoc{},
		Do:        v.DoLines(), Cautions: v.CautionLines(), Questions: v.QuestionLines(), Notices: v.Notices(rb),
		MeasureNext: []NextDoc{}, Error: append([]string{}, refused...),
	}
	if v.LookAgain > 0 {
		d.LookAgain = &v.LookAgain
	}
	for r := range NumRoutes {
		d.Routes[r.String()] = v.routeDoc(r)
	}
	for _, n := range v.Next {
		d.MeasureNext = append(d.MeasureNext, NextDoc{Fields[n.Field].Name, n.Change(), Fields[n.Field].Seconds})
	}
	return d
}

// Change says what the reading could change: "handling isolate -> emergency".
func (n Next) Change() string { return n.Answer + " " + n.From + " -> " + n.To }

func findingDocs(list []Finding, outcome func(*Rule) string) []FindingDoc {
	docs := []FindingDoc{}
	for i := range list {
		f := &list[i]
		if f.Rule == nil {
			raised := f.Raised.Handling.String()
			if f.Raised.Waste > NotWaste {
				raised += ", " + f.Raised.Waste.String()
			}
			docs = append(docs, FindingDoc{Rule: "raise", State: f.State.String(), Outcome: raised,
				Title: "Raised", By: f.By, Source: RaisedSource, Basis: string(CommonPractice), Confidence: "read"})
			continue
		}
		d := FindingDoc{Rule: f.Rule.ID, State: f.State.String(), Outcome: outcome(f.Rule), Title: f.Rule.Title, By: f.By,
			Source: f.Rule.Source, Basis: string(f.Rule.Basis), Confidence: f.Rule.Confidence}
		if f.Shown != nil {
			d.Value, d.Limit = f.ValueText(), f.Shown.Limit()
		}
		f.Missing.Each(func(id FactID) { d.Missing = append(d.Missing, FactTable[id].Name) })
		docs = append(docs, d)
	}
	return docs
}

// ValueText returns the value that the finding rests on, with its unit.
func (f *Finding) ValueText() string {
	if f.Shown == nil {
		return ""
	}
	return f.Value.Text(f.Shown.Fact)
}

// Text returns the fact in words, with its unit; an interval as "40-55 %".
func (x Fact) Text(id FactID) string {
	info := &FactTable[id]
	switch {
	case x.State != Known:
		return x.State.Word()
	case info.Words != nil:
		if x.Lo != x.Hi {
			return info.Words[x.Lo] + " or " + info.Words[x.Hi]
		}
		return info.Words[x.Lo]
	case x.Lo != x.Hi:
		return x.Lo.Rounded(1).String() + " to " + x.Hi.Rounded(1).String() + " " + info.Unit
	case info.Unit == "Wh":
		return x.Lo.String() + " Wh" // a rating is printed as it is compared
	}
	return x.Lo.Rounded(3).String() + " " + info.Unit
}

func (v *Verdict) factsDocument() FactsDocument {
	f := &v.Facts
	var d FactsDocument
	if x := f[FUnit]; x.State == Known {
		d.Unit = &unitWords[x.Lo]
	}
	one := func(id FactID, decimals int) *Decimal {
		if f[id].State != Known {
			return nil
		}
		n := Decimal(f[id].Lo.Rounded(decimals))
		return &n
	}
	two := func(id FactID) *[2]Decimal {
		if f[id].State != Known {
			return nil
		}
		return &[2]Decimal{Decimal(f[id].Lo.Rounded(1)), Decimal(f[id].Hi.Rounded(1))}
	}
	d.EnergyWh, d.SwellingPct = one(FEnergy, 6), one(FSwelling, 2)
	d.ChargePct, d.MassG = two(FCharge), two(FMass)
	if rate, ok := v.DriftPerDay(); ok && f[FDrift].State == Known {
		n := Decimal((rate * 1000).Rounded(2))
		d.DriftMvDay = &n
	}
	return d
}

// DoLines returns what the hands do, in order: the class first, then what the
// fired rules add.
func (v *Verdict) DoLines() []string {
	out := []string{}
	for i, a := range v.Advice {
		if i == 1 || len(v.Advice) == 1 {
			// What the findings add comes right after the first lines of the class.
			if len(v.Advice) == 1 {
				out = appendNew(out, a.Do)
			}
			out = v.appendRuleLines(out)
			if len(v.Advice) == 1 {
				break
			}
		}
		out = appendNew(out, a.Do)
	}
	return out
}

func (v *Verdict) appendRuleLines(out []string) []string {
	for i := range v.HandlingFindings {
		if f := &v.HandlingFindings[i]; f.State == Fired && f.Rule != nil && f.Rule.handling == v.Handling {
			out = appendNew(out, f.Rule.Do)
		}
	}
	return out
}

func appendNew(out, lines []string) []string {
	for _, l := range lines {
		if !slices.Contains(out, l) {
			out = append(out, l)
		}
	}
	return out
}

// CautionLines returns the cautions of the class.
func (v *Verdict) CautionLines() []string {
	out := []string{}
	for _, a := range v.Advice {
		out = appendNew(out, a.Caution)
	}
	return append(out, LocalFirst)
}

// LocalFirst stands on everything that could get someone hurt.
const LocalFirst = "Local codes and licensed practice come first."

// QuestionLines returns the questions and the determinations not used.
func (v *Verdict) QuestionLines() []string {
	out := []string{}
	for _, q := range v.Questions {
		out = append(out, q.Text())
	}
	if v.Told != "" {
		out = append(out, v.Told)
	}
	return append(out, v.Rejected...)
}

// PastEditions returns a line for each instrument whose known text ended before
// the day of the verdict.
func (v *Verdict) PastEditions() []string {
	out := []string{}
	for _, in := range v.past {
		out = append(out, "The rules of "+in.ID+" are known until "+in.KnownUntil+" only: check the present edition.")
	}
	return out
}

// Notices returns what a reader must know of dates and papers.
func (v *Verdict) Notices(rb *Rulebook) []string {
	out := v.PastEditions()
	if v.RecallsRead != 0 {
		text := fmt.Sprintf("Recall list read on %s, %d days ago", v.RecallsRead, v.On-v.RecallsRead)
		if v.On-v.RecallsRead > RecallDays {
			text += ": too old for its silence to count"
		}
		out = append(out, text+".")
	}
	return out
}

func (v *Verdict) routeDoc(r Route) RouteDoc {
	a := &v.Routes[r]
	d := RouteDoc{Class: a.Class.String(), Duties: []DutyDoc{}, Open: []string{}, Maybe: []MaybeDoc{}}
	d.Why, d.Source = v.RouteWhy(r)
	if a.Way != nil {
		d.Way = a.Way.ID
		d.Duties = v.Owed(a.Way.Duties, r.String())
	}
	if a.Class <= RouteApproval {
		d.UN = v.UN()
	}
	for _, w := range a.Open {
		d.Open = append(d.Open, w.ID)
	}
	for _, m := range a.Maybe {
		md := MaybeDoc{Way: m.Way.ID, Class: m.Way.class.String()}
		m.Missing.Each(func(id FactID) { md.Needs = append(md.Needs, FactTable[id].Name) })
		d.Maybe = append(d.Maybe, md)
	}
	return d
}

// RouteWhy says in words what decided a route, and the source.
func (v *Verdict) RouteWhy(r Route) (why, source string) { return v.Routes[r].why(&v.Facts) }

// why says in words what decided the route, and the source.
func (a *RouteAnswer) why(f *Facts) (why, source string) {
	switch {
	case a.Way != nil && a.Class == RouteApproval:
		return "not lawful until approved: " + a.Way.Approval.Name + ", by " + a.Way.Approval.By, a.Way.Source
	case a.Way != nil:
		return a.Way.Title, a.Way.Source
	case a.Bar != nil && a.Class == RouteForbidden:
		return a.Bar.Title, a.Bar.Source
	case a.Declined:
		return "the rule table does not cover this chemistry", ""
	case a.NoTable:
		return "no rule table yet", ""
	case a.Class == RouteUndecided:
		m := a.Maybe[0]
		needs := ""
		m.Missing.Each(func(id FactID) {
			if needs != "" {
				needs += ", "
			}
			needs += FactTable[id].Label
		})
		if m.Asks {
			needs += "; even then only on approval: " + m.Way.Approval.Name
		}
		return "not known: " + needs, m.Way.Source
	case a.Closed != nil && a.failed != nil:
		c := a.failed
		return fmt.Sprintf("%s %s, and %s asks: %s", FactTable[c.Fact].Label, f[c.Fact].Text(c.Fact), lowerTitle(a.Closed.Title), c.Limit()), a.Closed.Source
	case a.Closed != nil:
		return "closed: " + a.Closed.Title, a.Closed.Source
	}
	return "no way is for this condition", ""
}

// lowerTitle puts a title inside a sentence; names keep their capitals.
func lowerTitle(s string) string {
	if len(s) > 1 && s[1] >= 'a' && s[1] <= 'z' {
		return string(s[0]|0x20) + s[1:]
	}
	return s
}

// UN returns the UN number by chemistry and fit, or "" while one is unknown.
func (v *Verdict) UN() string {
	family, fit := v.Facts[FFamily], v.Facts[FFit]
	if family.State != Known || fit.State != Known {
		return ""
	}
	alone := Fields[Fit].Words[fit.Lo] == "loose"
	switch {
	case family.Lo == lithiumIon && alone:
		return "UN3480"
	case family.Lo == lithiumIon:
		return "UN3481"
	case family.Lo == lithiumMetal && alone:
		return "UN3090"
	case family.Lo == lithiumMetal:
		return "UN3091"
	}
	return ""
}

// Margin compares the rating with the limits of the size class: how far it is
// from the nearest small limit, and the capacity that would stay small.
type Margin struct {
	Limit   Micro // Wh, the small limit for this unit
	Over    Micro // Wh over it; negative is under
	MostMah Micro // whole mAh that stay small at the nominal voltage, 0 when that is unknown
}

// SmallMargin returns the margin to the small limit, ok only when rating and
// unit are known and the chemistry is lithium ion.
func (v *Verdict) SmallMargin() (m Margin, ok bool) {
	f := &v.Facts
	if f[FEnergy].State != Known || f[FUnit].State != Known || f[FFamily].State != Known || f[FFamily].Lo != lithiumIon {
		return m, false
	}
	m.Limit = 20 * One
	if f[FUnit].Lo == unitBattery {
		m.Limit = 100 * One
	}
	m.Over = f[FEnergy].Hi - m.Limit
	if n := v.Reading[NominalV]; n.State == Known {
		m.MostMah = ratio(m.Limit, 1000*One, n.Num, down) / One * One
	}
	return m, true
}
