package app

import (
	"maps"
	"slices"
	"time"

	"pouchward/logbook"
	"pouchward/triage"
	"pouchward/triage/review"
)

// Rejudged is what the rules of another day make of the cells in the shop.
type Rejudged struct {
	From, To triage.Date         // the day reviewed for, and that of the other rules
	Rules    []triage.RuleChange // what begins or ends between the two
	Compared int64               // cells; a lot is none, nobody read it
	Cells    []RejudgedCell      // whose answers change, by tag
	Unread   []review.Trouble    // cells whose entries cannot be read, and so were not compared
}

// A RejudgedCell is a cell whose answers change.
type RejudgedCell struct {
	Tag, Place, In string // In is the container that holds it, blank for none
	Entry          int64  // of the last look, 0 for none
	Changes        []triage.AnswerChange
}

// Rejudge judges every cell in the shop, as it stands at the end of what is asked for,
// by the rules of that day and by those of another. The readings, the holds, the
// determinations that count on that day and what is in hand are the same for both: what
// changes is for the rules alone. It verifies nothing; Review does.
func Rejudge(shop *Shop, p LogPlace, ask ReviewAsk, on triage.Date) (*Rejudged, error) {
	ask.Rules = 0
	r, err := newReviewReader(shop, p, &ask)
	if err != nil {
		return nil, err
	}
	other, err := r.rules.tables.On(on)
	if err != nil {
		return nil, Usage("--on: %v", err)
	}
	x := &Rejudged{From: r.s.To, To: on, Rules: r.rules.tables.CompareDays(r.s.To, on)}
	err = ReadLog(p, func(l *logbook.Log) error {
		if err := r.readLog(l, &ask); err != nil {
			return err
		}
		for i := range r.s.Cells {
			c := &r.s.Cells[i]
			if last := c.Last(); last.Is != review.Here || last.Count > 0 {
				continue
			}
			cell, err := readCell(r.until(l), c.Tag)
			if err != nil {
				x.Unread = append(x.Unread, review.Trouble{Entry: c.Steps[len(c.Steps)-1].Entry, Text: triage.SpacedTag(c.Tag) + ": " + err.Error()})
				continue
			}
			x.Compared++
			was, is := r.under(cell, r.s.Rules), r.under(cell, other)
			if changes := was.Changed(is); len(changes) > 0 {
				last := c.Last()
				x.Cells = append(x.Cells, RejudgedCell{Tag: c.Tag, Place: last.Place, In: last.In, Entry: lastLook(cell), Changes: changes})
			}
		}
		return nil
	})
	return x, err
}

func lastLook(c *Cell) int64 {
	if n := len(c.looks); n > 0 {
		return c.looks[n-1].entry.Number
	}
	return 0
}

// under judges a cell as it stands on the day reviewed for, by the rules of a rulebook.
func (r *reviewReader) under(c *Cell, rb *triage.Rulebook) *triage.Verdict {
	return judgedOn(c, r.shop, rb, r.s.To)
}

func judgedOn(c *Cell, shop *Shop, rb *triage.Rulebook, day triage.Date) *triage.Verdict {
	as := *shop
	as.Rulebook, as.asOf = rb, day
	v := c.judge(&as)
	v.On = rb.On // what differs is told by the rules' day
	return v
}

// untilNow leaves out the entries that were not there yet.
type untilNow struct {
	from historian
	now  time.Time
}

func (u *untilNow) History(tag string) ([]*logbook.Entry, error) {
	list, err := u.from.History(tag)
	return slices.DeleteFunc(list, func(e *logbook.Entry) bool { return e.Entered.After(u.now) }), err
}

// until is the log as it was at the moment reviewed for.
func (r *reviewReader) until(l *logbook.Log) historian {
	if !r.past {
		return l
	}
	return &untilNow{l, r.s.Now}
}

// changed lists the cells in the shop whose answers the rules of the day change: those
// whose last state was said by other rules.
func (r *reviewReader) changed(l *logbook.Log) error {
	today := r.rules.on(r.s.To)
	if today == nil {
		return nil // then there is no snapshot either
	}
	for _, tag := range slices.Sorted(maps.Keys(r.cells)) {
		c := r.cells[tag]
		if last := c.cell.Last(); last.Is != review.Here || last.Count > 0 || c.said.entry == 0 {
			continue
		}
		then := r.rules.on(c.said.day)
		foreign := then == nil || c.said.digest != then.Digest
		if !foreign && then == today {
			continue
		}
		cell, err := readCell(r.until(l), tag)
		if err != nil {
			r.trouble(c.said.entry, triage.SpacedTag(tag)+": "+err.Error())
			continue
		}
		is := r.under(cell, today)
		var changes []triage.AnswerChange
		if then != nil && then != today {
			changes = r.under(cell, then).Changed(is)
		}
		if foreign {
			changes = mergeChanges(changes, c.said.differs(cell, is, func() *triage.Verdict {
				if then == nil {
					return nil // no rules of that day are at hand
				}
				return judgedOn(cell, r.shop, then, c.said.day)
			}))
		}
		if len(changes) > 0 {
			r.s.Changed = append(r.s.Changed, review.Changed{Tag: tag, Entry: c.said.entry, Changes: changes})
		}
	}
	return nil
}

// differs holds the words of a state against the verdict of today, where rules that are
// not at hand gave them: of another release, or of another house file. then is what the
// rules of its day that are at hand make of the cell on that day: what they would have
// said too changed with time, not with the rules.
func (s *stateSaid) differs(cell *Cell, is *triage.Verdict, then func() *triage.Verdict) (list []triage.AnswerChange) {
	now := answersOf(is)
	said := answersOf(nil)
	copy(said, [][2]string{{"handling", s.Handling}, {"condition", s.Condition}, {"size", s.Size}, {"waste", s.Waste}})
	routes := cell.routesSaid(s.entry)
	for route := range triage.NumRoutes {
		if a := routes[route.String()]; len(a) > 0 {
			said[4+route][1] = a[0]
		}
	}
	var was [][2]string
	for i, x := range said {
		if x[1] == "" || x[1] == now[i][1] {
			continue
		}
		if was == nil {
			was = answersOf(then())
		}
		if x[1] != was[i][1] {
			list = append(list, triage.AnswerChange{Answer: x[0], From: x[1], To: now[i][1], Why: "by rules that are not at hand, of " + s.day.String()})
		}
	}
	return list
}

// routesSaid are the class and the way of each route that an entry says; only looks do.
func (c *Cell) routesSaid(entry int64) map[string][]string {
	var b struct {
		Routes map[string][]string `json:"routes"`
	}
	for i := range c.looks {
		if e := c.looks[i].entry; e.Number == entry && e.Body.Decode(&b) != nil {
			return nil // the look was read, its routes are of another form: nothing is held against them
		}
	}
	return b.Routes
}

// answersOf are the names of the answers with their words, blank for no verdict.
func answersOf(v *triage.Verdict) [][2]string {
	list := [][2]string{{"handling"}, {"condition"}, {"size"}, {"waste"}}
	for route := range triage.NumRoutes {
		list = append(list, [2]string{route.String()})
	}
	if v == nil {
		return list
	}
	for i, word := range []string{v.Handling.String(), v.Condition.String(), v.Size.String(), v.Waste.String()} {
		list[i][1] = word
	}
	for route := range triage.NumRoutes {
		list[4+route][1] = v.Routes[route].Class.String()
	}
	return list
}

// mergeChanges adds changes of answers that the first list does not have.
func mergeChanges(list, more []triage.AnswerChange) []triage.AnswerChange {
	for _, x := range more {
		if !slices.ContainsFunc(list, func(o triage.AnswerChange) bool { return o.Answer == x.Answer }) {
			list = append(list, x)
		}
	}
	return list
}
