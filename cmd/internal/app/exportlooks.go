package app

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"pouchward/exports/table"
	"pouchward/logbook"
	"pouchward/triage"
)

// A lookRow is an entry that says what a cell is: a look, a raise, a
// determination, or one that puts such an entry right, takes it back, or ties two
// cells.
type lookRow struct {
	entry   *logbook.Entry
	tag     string
	body    lookSaid
	reading triage.Reading // as typed then, without what was put right later
	unknown []string       // readings given as not known, with why
}

func (x *lookRow) entryOf() *logbook.Entry { return x.entry }

// lookSaid is every member that the entries of these kinds have.
type lookSaid struct {
	Found     string              `json:"found"`
	Handling  string              `json:"handling"`
	Condition string              `json:"condition"`
	Size      string              `json:"size"`
	Waste     string              `json:"waste"`
	EnergyWh  json.Number         `json:"energy_wh"`
	Readings  map[string]any      `json:"readings"`
	Findings  []string            `json:"findings"`
	AsWritten []string            `json:"as_written"`
	Open      []string            `json:"open_findings"`
	Routes    map[string][]string `json:"routes"`
	Was       []string            `json:"was"`

	Lowers   []loweredRule `json:"lowers"`
	Mistaken []int64       `json:"mistaken"`
	Criteria string        `json:"criteria"`
	Reason   string        `json:"reason"`
	Second   string        `json:"second"`
	Until    string        `json:"until"`
	Expert   bool          `json:"expert"`

	Entry int64  `json:"entry"`
	Field string `json:"field"`
	Old   string `json:"old"`
	New   string `json:"new"`
	Note  string `json:"note"`
	Cell  string `json:"cell"`
	Other string `json:"other"`
}

// looksTable has a row for each entry of a look; one that was taken back is
// marked, and stays.
func (e *exporter) looksTable() *table.Table {
	fields := slices.Concat(entryFields[lookRow](), e.lookAnswers(), e.lookReadings(), e.lookReasons(), whoFields[lookRow](e))
	return table.New("assessments", "Assessments", "Every look, raise and determination, and every correction and retraction of one. Readings are as typed then; one put right or taken back later says so.",
		fields, func(put func(*lookRow) error) error {
			return e.each(func(entry *logbook.Entry) error {
				x, err := e.readLook(entry)
				if err != nil {
					return err
				}
				return put(x)
			}, "assessment", "recheck", "raise", "determination", "correction", "retraction", "split", "merge")
		})
}

func (e *exporter) readLook(entry *logbook.Entry) (*lookRow, error) {
	x := &lookRow{entry: entry}
	if len(entry.Tags) > 0 {
		x.tag = entry.Tags[0]
	}
	if err := e.decode(entry, &x.body); err != nil {
		return nil, err
	}
	given, err := givenOf(x.body.Readings)
	if err != nil && e.damage == "" {
		return nil, fmt.Errorf("entry %d: %w", entry.Number, err)
	}
	x.reading, _ = readGiven(given) // refused then as now
	for _, g := range given {
		if f := &triage.Fields[g.Field]; x.reading[g.Field].State != triage.Known && f.Type != triage.TextField && f.Type != triage.SignListField {
			x.unknown = append(x.unknown, f.Name+" "+g.Text)
		}
	}
	return x, nil
}

func (e *exporter) lookAnswers() []table.Field[lookRow] {
	field := func(name, words, text string, width int, of func(*lookRow) string) table.Field[lookRow] {
		return table.Field[lookRow]{Column: table.Column{Name: name, Words: words, Text: text, Width: width}, Of: func(x *lookRow) table.Value { return table.OfText(of(x)) }}
	}
	kind := field("kind", "kind", "assessment, recheck, raise, determination, correction, retraction, split or merge", 13, func(x *lookRow) string { return x.entry.Kind })
	kind.Marks = map[string]table.Mark{"correction": table.Notice, "retraction": table.Notice, "determination": table.Notice}
	return []table.Field[lookRow]{
		field("tag", "tag", "the cell", 9, func(x *lookRow) string { return x.tag }),
		kind,
		field("found", "found", "of a recheck: the same or worse", 7, func(x *lookRow) string { return x.body.Found }),
		{Column: handlingColumn(), Of: func(x *lookRow) table.Value { return ofHandling(x.body.Handling) }},
		{Column: conditionColumn(), Of: func(x *lookRow) table.Value { return table.OfText(x.body.Condition) }},
		field("was", "was before", "handling and condition that held before, of entries that say so", 22, func(x *lookRow) string { return x.was() }),
		field("size", "size", "by the watt-hour rating", 9, func(x *lookRow) string { return x.body.Size }),
		field("waste", "casing", "what the waste law goes by", 14, func(x *lookRow) string { return x.body.Waste }),
		{Column: table.Column{Name: "energy_wh", Words: "energy", Unit: "Wh", Type: table.Decimal, Decimals: 2, Text: "watt-hour rating as judged then; blank: not known"}, Of: func(x *lookRow) table.Value {
			m, err := triage.ParseQuantity(x.body.EnergyWh.String(), "", false)
			if err != nil {
				return table.Value{}
			}
			return table.OfDecimal(m)
		}},
	}
}

// lookFields are the readings that have a column, with the figures shown.
var lookFields = []struct {
	name, words string
	field       triage.FieldID
	decimals    int
}{
	{"ocv_v", "voltage", triage.OcvV, 3}, {"rest_h", "rest", triage.RestH, 1}, {"cell_c", "surface", triage.CellC, 1}, {"ambient_c", "room", triage.AmbientC, 1},
	{"thickness_mm", "thickness", triage.ThicknessMm, 2}, {"nominal_thickness_mm", "nominal thickness", triage.NominalThicknessMm, 2},
	{"resistance_mohm", "resistance", triage.ResistanceMohm, 1}, {"measured_mah", "measured capacity", triage.MeasuredMah, 0},
	{"mass_g", "mass", triage.MassG, 1}, {"quiet_h", "quiet for", triage.QuietH, 1}, {"recalled", "recalled", triage.Recalled, 0},
}

func (e *exporter) lookReadings() []table.Field[lookRow] {
	fields := []table.Field[lookRow]{{Column: table.Column{Name: "signs", Words: "signs", Text: "signs seen; none: every sign was looked for and none seen; blank: some were not said", Width: 22},
		Of: func(x *lookRow) table.Value { return signsOf(&x.reading) }}}
	for _, l := range lookFields {
		col := table.Column{Name: l.name, Words: l.words, Decimals: l.decimals, Text: triage.Fields[l.field].Label + "; blank: not measured"}
		setType(&col, l.field)
		fields = append(fields, table.Field[lookRow]{Column: col, Of: func(x *lookRow) table.Value { return ofReading(&x.reading, l.field) }})
	}
	return append(fields, table.Field[lookRow]{Column: table.Column{Name: "not_known", Words: "given as not known", Width: 24,
		Text: "readings that were answered without a value, with the answer: ? and ni not yet, us unsafe, nr not reachable, ur unreadable, na does not apply"},
		Of: func(x *lookRow) table.Value { return list(x.unknown) }})
}

func (e *exporter) lookReasons() []table.Field[lookRow] {
	field := func(name, words, text string, width int, of func(*lookRow) table.Value) table.Field[lookRow] {
		return table.Field[lookRow]{Column: table.Column{Name: name, Words: words, Text: text, Width: width}, Of: of}
	}
	fields := []table.Field[lookRow]{
		field("rules", "rules that fired", "ids of the rules that fired; the table of rules has their sources", 44, func(x *lookRow) table.Value {
			return list(unique(slices.Concat(x.body.Findings, x.body.AsWritten)))
		}),
		field("rules_open", "rules that could fire", "ids of the rules that a reading not taken could still fire", 60, func(x *lookRow) table.Value { return list(unique(x.body.Open)) }),
	}
	for _, route := range triage.RouteNames() {
		fields = append(fields, field(strings.ReplaceAll(route, "-", "_"), route, "class on the route "+route+", and the way by id", 22, func(x *lookRow) table.Value {
			return table.OfText(strings.Join(x.body.Routes[route], " by "))
		}))
	}
	corrected := field("corrected_by", "corrected by entry", "the last entry that put a reading of it right", 10, func(x *lookRow) table.Value { return table.OfSome(e.survey.fixed[x.entry.Number]) })
	corrected.Type = table.Whole
	of := field("of_entry", "of entry", "of a correction or a retraction: the entry that it is of", 8, func(x *lookRow) table.Value { return table.OfSome(x.body.Entry) })
	of.Type = table.Whole
	until := field("until", "until", "last day on which a determination holds", 0, func(x *lookRow) table.Value { return ofDay(x.body.Until) })
	until.Type = table.Date
	return append(fields,
		field("criteria", "criteria", "of a determination: the criteria ticked", 9, func(x *lookRow) table.Value { return table.OfText(x.body.Criteria) }),
		field("lowers", "rules set aside", "rules and entries that a determination sets aside", 24, func(x *lookRow) table.Value { return list(x.setAside()) }),
		field("second", "second person", "who judged it with the first; expert: the maker or a technical expert", 10, func(x *lookRow) table.Value { return table.OfText(x.second(e)) }),
		until, of,
		field("change", "change", "of a correction: reading, old and new value; of a split or merge: the tags", 30, func(x *lookRow) table.Value { return table.OfText(x.change(e)) }),
		field("reason", "reason", "why, in the words of who did it", 40, func(x *lookRow) table.Value { return table.OfText(x.body.Reason) }),
		field("note", "note", "free words", 40, func(x *lookRow) table.Value { return table.OfText(x.note()) }),
		corrected)
}

// unique leaves out what stands twice: a rule fires for each answer that it gives.
func unique(list []string) (out []string) {
	for _, s := range list {
		if !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	return out
}

// was is the handling and the condition before the entry.
func (x *lookRow) was() string {
	if len(x.body.Was) != 2 {
		return ""
	}
	return handlingText(x.body.Was[0]) + ", " + x.body.Was[1]
}

func (x *lookRow) setAside() (list []string) {
	for _, l := range x.body.Lowers {
		list = append(list, l.Rule)
	}
	for _, n := range x.body.Mistaken {
		list = append(list, fmt.Sprintf("entry %d", n))
	}
	return list
}

func (x *lookRow) second(e *exporter) string {
	text := e.people.code(x.body.Second)
	if x.body.Expert {
		text = strings.TrimSpace(text + " (expert)")
	}
	return text
}

func (x *lookRow) change(e *exporter) string {
	b := &x.body
	switch x.entry.Kind {
	case "correction":
		from, to := b.Old, b.New
		if b.Field == "who" {
			from, to = e.people.code(from), e.people.code(to)
		}
		return fmt.Sprintf("%s: %s -> %s", b.Field, orBlank(from), orBlank(to))
	case "split":
		return b.Other + " split off from " + b.Cell
	case "merge":
		return b.Other + " is " + b.Cell
	}
	return ""
}

func orBlank(s string) string {
	if s == "" {
		return "(blank)"
	}
	return s
}

// note is the note of the entry, or of the reading.
func (x *lookRow) note() string {
	text, _ := typedText(x.body.Readings["note"])
	if x.body.Note == "" || x.body.Note == text {
		return text
	}
	return strings.TrimSuffix(x.body.Note+"; "+text, "; ")
}
