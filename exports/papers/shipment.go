package papers

import (
	"fmt"
	"slices"
	"strings"

	"pouchward/exports"
	"pouchward/triage"
)

// A Shipment is all that the papers are made from. Masses are in milligrams, 0 not
// known.
type Shipment struct {
	Tag     string
	Route   triage.Route
	Entry   int64 // the last of the log that is about it
	On      triage.Date
	Digest  string // of the rulebook
	Notices []string

	Site, Consignee string
	Phone, PhoneBy  string // of the papers, and who answers it
	Fire            string
	Emergency       []string // lines of the emergency card
	Care            []string
	CareSource      string
	Authorities     []string // that the rules of the route come from

	Packages []Package
	Open     []string  // what keeps the whole of it
	Handover *Handover // nil while it has not left
}

// A Handover is what the log says of one.
type Handover struct {
	At, Carrier    string
	By, Ref, Until string // of the consignee's yes
	Accepts        []string
}

// A Package is one of it.
type Package struct {
	Tag, Outer, Level, UNMark string
	Closed, Inner, Fill       bool

	GrossMg, TareMg, NetMg int64
	PackedBy, CheckedBy    string
	Note                   string

	UN       string
	Ways     []*triage.Way
	Marks    []triage.DutyDoc // marks and labels
	Overpack []triage.DutyDoc // and in an overpack
	Spared   []triage.DutyDoc // marks not owed in this consignment, by an exception
	Papers   []triage.DutyDoc // papers and telephone
	Notes    []string
	Broken   []string // what keeps it
	Missing  []string // what is not known yet
	Cells    []Cell
}

// A Cell is one cell or battery in it, or a device with what is in that.
type Cell struct {
	Tag      string
	V        *triage.Verdict
	Keeps    string          // why it cannot go; "" for nothing known
	Lacks    string          // the one reading that may free it
	Grounds  []*triage.Rule  // that make it damaged, defective or recalled, here or at an earlier look
	ByHand   string          // "entry 12", where somebody put it up by hand
	Secured  map[string]bool // terminals, bag
	Approval string          // the approval that its way rests on, "" for none
}

// New makes the papers of a shipment.
func New(x *Shipment) *Document {
	d := &Document{Tag: triage.SpacedTag(x.Tag), On: x.On, Stand: x.stand(), Foot: x.foot()}
	if s, not := x.refuse(); not {
		d.Refused, d.Sheets, d.Stand = true, []Sheet{s}, "DO NOT OFFER FOR CARRIAGE"
		return d
	}
	list := []Sheet{x.readiness(), x.acceptance(), x.packing(), x.marks(), x.transport(), x.emergency(), x.handover(), x.receipt()}
	for i := range list {
		list[i].Title = fmt.Sprintf("%d of %d: %s", i+1, len(list), list[i].Title)
	}
	d.Sheets = list
	return d
}

// Draft lists what makes the papers a draft; none of a shipment that left, nor of
// one in which nothing is open that the log can know.
func (x *Shipment) Draft() (list []string) {
	if x.Handover != nil {
		return nil
	}
	if len(x.Packages) == 0 {
		list = append(list, "nothing is packed")
	}
	for i := range x.Packages {
		p := &x.Packages[i]
		name := "package " + triage.SpacedTag(p.Tag)
		switch {
		case p.stays():
			list = append(list, name+" cannot go as it stands")
		case !p.Closed:
			list = append(list, name+" is open")
		case len(p.Missing) > 0:
			list = append(list, name+" has an open check")
		}
	}
	return append(list, x.Open...)
}

// stays reports whether something is known that keeps the package.
func (p *Package) stays() bool {
	return len(p.Broken) > 0 || slices.ContainsFunc(p.Cells, func(c Cell) bool { return c.Keeps != "" })
}

// stand says how the shipment stands, at the head of each page.
func (x *Shipment) stand() string {
	if x.Handover != nil {
		return "AS HANDED OVER " + x.Handover.At
	}
	if list := x.Draft(); len(list) > 0 {
		more := ""
		if len(list) > 2 {
			more = fmt.Sprintf("; and %d more", len(list)-2)
			list = list[:2]
		}
		return "DRAFT: " + strings.Join(list, "; ") + more
	}
	return "CLOSED, not handed over by the log"
}

// foot is what stands at the foot of each page.
func (x *Shipment) foot() []string {
	return []string{fmt.Sprintf("Shipment %s by %s, log entry %d. Judged for %s by rulebook %.12s.", triage.SpacedTag(x.Tag), x.Route, x.Entry, x.On, x.Digest),
		"Check against current rules and your authority; this is not legal advice and no permission. " + triage.LocalFirst}
}

// cells returns all cells of the shipment.
func (x *Shipment) cells() (list []*Cell) {
	for i := range x.Packages {
		for j := range x.Packages[i].Cells {
			list = append(list, &x.Packages[i].Cells[j])
		}
	}
	return list
}

// order is "package 2 of 5".
func (x *Shipment) order(i int) string { return fmt.Sprintf("package %d of %d", i+1, len(x.Packages)) }

// kg prints milligrams in kg.
func kg(mg int64) string {
	if mg == 0 {
		return NotKnown
	}
	return exports.Amount(mg, 1e6) + " kg"
}

// known puts the words for it where a text is blank.
func known(text string) string {
	if text == "" {
		return NotKnown
	}
	return text
}

// wh adds up ratings, and counts the cells without one.
func wh(cells []*Cell) string {
	var sum, most triage.Micro
	unrated := 0
	for _, c := range cells {
		if e := c.V.Facts[triage.FEnergy]; e.State == triage.Known {
			sum += e.Hi
			most = max(most, e.Hi)
		} else {
			unrated++
		}
	}
	if unrated == len(cells) {
		return NotKnown
	}
	text := sum.Rounded(2).String() + " Wh; largest single " + most.Rounded(2).String() + " Wh"
	if unrated > 0 {
		text += fmt.Sprintf("; %d without a rating, which is not in the sum", unrated)
	}
	return text
}

// tags lists tags as they are printed.
func tags(cells []*Cell) string {
	var list []string
	for _, c := range cells {
		list = append(list, triage.SpacedTag(c.Tag))
	}
	return strings.Join(list, ", ")
}

// fact is the word of a fact, "" where it is not known.
func (c *Cell) fact(f triage.FactID) string {
	if x := c.V.Facts[f]; x.State == triage.Known {
		return x.Text(f)
	}
	return ""
}

// tally counts cells by a word, in the order in which the words come up; a blank
// word is "not known" and comes last.
func tally(cells []*Cell, word func(*Cell) string) string {
	var words []string
	n := map[string]int{}
	for _, c := range cells {
		w := word(c)
		if n[w]++; n[w] == 1 && w != "" {
			words = append(words, w)
		}
	}
	var parts []string
	for _, w := range words {
		parts = append(parts, fmt.Sprintf("%d %s", n[w], w))
	}
	if n[""] > 0 {
		parts = append(parts, fmt.Sprintf("%d %s", n[""], NotKnown))
	}
	if len(parts) == 0 {
		return NotKnown
	}
	return strings.Join(parts, "; ")
}

func plural(n int, thing string) string { return exports.Count(int64(n), thing) }
