package triage

import (
	"bytes"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strings"

	"github.com/pelletier/go-toml/v2"
)

// A House is one shop's own file: facts about the shop, and rules that only
// tighten. What is published cannot be loosened in it.
type House struct {
	Shop      Shop              `toml:"shop"`
	Map       map[string]string `toml:"map"`      // column name to field name
	Rules     []Rule            `toml:"rule"`     // rules of the house, basis house
	Bars      []Bar             `toml:"bar"`      // ways the house does not use
	Approvals []HouseApproval   `toml:"approval"` // approvals and schemes in hand
	Permits   []Permit          `toml:"permit"`   // special permits in hand
	Intervals []HouseInterval   `toml:"interval"` // intervals the house makes stricter

	table *Table
}

// A HouseApproval says that what a way asks for is in hand.
type HouseApproval struct {
	Way    string `toml:"way"`
	Number string `toml:"number"`
	Holder string `toml:"holder"`
	By     string `toml:"by"`
	Until  string `toml:"until"`

	until Date
}

// A Permit adds a way: the text of a special permit is the holder's to keep and
// is not checked here.
type Permit struct {
	Number    string   `toml:"number"`
	Holder    string   `toml:"holder"`
	Scope     string   `toml:"scope"`
	Routes    []string `toml:"routes"`
	For       []string `toml:"for"`
	Chemistry []string `toml:"chemistry"`
	When      []string `toml:"when"`
	Class     string   `toml:"class"` // regulated or heavier
	From      string   `toml:"from"`
	Until     string   `toml:"until"`
}

var slugForm = regexp.MustCompile(`[^a-z0-9]+`)

// ParseHouse reads a house file and checks it against the shipped tables: an
// unknown key is an error with its line, and a rule that would loosen a shipped
// one is refused by name. All faults are reported.
func ParseHouse(name string, data []byte, shipped Tables) (*House, error) {
	h := &House{}
	if err := toml.NewDecoder(bytes.NewReader(data)).DisallowUnknownFields().Decode(h); err != nil {
		return nil, fmt.Errorf("house file %s: %w", name, tomlError(err))
	}
	h.table = &Table{Name: name, bytes: data, Rules: h.Rules, Bars: h.Bars,
		Instrument: Instrument{ID: "house", Authority: "the shop", Title: "House rules of this shop", Edition: "own"}}
	var errs []error
	for i := range h.table.Rules {
		r := &h.table.Rules[i]
		r.fillHouse("house rule")
		errs = append(errs, named(r.ID, r.compile(h.table)), named(r.ID, tightens(r, shipped)))
	}
	for i := range h.table.Bars {
		b := &h.table.Bars[i]
		b.fillHouse("house bar")
		errs = append(errs, named(b.ID, b.compile(h.table)))
	}
	for i := range h.Permits {
		w, err := h.Permits[i].way()
		errs = append(errs, named("permit "+h.Permits[i].Number, err))
		h.table.Ways = append(h.table.Ways, w)
	}
	for i := range h.table.Ways {
		errs = append(errs, named(h.table.Ways[i].ID, h.table.Ways[i].compile(h.table)))
	}
	errs = append(errs, h.intervals(shipped)...)
	errs = append(errs, h.checkIDs(shipped)...)
	errs = append(errs, h.checkFacts(shipped)...)
	if err := errors.Join(errs...); err != nil {
		return nil, fmt.Errorf("house file %s: %w", name, err)
	}
	return h, nil
}

func named(id string, err error) error {
	if err == nil {
		return nil
	}
	return fmt.Errorf("%s: %w", id, err)
}

// fillHouse gives a rule of the house what every record has.
func (r *Record) fillHouse(what string) {
	r.Basis = HouseRule
	if r.Source == "" {
		r.Source = what
	}
	if r.Title == "" {
		r.Title = what + " " + r.ID
	}
	if r.Confidence == "" {
		r.Confidence = "read"
	}
}

// tightens refuses a house rule that would make an answer better, or that takes
// a shipped rule's id to set a looser limit. A rule only ever adds an outcome,
// and the strictest wins, so what is left to refuse is a size (which is no
// outcome that adds) and a looser copy, which would do nothing but mislead.
func tightens(r *Rule, shipped Tables) error {
	if r.Size != "" {
		return errors.New("a house rule cannot give a size: sizes are published limits")
	}
	if r.LoweredBy != "" {
		return errors.New("a house rule cannot say what a determination may set aside")
	}
	for _, t := range shipped {
		for i := range t.Rules {
			s := &t.Rules[i]
			if s.ID != r.ID {
				continue
			}
			if r.handling < s.handling || r.condition < s.condition || r.waste < s.waste {
				return fmt.Errorf("loosens the shipped rule %s (%s) to %s: refused", s.ID, s.outcome(), r.outcome())
			}
			return looser(s, r)
		}
	}
	return nil
}

// looser compares the conditions of a shipped rule with a house copy: the same
// facts, each limit as strict or stricter, none added.
func looser(s, r *Rule) error {
	if len(r.when.or) > 0 || len(s.when.or) > 0 || len(r.when.all) > len(s.when.all) {
		return fmt.Errorf("changes the conditions of the shipped rule %s: give the house rule an id of its own", s.ID)
	}
	for _, c := range r.when.all {
		i := slices.IndexFunc(s.when.all, func(x Condition) bool { return x.Fact == c.Fact && x.op == c.op })
		if i < 0 {
			return fmt.Errorf("changes the conditions of the shipped rule %s: give the house rule an id of its own", s.ID)
		}
		x := s.when.all[i]
		if up := c.op == atLeast || c.op == over; c.op == isWord && c.limit != x.limit || up && c.limit > x.limit || !up && c.op != isWord && c.limit < x.limit {
			return fmt.Errorf("loosens the shipped rule %s from %q to %q: refused; a house rule may only be stricter", s.ID, x, c)
		}
	}
	return nil
}

// way makes the way that a permit adds. It is never lighter than regulated.
func (p *Permit) way() (Way, error) {
	if p.Number == "" || p.Holder == "" || p.Scope == "" || p.Until == "" {
		return Way{}, errors.New("needs number, holder, scope and until")
	}
	class := p.Class
	if class == "" {
		class = "regulated"
	}
	if c, err := word("class", class, routeClassWords[:RouteApproval]); err != nil || RouteClass(c) < RouteRegulated {
		return Way{}, errors.Join(err, fmt.Errorf("class %q: a permit's way is regulated, damaged or critical", class))
	}
	if slices.Contains(p.For, "reacting") {
		return Way{}, errors.New("no permit covers a cell that reacts now")
	}
	source := fmt.Sprintf("your permit %s, holder %s: text not checked here", p.Number, p.Holder)
	return Way{
		permit: true,
		Record: Record{ID: "permit-" + strings.Trim(slugForm.ReplaceAllString(strings.ToLower(p.Number), "-"), "-"),
			Title: "Your permit " + p.Number + ": " + p.Scope + " (text not checked here)", For: p.For, When: p.When,
			Source: source, Basis: HouseRule, Confidence: "read", From: p.From, Until: p.Until},
		Routes: p.Routes, Class: class, Chemistry: p.Chemistry,
		Duties: []Duty{{Kind: "note", Text: "Follow the permit and keep a copy with the shipment. It runs to " + p.Until + ".", Source: source}},
	}, nil
}

// checkIDs refuses an id used twice, in the file or by a shipped bar or way.
func (h *House) checkIDs(shipped Tables) []error {
	var errs []error
	seen := map[string]bool{}
	for _, t := range shipped {
		for i := range t.Bars {
			seen[t.Bars[i].ID] = true
		}
		for i := range t.Ways {
			seen[t.Ways[i].ID] = true
		}
	}
	take := func(id string) {
		if !idForm.MatchString(id) {
			errs = append(errs, fmt.Errorf("id %q: use lower-case words joined by hyphens", id))
		}
		if seen[id] {
			errs = append(errs, fmt.Errorf("id %s is used already", id))
		}
		seen[id] = true
	}
	for i := range h.table.Rules {
		take(h.table.Rules[i].ID)
		if len(h.table.Rules[i].When) == 0 {
			errs = append(errs, fmt.Errorf("%s: has no conditions, so it would fire on every cell", h.table.Rules[i].ID))
		}
	}
	for i := range h.table.Bars {
		take(h.table.Bars[i].ID)
	}
	for i := range h.table.Ways {
		take(h.table.Ways[i].ID)
	}
	return errs
}

// checkFacts checks approvals, bars and the column map against what exists.
func (h *House) checkFacts(shipped Tables) []error {
	var errs []error
	ways := map[string]*Way{}
	var ids []string
	for _, t := range shipped {
		for i := range t.Ways {
			ways[t.Ways[i].ID] = &t.Ways[i]
			ids = append(ids, t.Ways[i].ID)
		}
	}
	for i := range h.Approvals {
		a := &h.Approvals[i]
		w := ways[a.Way]
		var err error
		switch {
		case w == nil:
			err = slip(fmt.Sprintf("approval for %q: no such way", a.Way), a.Way, ids)
		case w.Approval == nil:
			err = fmt.Errorf("approval for %s: that way asks for none", a.Way)
		case a.Number == "" || a.Holder == "" || a.Until == "":
			err = fmt.Errorf("approval for %s: needs number, holder and until", a.Way)
		default:
			if a.until, err = ParseDate(a.Until); err != nil {
				err = fmt.Errorf("approval for %s: until %q: %w", a.Way, a.Until, err)
			}
		}
		errs = append(errs, err)
	}
	for i := range h.table.Bars {
		for _, c := range h.table.Bars[i].Closes {
			if c != "all" && ways[c] == nil {
				errs = append(errs, slip(fmt.Sprintf("%s closes %q: no such way", h.table.Bars[i].ID, c), c, ids))
			}
		}
	}
	for column, field := range h.Map {
		if _, ok := FieldByName(field); !ok {
			errs = append(errs, slip(fmt.Sprintf("map: column %q to %q, which is no field", column, field), field, FieldNames()))
		}
	}
	return append(errs, h.Shop.check()...)
}

// Table returns the rules, bars and permits of the house as a rule table.
func (h *House) Table() *Table { return h.table }

// InHand lists the ways whose approval is in hand and unexpired on a day.
func (h *House) InHand(day Date) []string {
	var ids []string
	for i := range h.Approvals {
		if h.Approvals[i].until >= day {
			ids = append(ids, h.Approvals[i].Way)
		}
	}
	return ids
}
