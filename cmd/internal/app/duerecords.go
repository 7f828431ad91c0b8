package app

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"pouchward/exports"
	"pouchward/logbook"
	"pouchward/triage"
)

// What is owed by records: rounds, training, tests, answers. Each row rests on
// the last entry about its subject.

// dayOf is the local date on which an entry happened.
func dayOf(e *logbook.Entry) triage.Date { return triage.DateOf(e.Local(e.Happened)) }

// dayIn reads a date of a body, or the day of the entry where it has none.
func dayIn(e *logbook.Entry, text string) triage.Date {
	if day, err := triage.ParseDate(text); err == nil {
		return day
	}
	return dayOf(e)
}

// rounds lists the places that hold something and wait for a round, and what the
// last round found wrong.
func (d *dues) rounds() error {
	places, err := d.log.PlaceCounts()
	if err != nil {
		return err
	}
	done, err := d.log.Latest("inspection")
	if err != nil {
		return err
	}
	seen := map[string]triage.Date{}
	for _, e := range done {
		var b inspectionBody
		if err := e.Body.Decode(&b); err != nil {
			return fmt.Errorf("entry %d: %w", e.Number, err)
		}
		seen[b.About] = dayOf(e)
		if wrong := b.wrong(); len(wrong) > 0 {
			d.putDay(dayOf(e), nil, exports.DueRow{What: "inspection", Subject: b.About, Text: "the round of " + b.About + " found: " + strings.Join(wrong, ", "),
				Do: fmt.Sprintf("see to it, then pouchward inspect %q", b.About)})
		}
	}
	for _, p := range places {
		for _, by := range d.shop.Rulebook.Intervals("inspection") {
			x := exports.DueRow{What: "inspection", Subject: p.Place, Text: fmt.Sprintf("round of %s, %s", placeText(p.Place), exports.Count(p.Cells, "cell")),
				Do: fmt.Sprintf("pouchward inspect %q --ask", p.Place)}
			last, ok := seen[p.Place]
			switch {
			case p.Place == "":
				x.Text, x.Do = exports.Count(p.Cells, "cell")+", the place not said", "pouchward stock --by cell names them; then pouchward move TAG --to PLACE"
				d.putDay(d.day, by, x)
			case ok:
				x.Text += ", last " + last.String()
				d.putDay(by.Next(last), by, x)
			default:
				x.Text += ", never inspected"
				d.putDay(d.day, by, x)
			}
		}
	}
	return nil
}

// wrong lists what a round found wrong.
func (b *inspectionBody) wrong() (list []string) {
	for _, c := range Checks {
		if b.Checks[c.Name] == "no" {
			list = append(list, "not "+c.Name)
		}
	}
	if b.Found != nil && *b.Found != b.Expected {
		list = append(list, fmt.Sprintf("%s for %d by the log", exports.Count(*b.Found, "cell"), b.Expected))
	}
	if len(b.Missing)+len(b.Extra) > 0 {
		list = append(list, fmt.Sprintf("%s missing, %d that the log has not there", exports.Count(int64(len(b.Missing)), "tag"), len(b.Extra)))
	}
	return list
}

// incidents lists those whose people were not asked again.
func (d *dues) incidents() error {
	list, err := d.log.Latest("incident")
	if err != nil {
		return err
	}
	by := d.shop.Rulebook.Interval("incident-ask-again")
	for _, e := range list {
		var b struct {
			About string `json:"about"`
			Open  *bool  `json:"open"`
		}
		if err := e.Body.Decode(&b); err != nil {
			return fmt.Errorf("entry %d: %w", e.Number, err)
		}
		if (b.Open == nil || *b.Open) && by != nil {
			d.putDay(by.Next(dayOf(e)), by, exports.DueRow{What: "incident", Subject: b.About,
				Text: "incident of entry " + b.About + ": ask everybody again how they are (pain can come hours late)",
				Do:   "pouchward incident --follow-up " + b.About})
		}
	}
	return nil
}

// training lists whose training runs out.
func (d *dues) training() error {
	list, err := d.log.Latest("training")
	if err != nil {
		return err
	}
	country := cmp.Or(d.country(), triage.BaselineCountry)
	for _, e := range list {
		var b struct {
			About string `json:"about"`
			Given string `json:"given"`
			Until string `json:"until"`
			Done  string `json:"passed"`
		}
		if err := e.Body.Decode(&b); err != nil {
			return fmt.Errorf("entry %d: %w", e.Number, err)
		}
		x := exports.DueRow{What: "training", Subject: b.About, Text: "training of " + b.About, Do: trainAgain(b.About)}
		given := dayIn(e, b.Given)
		if b.Done == "no" {
			x.Text += ", not passed on " + given.String()
			d.putDay(given, nil, x)
			continue
		}
		if until, err := triage.ParseDate(b.Until); err == nil {
			d.putDay(until, nil, x)
			continue
		}
		var first *triage.Interval
		for _, by := range d.shop.Rulebook.Intervals("training") {
			if by.Country != "" && by.Country != country {
				continue
			}
			// Of those that are up the strictest word counts; else the first to come.
			if first == nil || by.Next(given) <= d.day && by.Severity == "overdue" || first.Next(given) > d.day && by.Next(given) < first.Next(given) {
				first = by
			}
		}
		if first != nil {
			x.Text += ", given " + given.String()
			d.putDay(first.Next(given), first, x)
		}
	}
	return nil
}

// trainAgain is the command that records a training anew; about is who: topic.
func trainAgain(about string) string {
	who, topic, _ := strings.Cut(about, ": ")
	return fmt.Sprintf("pouchward train %s --topic %q ...", who, topic)
}

// number lists the test of the telephone that shipments name.
func (d *dues) number() error {
	list, err := d.log.Latest("emergency-number")
	if err != nil {
		return err
	}
	named := d.shop.House != nil && d.shop.House.Shop.EmergencyNumber != ""
	by := d.shop.Rulebook.Interval("emergency-number-test")
	if by == nil || !named && len(list) == 0 {
		return nil
	}
	x := exports.DueRow{What: "emergency-number", Text: "try the emergency telephone of shipments", Do: "pouchward inspect --emergency-number --answered yes"}
	if len(list) == 0 {
		x.Text += ", never tried"
		d.putDay(d.day, by, x)
		return nil
	}
	e := list[len(list)-1]
	var b struct {
		Answered string `json:"answered"`
	}
	if err := e.Body.Decode(&b); err != nil {
		return fmt.Errorf("entry %d: %w", e.Number, err)
	}
	if b.Answered != "yes" {
		x.Text += fmt.Sprintf(", not answered on %s", dayOf(e))
		d.putDay(dayOf(e), by, x)
		return nil
	}
	x.Text += ", last " + dayOf(e).String()
	d.putDay(by.Next(dayOf(e)), by, x)
	return nil
}

// receipts lists shipments that were offered and have no receipt.
func (d *dues) receipts() error {
	list, err := d.log.Latest("shipment")
	if err != nil {
		return err
	}
	by := d.shop.Rulebook.Interval("receipt-wait")
	for _, e := range list {
		var b struct {
			About   string       `json:"about"`
			Open    bool         `json:"open"`
			Offered string       `json:"offered"`
			Receipt *receiptBody `json:"receipt"`
		}
		if err := e.Body.Decode(&b); err != nil {
			return fmt.Errorf("entry %d: %w", e.Number, err)
		}
		if err := d.returned(e); err != nil {
			return err
		}
		offered := dayIn(e, b.Offered)
		switch {
		case b.Open && b.Receipt != nil && len(b.Receipt.Differs) > 0:
			// A difference is chased from the day on which it is known.
			d.putDay(dayIn(e, b.Receipt.On), nil, exports.DueRow{What: "receipt", Tag: b.About, Text: "the receipt differs: " + strings.Join(b.Receipt.Differs, "; "),
				Do: "ask the consignee, then pouchward ship receipt " + b.About + " --close --note \"...\""})
		case b.Open && by != nil:
			d.putDay(by.Next(offered), by, exports.DueRow{What: "receipt", Tag: b.About, Text: "no receipt, offered " + offered.String(), Do: "ask the consignee"})
		}
	}
	return nil
}

// locals lists the questions of local rules that lapse or stand open too long.
func (d *dues) locals() error {
	list, err := d.log.Latest("local-rule")
	if err != nil {
		return err
	}
	answered := map[string]bool{}
	for _, e := range list {
		var b struct {
			About  string `json:"about"`
			Lapses string `json:"lapses"`
			Answer string `json:"answer"`
		}
		if err := e.Body.Decode(&b); err != nil {
			return fmt.Errorf("entry %d: %w", e.Number, err)
		}
		answered[b.About] = true
		if lapses, err := triage.ParseDate(b.Lapses); err == nil {
			text := "the answer to " + b.About + " lapses"
			if b.Answer == "" {
				text = b.About + " was asked anew and has no answer"
			} else if lapses <= d.day {
				text = "the answer to " + b.About + " has lapsed"
			}
			d.putDay(lapses, nil, exports.DueRow{What: "local-rule", Subject: b.About, Text: text, Do: "ask again: pouchward local answer " + b.About})
		}
	}
	by := d.shop.Rulebook.Interval("local-rule-open")
	first, err := d.log.Entry(1)
	if err != nil || by == nil {
		return err
	}
	var open []string
	for _, q := range d.shop.Rulebook.Locals() {
		if !answered[q.ID] {
			open = append(open, q.ID)
		}
	}
	if len(open) > 0 {
		d.putDay(by.Next(dayOf(first)), by, exports.DueRow{What: "local-rule", Subject: strings.Join(open, " "),
			Text: exports.Count(int64(len(open)), "question") + " of local rules open since the log began", Do: "pouchward local list"})
	}
	return nil
}

// recalls asks for the recall list to be copied anew.
func (d *dues) recalls() error {
	if d.shop.Recalls == nil {
		return nil
	}
	if by := d.shop.Rulebook.Interval("recall-list-age"); by != nil {
		d.putDay(by.Next(d.shop.Recalls.ReadOn), by, exports.DueRow{What: "recall-list", Text: "copy the recall list anew, read " + d.shop.Recalls.ReadOn.String()})
	}
	return nil
}

// compareAround compares the last day of the old text with the first of the new.
func compareAround(on triage.Date, begins bool) string {
	if begins {
		on--
	}
	return fmt.Sprintf("pouchward rules compare --from %s --to %s", on, on+1)
}

// changes lists the days on which rules begin and end, by instrument.
func (d *dues) changes() error {
	by := d.shop.Rulebook.Intervals("rulebook")
	if len(by) == 0 {
		return nil
	}
	tables, err := triage.Embedded()
	if err != nil {
		return err
	}
	ahead := d.day
	for ; by[0].Next(ahead) <= d.day; ahead++ { // the last day that is told already
	}
	type key struct {
		on     triage.Date
		id     string // of the instrument
		begins bool
	}
	count, names := map[key]int{}, map[key][]string{}
	var keys []key
	for _, c := range tables.Changes(d.day, ahead) {
		k := key{c.On, c.Instrument.ID, c.Begins}
		if count[k]++; count[k] == 1 {
			keys = append(keys, k)
		}
		if !slices.Contains(names[k], c.Title) {
			names[k] = append(names[k], c.Title)
		}
	}
	for _, k := range keys {
		verb := "end"
		if k.begins {
			verb = "begin"
		}
		text := fmt.Sprintf("rules of %s: %d texts %s", k.id, count[k], verb)
		if count[k] == 1 {
			text = fmt.Sprintf("rules of %s: %ss %q", k.id, verb, names[k][0])
		}
		d.last = max(d.last, k.on)
		d.putDay(k.on, by[0], exports.DueRow{What: "rulebook", Text: text, Do: compareAround(k.on, k.begins)})
	}
	return nil
}
