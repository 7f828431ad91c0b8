package app

import (
	"slices"
	"strings"

	"pouchward/exports"
	"pouchward/exports/table"
	"pouchward/logbook"
)

// A recordRow is an entry with its body read as B.
type recordRow[B any] struct {
	entry *logbook.Entry
	body  B
}

func (x *recordRow[B]) entryOf() *logbook.Entry { return x.entry }

// recordRows reads the entries of a kind, those of a subject where one is given.
func recordRows[B any](e *exporter, kind, subject string) func(put func(*recordRow[B]) error) error {
	return func(put func(*recordRow[B]) error) error {
		return e.each(func(entry *logbook.Entry) error {
			if subject != "" {
				topic, _, err := entry.Topic()
				if topic != subject || err != nil {
					return err
				}
			}
			x := &recordRow[B]{entry: entry}
			if err := e.decode(entry, &x.body); err != nil {
				return err
			}
			return put(x)
		}, kind)
	}
}

// recordText and recordDay are columns of a record.
func recordText[B any](name, words, text string, width int, of func(*B) string) table.Field[recordRow[B]] {
	return table.Field[recordRow[B]]{Column: table.Column{Name: name, Words: words, Text: text, Width: width},
		Of: func(x *recordRow[B]) table.Value { return ofSaid(of(&x.body)) }}
}

func recordDay[B any](name, words, text string, of func(*B) string) table.Field[recordRow[B]] {
	return table.Field[recordRow[B]]{Column: table.Column{Name: name, Words: words, Type: table.Date, Text: text},
		Of: func(x *recordRow[B]) table.Value { return ofDay(of(&x.body)) }}
}

func (e *exporter) trainingTable() *table.Table {
	passed := recordText("passed", "passed", "yes or no; blank: not said", 8, func(b *trainingBody) string { return b.Passed })
	passed.Marks = map[string]table.Mark{"no": table.Warning}
	fields := slices.Concat(entryFields[recordRow[trainingBody]](), []table.Field[recordRow[trainingBody]]{
		recordText("name", "trained", "who was trained", 9, func(b *trainingBody) string { return e.people.code(b.Name) }),
		recordText("topic", "topic", "what about", 32, func(b *trainingBody) string { return b.Topic }),
		recordDay("given", "given", "the day", func(b *trainingBody) string { return b.Given }),
		recordDay("until", "until", "the day of the next, as said", func(b *trainingBody) string { return b.Until }),
		passed,
		recordText("by", "given by", "who gave it", 9, func(b *trainingBody) string { return e.people.code(b.By) }),
		recordText("materials", "materials", "what was used, with its edition", 40, func(b *trainingBody) string { return b.Materials }),
	}, whoFields[recordRow[trainingBody]](e))
	return table.New("training", "Training", "Every training on record; the last one about a person and a topic counts.", fields, recordRows[trainingBody](e, "record", "training"))
}

// incidentSaid is what an entry about an incident says, a follow-up's too.
type incidentSaid struct {
	About    string            `json:"about"`
	FollowUp bool              `json:"follow_up"`
	Said     map[string]string `json:"said"`
	There    string            `json:"there"`
	Persons  []Person          `json:"persons"`
	Open     *bool             `json:"open"`
	WhyOpen  string            `json:"why_open"`
	Note     string            `json:"note"`
}

func (e *exporter) incidentsTable() *table.Table {
	type row = recordRow[incidentSaid]
	about := recordText("incident", "incident", "the incident, by its first entry", 9, func(b *incidentSaid) string { return b.About })
	state := recordText("state", "state after it", "open until everybody was asked again on a later day and somebody closed it", 10, func(b *incidentSaid) string {
		if b.Open != nil && !*b.Open && b.FollowUp {
			return "closed"
		}
		return "open"
	})
	state.Marks = map[string]table.Mark{"open": table.Warning}
	fields := slices.Concat(entryFields[row](), []table.Field[row]{about,
		recordText("step", "step", "incident, or a follow-up of one", 10, func(b *incidentSaid) string {
			if b.FollowUp {
				return "follow-up"
			}
			return "incident"
		}), state,
		recordText("why_open", "why open", "why a follow-up left it open", 26, func(b *incidentSaid) string { return b.WhyOpen }),
		{Column: table.Column{Name: "tags", Words: "cells", Text: "tags that it is about", Width: 12}, Of: func(x *row) table.Value { return list(x.entry.Tags) }},
		recordText("persons", "people and how they are", "who was there, each with what they feel: none, ?, or what", 36, func(b *incidentSaid) string {
			var words []string
			for _, p := range b.Persons {
				words = append(words, e.people.code(p.Who)+": "+p.Exposure)
			}
			return strings.Join(words, "; ")
		}),
	})
	for i := range IncidentQuestions {
		q := &IncidentQuestions[i]
		if q.Name == "tags" {
			continue
		}
		fields = append(fields, recordText(q.Name, strings.ReplaceAll(q.Name, "_", " "), q.Ask, incidentWidth(q), func(b *incidentSaid) string {
			if q.Name == "there" {
				return e.people.there(joinWords(b.Said["there"], b.There))
			}
			return b.Said[q.Name]
		}))
	}
	fields = append(fields, recordText("note", "note", "free words", 30, func(b *incidentSaid) string { return b.Note }))
	return table.New("incidents", "Incidents", "Every incident, near misses too, and every follow-up of one.", slices.Concat(fields, whoFields[row](e)), recordRows[incidentSaid](e, "incident", ""))
}

func incidentWidth(q *IncidentQuestion) int {
	switch {
	case q.yesNo:
		return 8
	case q.time:
		return 22
	}
	return 28
}

func (e *exporter) roundsTable() *table.Table {
	type row = recordRow[inspectionBody]
	fields := append(entryFields[row](), recordText("place", "place", "the place, or tag of the container, that was looked at", 18, func(b *inspectionBody) string { return b.About }))
	for _, c := range Checks {
		f := recordText(c.Name, c.Name, c.Question+": yes or no; blank: not looked", 9, func(b *inspectionBody) string { return b.Checks[c.Name] })
		f.Marks = map[string]table.Mark{"no": table.Warning}
		fields = append(fields, f)
	}
	fields = append(fields,
		whole("expected", "cells by the log", "cells that the log had there", func(x *row) table.Value { return table.OfWhole(x.body.Expected) }),
		whole("found", "cells counted", "cells counted; blank: not counted", func(x *row) (v table.Value) {
			if x.body.Found != nil {
				v = table.OfWhole(*x.body.Found)
			}
			return v
		}),
		recordText("wrong", "what was wrong", "what the round found wrong", 34, func(b *inspectionBody) string { return strings.Join(b.wrong(), "; ") }),
		recordText("missing", "missing", "tags that the log has there and nobody read", 16, func(b *inspectionBody) string { return strings.Join(b.Missing, " ") }),
		recordText("extra", "extra", "tags read there that the log has elsewhere", 16, func(b *inspectionBody) string { return strings.Join(b.Extra, " ") }),
		recordText("action", "action", "what was done about it", 34, func(b *inspectionBody) string { return b.Action }),
		recordText("note", "note", "free words", 30, func(b *inspectionBody) string { return b.Note }))
	return table.New("rounds", "Rounds", "Every round of a place or container, what was looked at and what was counted.", slices.Concat(fields, whoFields[row](e)), recordRows[inspectionBody](e, "inspection", ""))
}

func (e *exporter) localsTable() *table.Table {
	text := func(name, words, text string, width int, of func(*exports.LocalRow) string) table.Field[exports.LocalRow] {
		return table.Field[exports.LocalRow]{Column: table.Column{Name: name, Words: words, Text: text, Width: width}, Of: func(x *exports.LocalRow) table.Value { return table.OfText(of(x)) }}
	}
	day := func(name, words, text string, of func(*exports.LocalRow) string) table.Field[exports.LocalRow] {
		return table.Field[exports.LocalRow]{Column: table.Column{Name: name, Words: words, Type: table.Date, Text: text}, Of: func(x *exports.LocalRow) table.Value { return ofDay(of(x)) }}
	}
	state := text("state", "state", "open, answered or lapsed on the day judged for", 10, func(x *exports.LocalRow) string { return x.State })
	state.Marks = map[string]table.Mark{exports.LocalOpen: table.Notice, exports.LocalLapsed: table.Warning}
	fields := []table.Field[exports.LocalRow]{
		text("id", "question id", "id of the question in the rulebook", 24, func(x *exports.LocalRow) string { return x.ID }), state,
		text("question", "question", "what only the place can answer", 44, func(x *exports.LocalRow) string { return x.Question }),
		text("ask", "whom to ask", "who answers it", 22, func(x *exports.LocalRow) string { return x.Ask }),
		text("answer", "answer", "in the words of who recorded it", 44, func(x *exports.LocalRow) string { return x.Answer }),
		text("authority", "authority", "who said so", 26, func(x *exports.LocalRow) string { return x.Authority }),
		text("asked", "person asked", "person or office", 18, func(x *exports.LocalRow) string { return e.people.code(x.Asked) }),
		day("asked_on", "asked on", "the day", func(x *exports.LocalRow) string { return x.AskedOn }),
		text("source", "how", "how it was said, and where the paper is", 30, func(x *exports.LocalRow) string { return x.Source }),
		day("lapses", "lapses", "day from which it no longer holds", func(x *exports.LocalRow) string { return x.Lapses }),
		day("since", "since", "since when it stands so", func(x *exports.LocalRow) string { return x.Since }),
		text("reason", "asked anew because", "why it was asked anew", 30, func(x *exports.LocalRow) string { return x.Reason }),
		text("who", "who", "who recorded it", 7, func(x *exports.LocalRow) string { return e.people.code(x.By) }),
		whole("entry", "entry", "number of the entry; blank: none", func(x *exports.LocalRow) table.Value { return table.OfSome(x.Entry) }),
	}
	return table.New("local_rules", "Local rules", "Every question that only the place can answer, as it stands on the day judged for.", fields, func(put func(*exports.LocalRow) error) error {
		rows, err := Locals(e.log, e.shop.Rulebook, e.day)
		if err != nil && e.damage == "" {
			return err
		}
		for i := range rows {
			if err := put(&rows[i]); err != nil {
				return err
			}
		}
		return nil
	})
}
