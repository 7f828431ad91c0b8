package app

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"pouchward/logbook"
	"pouchward/triage"
)

// A Ruling is what a determination says.
type Ruling struct {
	Lower     []string // ids of rules, or raise
	Mistaken  []int64  // entries that were corrected or retracted
	Condition string   // puts the condition up
	Criteria  string   // letters of a-f
	Reason    string
	Second    string
	Expert    bool
	Until     string // last day on which it holds
}

// A Lowerable is one thing that holds a cell, and what a determination can do.
type Lowerable struct {
	ID     string // as --lower takes it
	Entry  int64  // the entry that found it, 0: the readings at hand
	Title  string
	By     string // second-person, expert, or blank for nobody
	Reacts bool   // it reacted: quiet for 24 h comes first
}

// Lowerables lists what holds a cell, the worst first.
func (c *Cell) lowerables(shop *Shop, v *triage.Verdict) (list []Lowerable) {
	add := func(l Lowerable) {
		i := slices.IndexFunc(list, func(x Lowerable) bool { return x.ID == l.ID })
		switch {
		case i < 0:
			list = append(list, l)
		case l.Reacts:
			list[i] = l // one that still reacts counts
		}
	}
	for _, h := range c.standing(shop, time.Time{}) {
		if h.casing != triage.NotWaste {
			continue // a casing is not lowered
		}
		l := Lowerable{ID: h.id, Entry: h.entry, Title: "put up by hand", By: "second-person", Reacts: h.condition == triage.Reacting}
		if h.rule != nil {
			l.Title, l.By = h.rule.Title, h.rule.LoweredBy
		}
		if h.condition == triage.Liable && l.By == "" {
			l.By = "second-person" // to damaged
		}
		if strings.HasPrefix(h.id, "entry-") {
			l.Title, l.By = "what that entry found", "expert"
		}
		add(l)
	}
	for _, fs := range [][]triage.Finding{v.ConditionFindings, v.HandlingFindings} {
		for i := range fs {
			if f := &fs[i]; f.State == triage.Fired && f.Rule != nil {
				add(Lowerable{ID: f.Rule.ID, Title: f.Rule.Title, By: f.Rule.LoweredBy})
			}
		}
	}
	return list
}

// Determine records a determination. One that lacks something, or would lower
// what it may not, is refused whole, with what it takes.
func (r *Recording) Determine(shop *Shop, act Act, tag string, x Ruling) (*Outcome, error) {
	if err := act.needWho("a determination"); err != nil {
		return nil, err
	}
	return r.onCell(shop, tag, func(tx *logbook.Tx, c *Cell, o *Outcome) error {
		if err := c.known(); err != nil {
			return err
		}
		return r.determineIn(tx, c, o, act, x)
	})
}

func (r *Recording) determineIn(tx *logbook.Tx, c *Cell, o *Outcome, act Act, x Ruling) error {
	v := c.judge(o.Shop)
	body, err := c.ruling(o.Shop, v, act, r.at(act.Happened), &x)
	if err != nil {
		return err
	}
	before := v.Handling
	if err := r.put(tx, c, o, act, "determination", body); err != nil {
		return err
	}
	if len(x.Lower)+len(x.Mistaken) > 0 && o.Verdict.Handling >= before && c.State.Condition == v.Condition.String() {
		o.note("It lowers nothing: %s.", listLowerables(c.lowerables(o.Shop, o.Verdict)))
	}
	return nil
}

// ruling checks a determination and makes its body.
func (c *Cell) ruling(shop *Shop, v *triage.Verdict, act Act, at time.Time, x *Ruling) (*determinationBody, error) {
	body := &determinationBody{Mistaken: x.Mistaken, Condition: x.Condition, Criteria: x.Criteria, Reason: strings.TrimSpace(x.Reason),
		Second: strings.TrimSpace(x.Second), Expert: x.Expert, Until: x.Until, Was: [2]string{v.Handling.String(), v.Condition.String()}}
	can := c.lowerables(shop, v)
	if len(x.Lower)+len(x.Mistaken) == 0 && x.Condition == "" {
		return nil, Usage("say what is determined: --lower RULE, --mistaken ENTRY or --condition liable. %s holds %s", listLowerables(can), triage.SpacedTag(c.Tag))
	}
	if until, err := triage.ParseDate(x.Until); x.Until != "" && (err != nil || until < shop.Rulebook.On) {
		return nil, Usage("--until %q: use a day from today on, such as %s", x.Until, shop.Rulebook.On)
	}
	trial := decision{entry: &logbook.Entry{Draft: logbook.Draft{Who: act.Who, Happened: at}}, body: *body}
	d := trial.determination()
	d.On = min(triage.DateOf(at), shop.Rulebook.On)
	if why := d.Lacks(shop.Rulebook.On, shop.solo()); why != "" {
		return nil, Usage("the determination is refused: %s (%s)", why, determineHelp(why))
	}
	for _, id := range x.Lower {
		if err := lowerableWith(can, id, x.Expert, c.Tag); err != nil {
			return nil, err
		}
		l := loweredRule{Rule: id}
		if a := v.Aside(id); a.Seen.State == triage.Known {
			l.Fact, l.From, l.To = triage.FactTable[a.Fact].Name, &a.Seen.Lo, &a.Seen.Hi
		}
		body.Lowers = append(body.Lowers, l)
	}
	for _, n := range x.Mistaken {
		if !c.fixed[n] && c.void[n] == 0 {
			return nil, Usage("--mistaken %d: that entry was neither corrected nor retracted: do that first (pouchward correct, pouchward retract)", n)
		}
	}
	if x.Condition != "" {
		up, ok := triage.ConditionByName(x.Condition)
		if !ok || up < triage.Damaged || up == triage.Reacting {
			return nil, Usage("--condition %q: a determination puts up to damaged, recalled or liable", x.Condition)
		}
	}
	return body, nil
}

// A Criterion is one of those that a determination is made by, in the words of UN
// special provision 376.
type Criterion struct{ Letter, Words string }

// Criteria are the criteria, in order.
var Criteria = []Criterion{{"a", "acute hazard"}, {"b", "use or misuse"}, {"c", "damage to the casing"}, {"d", "short-circuit protection"},
	{"e", "safety features"}, {"f", "damage to internal safety components"}}

func determineHelp(why string) string {
	switch {
	case strings.Contains(why, "second person"):
		return "--second INITIALS of another person; a shop of one says solo = true in the house file"
	case strings.Contains(why, "criteria"):
		var list []string
		for _, c := range Criteria {
			list = append(list, c.Letter+" "+c.Words)
		}
		return "--criteria: " + strings.Join(list, ", ")
	case strings.Contains(why, "reason"):
		return "--reason \"what was seen, and why it counts for less\""
	}
	return "pouchward determine --help"
}

// lowerableWith says why an id cannot be lowered, or nil.
func lowerableWith(can []Lowerable, id string, expert bool, tag string) error {
	i := slices.IndexFunc(can, func(l Lowerable) bool { return l.ID == id })
	if i < 0 {
		return Usage("--lower %s: that does not hold %s; %s does", id, triage.SpacedTag(tag), listLowerables(can))
	}
	l := &can[i]
	switch {
	case l.Reacts:
		return Usage("--lower %s: it reacted (entry %d). First it must be quiet for 24 h and a look must say so: pouchward recheck %s same --quiet-h 24 --cell-c ... --ambient-c ...", id, l.Entry, tag)
	case l.By == "":
		return Usage("--lower %s (%s): no determination lowers that. If the entry was a slip, correct or retract it, then --mistaken ENTRY", id, l.Title)
	case l.By == "expert" && !expert:
		return Usage("--lower %s (%s): only the maker or a technical expert may; then add --expert", id, l.Title)
	}
	return nil
}

// listLowerables names what holds a cell in one line.
func listLowerables(can []Lowerable) string {
	var parts []string
	for _, l := range can {
		text := l.ID
		switch {
		case l.Reacts:
			text += " (not while it reacts)"
		case l.By == "expert":
			text += " (expert)"
		case l.By == "":
			text += " (never)"
		}
		if l.Entry > 0 {
			text += fmt.Sprintf(" of entry %d", l.Entry)
		}
		parts = append(parts, text)
	}
	if len(parts) == 0 {
		return "nothing"
	}
	return strings.Join(parts, ", ")
}
