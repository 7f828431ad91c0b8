// Package consign judges packages and consignments of cells for a route and a
// day, and plans them. It is pure.
//
// Every limit is a duty of a way in triage/rules, or a record of packing.toml;
// none stands in this package. A breach quotes the duty with its source.
//
// # Terms
//
// The kind of a package is its UN number, condition and way: what goes together.
// All items of a package go by one way that is open to each; of the ways that are
// open to all, the one that the package breaks least, the lightest first. Exceptions
// are records that say "allows".
//
// Net mass is that of cells and batteries, equipment not counted. Where a device
// was weighed whole, its mass stands in for that of its battery: the worse side.
// Gross mass is weighed; before that it is worked out from the tare, which counts
// inner packagings and cushioning, and the upper bound of each mass; the judgement
// then says so. Marks that are not said to be on a package are listed as owed; once
// some are said, each that lacks is a breach.
//
// # Guarantees
//
// What is not known breaks a limit: a Breach with Missing set. A mass of 0 or less
// is not known. A mark exception is used only where the whole consignment is known
// to meet it. An item without a lawful way on the route is a breach of its package.
//
// A plan puts every item into exactly one package or leaves it with a reason and
// a source; each planned package has no breach; the same items in any order give
// the same plan, as long as no two share a tag.
//
// # Not judged
//
// Whether a thing fits by its measures; two-part packagings, where a text lets a
// UN packaging stand inside a plain one (the whole package is asked to be the UN
// one); strong cases of 12 kg and more without a UN packaging; what else is in a
// package. A permit of the shop has conditions that are not read here.
package consign

import "pouchward/triage"

// An Item is one cell or battery, or one device with what is installed in it, as
// it goes into a package.
type Item struct {
	Tag   string
	Case  triage.Case  // what its verdict rests on; judged for the route
	MassG triage.Micro // its mass in grams: scale, else the upper bound; 0 not known
	NetG  triage.Micro // of its cells and batteries alone, where that differs; 0 not known
	Count int          // cells or batteries in it; 0 is one
}

// An Outer is an outer packaging that the shop has.
type Outer struct {
	Name      string
	Level     string       // strong, pg2 or pg1; "" not known
	UNMark    string       // its UN mark without the symbol, "4G/Y25/S/26"
	TareG     triage.Micro // with inner packagings and cushioning; 0 not known
	MaxGrossG triage.Micro // as it may be filled; 0 not known
}

// A Package is what is closed for carriage.
type Package struct {
	Tag       string
	Outer     Outer
	Items     []Item
	Inner     bool         // each item is fully enclosed in its own inner packaging
	Fill      bool         // cushioning that neither burns nor conducts, and absorbs, round each
	GrossG    triage.Micro // weighed; 0 not yet
	TareG     triage.Micro // weighed; 0 is that of the outer packaging
	SpareSets *int         // sets of cells beyond what the equipment in it needs; nil not said
	Overpack  string       // name of the overpack that it stands in, "" for none
	Marked    []string     // the marks on it; nil not said
}

// A Breach is one duty that is not met, or not known to be met.
type Breach struct {
	Package string `json:"package"`
	Item    string `json:"item,omitempty"` // tag, "" for the package
	Text    string `json:"text"`
	Source  string `json:"source"`
	Rule    string `json:"rule"`
	Missing bool   `json:"missing"` // not known yet, rather than broken
}

// A Judgement is what was found of one package.
type Judgement struct {
	Kind     string            // UN number, condition, class and way: what goes together
	Words    string            // the same as a person reads it, the ids of the ways last
	UN       string            // the UN numbers, joined by " and "
	Class    triage.RouteClass // the heaviest used
	Ways     []*triage.Way     // the way that each item goes by, nil for none
	Breaches []Breach          // none known when nil
	Marks    []*triage.Duty    // marks, labels, papers and telephone owed
	Spared   []*triage.Duty    // marks that are not owed, by an exception
	Papers   bool              // papers are owed
	Phone    bool              // an emergency telephone number is owed
	GrossG   triage.Micro      // weighed, or worked out; 0 not known
	Weighed  bool
	NetG     triage.Micro // 0 not known
	Notes    []string     // what stays for people to see to
}

// Lawful reports whether no breach is known.
func (j *Judgement) Lawful() bool { return len(j.Breaches) == 0 }
