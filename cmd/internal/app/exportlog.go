package app

import (
	"encoding/base64"
	"encoding/hex"
	"fmt"
	"strings"

	"golang.org/x/mod/sumdb/tlog"

	"pouchward/exports/table"
	"pouchward/logbook"
	"pouchward/triage"
)

// An entryLine is one entry of the table of all entries. entry is nil where its
// bytes cannot be read.
type entryLine struct {
	number       int64
	leaf         tlog.Hash
	entry        *logbook.Entry
	topic, about string
	wrong        string
}

// entriesTable has a row for every entry, whatever the period: the tree of a
// checkpoint stands on all of them.
func (e *exporter) entriesTable() *table.Table {
	return table.New("entries", "Entries", "Every entry of the log with its leaf hash, whatever the period asked for: the root of the checkpoint is the tree over these (RFC 6962, section 2.1). The bytes themselves are in the log.",
		e.entryLineFields(), func(put func(*entryLine) error) error {
			if e.feed != nil {
				return e.feed.each(e.ctx, func(entry *logbook.Entry) (err error) {
					x := &entryLine{number: entry.Number, leaf: entry.Leaf(), entry: entry}
					if x.topic, x.about, err = entry.Topic(); err != nil {
						return err
					}
					return put(x)
				})
			}
			return e.log.Scan(1, e.report.Tree.Size, func(r logbook.RawEntry) error {
				x := &entryLine{number: r.Number, leaf: tlog.RecordHash(r.Bytes)}
				var err error
				if x.entry, err = r.Parse(); err == nil {
					x.topic, x.about, err = x.entry.Topic()
				}
				if err != nil && e.damage == "" {
					return err
				}
				if err != nil {
					x.wrong = err.Error()
				}
				if r.Number%256 == 0 && e.ctx.Err() != nil {
					return e.ctx.Err()
				}
				return put(x)
			})
		})
}

func (e *exporter) entryLineFields() []table.Field[entryLine] {
	of := func(col table.Column, of func(*logbook.Entry) table.Value) table.Field[entryLine] {
		return table.Field[entryLine]{Column: col, Of: func(x *entryLine) table.Value {
			if x.entry == nil {
				return table.Value{}
			}
			return of(x.entry)
		}}
	}
	text := func(name, words, text string, width int, fn func(*logbook.Entry) string) table.Field[entryLine] {
		return of(table.Column{Name: name, Words: words, Text: text, Width: width}, func(x *logbook.Entry) table.Value { return table.OfText(fn(x)) })
	}
	wrong := table.Column{Name: "damage", Words: "damage", Text: "why its bytes cannot be read; blank: they can", Width: 12}
	fields := []table.Field[entryLine]{
		{Column: table.Column{Name: "entry", Words: "entry", Type: table.Whole, Text: "number of the entry", Width: 8}, Of: func(x *entryLine) table.Value { return table.OfWhole(x.number) }},
		text("kind", "kind", "kind of the entry", 14, func(x *logbook.Entry) string { return x.Kind }),
		{Column: table.Column{Name: "subject", Words: "subject", Text: "what a record is about; inspection, incident, shipment for those", Width: 17}, Of: func(x *entryLine) table.Value { return table.OfText(x.topic) }},
		{Column: table.Column{Name: "about", Words: "about", Text: "which place, person, question, incident or shipment", Width: 26}, Of: func(x *entryLine) table.Value { return table.OfText(e.aboutText(x)) }},
		text("tags", "tags", "tags that it is about", 24, func(x *logbook.Entry) string { return strings.Join(x.Tags, " ") }),
		of(table.Column{Name: "happened", Words: "happened", Type: table.Time, Text: "when it happened, as said"}, func(x *logbook.Entry) table.Value { return table.OfTime(x.Local(x.Happened)) }),
		of(table.Column{Name: "entered", Words: "entered", Type: table.Time, Text: "when it was written, by the clock of the machine"}, func(x *logbook.Entry) table.Value { return table.OfTime(x.Local(x.Entered)) }),
		text("zone", "zone", "the shop's offset from UTC when it was written, and its zone", 22, func(x *logbook.Entry) string { return "UTC" + x.Zone }),
		text("clock", "clock", "how far the machine's clock stood back; blank: it did not", 12, func(x *logbook.Entry) string { return x.Clock }),
		text("site", "site", "the shop's site", 20, func(x *logbook.Entry) string { return x.Site }),
		text("bench", "bench", "the bench, as said", 10, func(x *logbook.Entry) string { return x.Bench }),
		text("who", "who", "who, as given: a name is not proven", 7, func(x *logbook.Entry) string { return e.people.code(x.Who) }),
		text("rulebook", "rulebook", "digest of the rulebook that it was judged by", 14, func(x *logbook.Entry) string { return x.Rulebook }),
		{Column: table.Column{Name: "retracted_by", Words: "retracted by entry", Type: table.Whole, Void: true, Width: 10, Text: "the entry that took it back"},
			Of: func(x *entryLine) table.Value { return table.OfSome(e.survey.void[x.number]) }},
		{Column: table.Column{Name: "corrected_by", Words: "corrected by entry", Type: table.Whole, Width: 10, Text: "the last entry that put a reading of it right"},
			Of: func(x *entryLine) table.Value { return table.OfSome(e.survey.fixed[x.number]) }},
		{Column: table.Column{Name: "leaf", Words: "leaf hash", Text: "SHA-256 of a zero byte and the entry's bytes, hex", Width: 66}, Of: func(x *entryLine) table.Value { return table.OfText(hex.EncodeToString(x.leaf[:])) }},
	}
	if e.damage != "" {
		fields = append(fields, table.Field[entryLine]{Column: wrong, Of: func(x *entryLine) table.Value { return table.OfText(x.wrong) }})
	}
	return fields
}

// aboutText is what an entry is about; that of a training begins with a name.
func (e *exporter) aboutText(x *entryLine) string {
	if who, topic, ok := strings.Cut(x.about, ": "); ok && x.topic == "training" {
		return e.people.code(who) + ": " + topic
	}
	return x.about
}

// A fact is one line of a table of facts.
type fact struct {
	part, name string
	number     table.Value
	unit, text string
}

func factFields() []table.Field[fact] {
	return []table.Field[fact]{
		{Column: table.Column{Name: "part", Words: "part", Text: "which part of the table", Width: 16}, Of: func(x *fact) table.Value { return table.OfText(x.part) }},
		{Column: table.Column{Name: "name", Words: "what", Text: "what is told", Width: 34}, Of: func(x *fact) table.Value { return table.OfText(x.name) }},
		{Column: table.Column{Name: "number", Words: "number", Type: table.Decimal, Decimals: -1, Text: "the figure, where it is one", Width: 12}, Of: func(x *fact) table.Value { return x.number }},
		{Column: table.Column{Name: "unit", Words: "unit", Text: "its unit", Width: 10}, Of: func(x *fact) table.Value { return table.OfText(x.unit) }},
		{Column: table.Column{Name: "text", Words: "words", Text: "what is told, in words", Width: 78}, Of: func(x *fact) table.Value { return table.OfText(x.text) }},
	}
}

// A factTable gathers facts.
type factTable struct {
	list []fact
	part string
}

func (f *factTable) say(name, format string, args ...any) {
	f.list = append(f.list, fact{part: f.part, name: name, text: fmt.Sprintf(format, args...)})
}

func (f *factTable) count(name string, n int64, unit, format string, args ...any) {
	f.figure(name, triage.Micro(n)*triage.One, unit, format, args...)
}

func (f *factTable) figure(name string, m triage.Micro, unit, format string, args ...any) {
	f.list = append(f.list, fact{part: f.part, name: name, number: table.OfDecimal(m), unit: unit, text: fmt.Sprintf(format, args...)})
}

func (f *factTable) rows(put func(*fact) error) error {
	for i := range f.list {
		if err := put(&f.list[i]); err != nil {
			return err
		}
	}
	return nil
}

// checkpointTable says of which log this is, and how to check it without this
// program. It is not signed: pouchward log checkpoint signs.
func (e *exporter) checkpointTable() *table.Table {
	return table.New("checkpoint", "Checkpoint", "Size and root of the log that this was made from, and how to check them.", factFields(), func(put func(*fact) error) error {
		f := e.checkpoint()
		return f.rows(put)
	})
}

func (e *exporter) checkpoint() *factTable {
	tree := e.report.Tree
	f := &factTable{part: "the tree"}
	f.count("entries", tree.Size, "entries", "")
	if e.damage != "" {
		f.say("damage", "%s", e.damage)
	}
	if text := e.besideText(); text != "" {
		f.say("files beside the log", "%s", text)
	}
	f.say("root, hex", "%s", hex.EncodeToString(tree.Root[:]))
	f.say("root, base64", "%s", base64.StdEncoding.EncodeToString(tree.Root[:]))
	f.say("paper line", "%s", tree.Paper())
	for _, key := range e.report.Keys {
		f.say("key named in the log", "%s", key)
	}
	f.part = "what it shows"
	f.say("it shows", "With a checkpoint or a paper line kept elsewhere: that the entries up to its size are, byte for byte and in that order, those that stood there when it was made.")
	f.say("it does not show", "That what was typed is true, that everything was typed, or who sat at the keyboard. Without a checkpoint kept elsewhere a log written anew as a whole holds in itself.")
	f.part = "how to check"
	f.say("1  a paper line", "Compare the paper line of this table with the one kept elsewhere, where both are of one size; for an older one take the entries up to its size in step 3.")
	f.say("2  one entry", "SHA-256 over a zero byte and the bytes of the entry is the leaf hash in the table of entries. With common tools, for entry 7:")
	f.say("", "(printf '\\0'; sqlite3 pouchward.db 'SELECT CAST(bytes AS TEXT) FROM entries WHERE n=7' | tr -d '\\n') | sha256sum")
	f.say("", "and the same of what the log keeps beside it:")
	f.say("", "sqlite3 pouchward.db 'SELECT lower(hex(substr(hashes,1,32))) FROM entries WHERE n=7'")
	f.say("3  the root", "Of n leaves, let k be the largest power of two below n: the root is SHA-256 over a byte of value one, the root of the first k leaves, and the root of the rest; of one leaf it is the leaf (RFC 6962, section 2.1).")
	f.say("4  a signed checkpoint", "pouchward log checkpoint signs size and root; any verifier of signed notes with Ed25519 reads it with the key above. Compare the key with a copy kept elsewhere.")
	f.say("5  with this program", "pouchward log verify --checkpoint FILE, or --paper \"%s\"", tree.Paper())
	return f
}
