package triage

import (
	"fmt"
	"slices"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// Judge fills v with the verdict on c under the rules of rb. rb must be in
// force on c.On (see Tables.On), unless the rules of another day are tried on what
// was known and decided on that one. v may be reused from an earlier call, which
// then costs no allocation.
func (rb *Rulebook) Judge(c *Case, v *Verdict) {
	v.reset()
	v.Tag, v.On, v.Reading = c.Reading[Tag].Text, c.On, &c.Reading
	if c.Earlier != nil {
		v.merged = Merge(c.Earlier, &c.Reading, c.HoursBetween)
		v.Reading = &v.merged
	}
	v.Told, v.RecallsRead = "", 0
	if c.Recalls != nil {
		v.RecallsRead = c.Recalls.ReadOn
		v.merged = *v.Reading
		v.Reading = &v.merged
		v.Told = c.Recalls.apply(v.Reading, c.On)
	}
	derive(v.Reading, &v.Facts)

	v.past = rb.past
	var aside setAside
	aside.fill(c, v)
	for i := range rb.rules {
		rb.judgeRule(rb.rules[i], c, v, &aside)
	}
	for i := range c.Raises {
		v.raise(&c.Raises[i])
	}
	v.decideSize()
	v.decideWaste()
	v.Facts[FCondition] = exactly(Micro(v.Condition))
	rb.streamsOf(c, v)
	rb.adviseHands(v)
	for r := range NumRoutes {
		rb.judgeRoute(r, c, v)
	}
	v.dropSettled()
	if c.Earlier != nil {
		v.askLabels(c.Earlier, &c.Reading)
	}
	v.ask(v.Reading)
	v.measureNext(v.Reading)
}

func (v *Verdict) reset() {
	v.Handling, v.Condition, v.Size, v.Waste, v.LookAgain = Sound, Undamaged, SizeUnknown, NotWaste, 0
	v.HandlingFindings, v.ConditionFindings = v.HandlingFindings[:0], v.ConditionFindings[:0]
	v.SizeFindings, v.WasteFindings = v.SizeFindings[:0], v.WasteFindings[:0]
	v.Streams, v.States = v.Streams[:0], v.States[:0]
	v.Advice, v.Next, v.Questions, v.Rejected = v.Advice[:0], v.Next[:0], v.Questions[:0], v.Rejected[:0]
	for i := range v.Routes {
		a := &v.Routes[i]
		*a = RouteAnswer{Open: a.Open[:0], Maybe: a.Maybe[:0], Asked: a.Asked[:0], closed: a.closed[:0]}
	}
}

// setAside holds the determinations of a case that stand.
type setAside struct{ list []Determination }

func (s *setAside) fill(c *Case, v *Verdict) {
	for i := range c.Determinations {
		d := &c.Determinations[i]
		if why := d.Lacks(c.On, c.Solo); why != "" {
			v.Rejected = append(v.Rejected, fmt.Sprintf("determination by %q on %s not used: %s", d.By, d.On, why))
			continue
		}
		s.list = append(s.list, *d)
	}
}

// Lacks says why a determination does not stand, or "".
func (d *Determination) Lacks(on Date, solo bool) string {
	switch {
	case !NamesSomebody(d.By):
		return "it names no person"
	case strings.Trim(d.Criteria, "abcdef") != "" || d.Criteria == "":
		return "it ticks no criteria of (a)-(f)"
	case strings.TrimSpace(d.Reason) == "":
		return "it gives no reason"
	case d.On > on:
		return "it is dated after the day judged for"
	case d.Until != 0 && d.Until < on:
		return "it lapsed on " + d.Until.String()
	case !solo && (!NamesSomebody(d.Second) || SamePerson(d.Second, d.By)):
		return "it needs a second person"
	}
	return ""
}

// foldName keeps what tells a person's name or initials from another's: letters
// and figures, without their case or width.
func foldName(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return unicode.ToLower(r)
		}
		return -1
	}, norm.NFKC.String(s))
}

// SamePerson reports whether two names or initials are those of one person, as
// far as letters and figures tell: "M. K." is "mk".
func SamePerson(a, b string) bool { return foldName(a) == foldName(b) }

// nobody are answers that name no person.
var nobody = []string{"", "none", "nobody", "na", "no", "unknown"}

// NamesSomebody reports whether a text can be a person's name or initials.
func NamesSomebody(s string) bool { return !slices.Contains(nobody, foldName(s)) }

// lowers returns who set the finding aside, "" for nobody.
func (s *setAside) lowers(f *Finding) string {
	for i := range s.list {
		d := &s.list[i]
		if !f.Rule.LoweredWith(d.Expert) {
			continue
		}
		for _, a := range d.SetsAside {
			if a.Rule == f.Rule.ID && !f.worseThan(&a) {
				return d.By
			}
		}
	}
	return ""
}

// Aside returns what a determination that sets a rule aside judges: the rule and
// the value that it fired with.
func (v *Verdict) Aside(rule string) Aside {
	for _, list := range [...][]Finding{v.HandlingFindings, v.ConditionFindings} {
		for i := range list {
			if f := &list[i]; f.Rule != nil && f.Rule.ID == rule && f.State != CouldBe && f.Shown != nil && f.Shown.op != isWord {
				return Aside{rule, f.Shown.Fact, f.Value}
			}
		}
	}
	return Aside{Rule: rule}
}

// LoweredWith reports whether a determination may set the rule aside; expert
// says that it was made by the maker or a technical expert.
func (r *Rule) LoweredWith(expert bool) bool {
	return r.LoweredBy == "second-person" || expert && r.LoweredBy == "expert"
}

// worseThan reports whether the value of a finding lies further beyond its limit
// than the one that was judged. A number that nobody judged is worse.
func (f *Finding) worseThan(judged *Aside) bool {
	seen := judged.Seen
	if f.Shown == nil || f.Shown.op == isWord {
		return false
	}
	if seen.State != Known || f.Value.State != Known || f.Shown.Fact != judged.Fact {
		return true
	}
	if f.Shown.op == atMost || f.Shown.op == under {
		return f.Value.Lo < seen.Lo
	}
	return f.Value.Hi > seen.Hi
}

func (rb *Rulebook) judgeRule(r *Rule, c *Case, v *Verdict, aside *setAside) {
	t, missing := r.when.eval(&v.Facts)
	if t == No {
		return
	}
	f := Finding{Rule: r, State: Fired, Missing: missing}
	if t == Unknown || t == Straddle && r.size != SizeUnknown {
		f.State = CouldBe
	} else {
		f.Missing = 0
	}
	if f.State == Fired {
		if f.Shown = r.when.decisive(&v.Facts); f.Shown != nil {
			f.Value = v.Facts[f.Shown.Fact]
		}
		if len(aside.list) > 0 {
			if f.By = aside.lowers(&f); f.By != "" {
				f.State = SetAside
			}
		}
	}
	v.apply(r, f)
}

func (v *Verdict) apply(r *Rule, f Finding) {
	fired := f.State == Fired
	if r.Handling != "" {
		v.HandlingFindings = append(v.HandlingFindings, f)
		if fired {
			v.Handling = max(v.Handling, r.handling)
			if r.LookAgainMin > 0 && (v.LookAgain == 0 || r.LookAgainMin < v.LookAgain) {
				v.LookAgain = r.LookAgainMin
			}
		}
	}
	if r.Condition != "" {
		v.ConditionFindings = append(v.ConditionFindings, f)
		if fired {
			v.Condition = max(v.Condition, r.condition)
		}
	}
	if r.Size != "" {
		v.SizeFindings = append(v.SizeFindings, f)
	}
	if r.Waste != "" {
		v.WasteFindings = append(v.WasteFindings, f)
		if fired {
			v.Waste = max(v.Waste, r.waste)
		}
	}
}

// raise applies a raise; an emergency is always reacting.
func (v *Verdict) raise(r *Raise) {
	f := Finding{State: Fired, By: r.By, Raised: *r}
	if r.Handling == Emergency {
		f.Raised.Condition = Reacting
	}
	v.Handling, v.Condition = max(v.Handling, f.Raised.Handling), max(v.Condition, f.Raised.Condition)
	if r.Handling > Sound {
		v.HandlingFindings = append(v.HandlingFindings, f)
	}
	if f.Raised.Condition > Undamaged {
		v.ConditionFindings = append(v.ConditionFindings, f)
	}
	if v.Waste = max(v.Waste, r.Waste); r.Waste > NotWaste {
		v.WasteFindings = append(v.WasteFindings, f)
	}
}

// decideSize takes the one size rule that is met; a size is never the outcome
// of rules that are not met.
func (v *Verdict) decideSize() {
	for i := range v.SizeFindings {
		if f := &v.SizeFindings[i]; f.State == Fired {
			v.Size = max(v.Size, f.Rule.size)
		}
	}
}

// decideWaste adds what no rule says: a cell is waste unless it is kept for
// reuse, and one that is isolated is never charged again, so has no expectation of
// reuse.
func (v *Verdict) decideWaste() {
	p := &v.Facts[FPurpose]
	forReuse := p.State == Known && Fields[Purpose].Words[p.Lo] == "reuse"
	if !forReuse || v.Handling >= Isolate || v.Condition > Undetermined {
		v.Waste = max(v.Waste, CasingIntact)
	}
}

// BaselineCountry is whose waste law stands in where the house names none.
const BaselineCountry = "US"

// originWords say where waste comes from: European codes differ by it.
var originWords = []string{"municipal", "trade"}

// euMembers are the member states of the European Union, whose group code is EU.
const euMembers = "AT BE BG CY CZ DE DK EE ES FI FR GR HR HU IE IT LT LU LV MT NL PL PT RO SE SI SK"

// inUnion reports whether a country is a member state, to which the rules of
// group EU apply.
func inUnion(country string) bool {
	return len(country) == 2 && strings.Contains(euMembers, country)
}

// fitMayBe reports whether a stream is for a battery or a device as this one comes: one that is not known is for both,
// since a device has another code than the battery in it.
func (s *Stream) fitMayBe(fit *Fact) bool {
	return s.fits == 0 || fit.State != Known || s.fits>>fit.Lo&1 == 1
}

// streamsOf collects what the waste law of the shop's country makes of the cell.
func (rb *Rulebook) streamsOf(c *Case, v *Verdict) {
	country := c.Country
	if country == "" {
		country = BaselineCountry
	}
	union := inUnion(country)
	for _, s := range rb.streams {
		if s.Country != country && !(union && s.Country == "EU") || s.Origin != "" && c.Origin != "" && s.Origin != c.Origin || s.waste>>v.Waste&1 == 0 || s.forClasses>>v.Condition&1 == 0 {
			continue
		}
		if t, _ := s.when.eval(&v.Facts); t != No && s.fitMayBe(&v.Facts[FFit]) {
			v.Streams = append(v.Streams, s)
		}
	}
	for _, s := range rb.states {
		if v.Waste != NotWaste && (s.Country == country || union && s.Country == "EU") && (s.State == "" || s.State == c.State) {
			v.States = append(v.States, s)
		}
	}
}

// dropSettled removes the rules that could fire without making anything worse:
// nothing hangs on their facts.
func (v *Verdict) dropSettled() {
	v.HandlingFindings = slices.DeleteFunc(v.HandlingFindings, func(f Finding) bool {
		return f.State == CouldBe && f.Rule.handling <= v.Handling
	})
	v.ConditionFindings = slices.DeleteFunc(v.ConditionFindings, func(f Finding) bool {
		return f.State == CouldBe && f.Rule.condition <= v.Condition
	})
	v.WasteFindings = slices.DeleteFunc(v.WasteFindings, func(f Finding) bool {
		return f.State == CouldBe && f.Rule.waste <= v.Waste
	})
	if v.Size != SizeUnknown {
		v.SizeFindings = slices.DeleteFunc(v.SizeFindings, func(f Finding) bool { return f.State == CouldBe })
	}
}

// adviseHands collects the advice for the class, general first.
func (rb *Rulebook) adviseHands(v *Verdict) {
	for _, a := range rb.advice {
		if a.classes>>v.Handling&1 == 0 {
			continue
		}
		if t, _ := a.when.eval(&v.Facts); t != Yes {
			continue
		}
		v.Advice = append(v.Advice, a)
		if a.LookAgain > 0 && (v.LookAgain == 0 || a.LookAgain < v.LookAgain) {
			v.LookAgain = a.LookAgain
		}
	}
	if v.Handling == Emergency {
		v.LookAgain = 0
	}
}
