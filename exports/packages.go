package exports

import (
	"fmt"
	"io"
	"strings"

	"pouchward/triage"
	"pouchward/triage/consign"
)

// A PackageReport is packages with what was found of them.
type PackageReport struct {
	On       triage.Date
	Rulebook string
	Route    triage.Route
	Packages []*consign.Package
	Judged   []*consign.Judgement
	Breaches []consign.Breach // over all of them
	Refused  []string
}

// Packages writes each package with every breach, then what it owes.
func Packages(w io.Writer, r *PackageReport) error {
	c := card{width: width}
	fmt.Fprintf(&c.b, "PACKAGES by %s, judged for %s by rulebook %.12s\n", r.Route, r.On, r.Rulebook)
	for i, p := range r.Packages {
		x := r.Judged[i]
		c.rule("-")
		c.item("PACKAGE", Clean(fmt.Sprintf("%s: %s, %s", p.Tag, plural(len(p.Items), "item"), x.Words)))
		c.item("", massText(x))
		c.breaches(x.Breaches)
		for _, n := range x.Notes {
			c.item("SEE TO", n)
		}
		kind := ""
		for _, d := range x.Marks {
			label := ""
			if d.Kind != kind {
				kind, label = d.Kind, dutyLabels[d.Kind]
			}
			c.duty(label, d.Text, d.Words, d.LetterMM, d.AnyOf, d.Source)
		}
		for _, d := range x.Spared {
			c.item("NOT OWED", "The mark "+d.Words+": the consignment meets the exception. ["+d.Source+"]")
		}
	}
	c.rule("-")
	if len(r.Breaches) > 0 {
		c.item("TOGETHER", fmt.Sprintf("Over the %s of this consignment:", plural(len(r.Packages), "package")))
		c.breaches(r.Breaches)
	}
	for _, text := range r.Refused {
		c.item("REFUSED", Clean(text))
	}
	c.item("CARE", "Only what is described was judged. "+notAdvice+triage.LocalFirst)
	_, err := io.WriteString(w, c.b.String())
	return err
}

// massText says what a package weighs and how that is known.
func massText(x *consign.Judgement) string {
	net, gross := "net mass not known", "gross mass not known"
	if x.NetG > 0 {
		net = grams(x.NetG) + " net"
	}
	switch {
	case x.GrossG > 0 && x.Weighed:
		gross = grams(x.GrossG) + " gross, weighed"
	case x.GrossG > 0:
		gross = grams(x.GrossG) + " gross, worked out"
	}
	return upperFirst(net) + "; " + gross + "."
}

// grams prints a mass in kg, to the gram.
func grams(m triage.Micro) string { return (m / 1000).Rounded(3).String() + " kg" }

func (c *card) breaches(list []consign.Breach) {
	if len(list) == 0 {
		c.item("BREACH", "None is known.")
	}
	// The same of many items stands once, with all their tags.
	for i, b := range list {
		tags, first := "", true
		for k, o := range list {
			if o.Text != b.Text || o.Source != b.Source || o.Missing != b.Missing {
				continue
			}
			first = first && k >= i
			if o.Item != "" && !strings.Contains(" "+tags+",", " "+o.Item+",") {
				tags = strings.TrimPrefix(tags+", "+o.Item, ", ")
			}
		}
		if !first {
			continue
		}
		label, at := "BREACH", ""
		if b.Missing {
			label = "NOT KNOWN"
		}
		if tags != "" {
			at = Clean(tags) + ": "
		}
		c.item(label, at+Clean(b.Text))
		c.item("", "["+b.Source+"]")
	}
}

// PackagesDoc is a report as JSON has it.
type PackagesDoc struct {
	On          string           `json:"on"`
	Rulebook    string           `json:"rulebook"`
	Route       string           `json:"route"`
	Packages    []PackageDoc     `json:"packages"`
	Consignment []consign.Breach `json:"consignment"`
	Refused     []string         `json:"refused"`
}

// PackageDoc is one package with what was found of it.
type PackageDoc struct {
	Package  string           `json:"package"`
	Items    []string         `json:"items"`
	Kind     string           `json:"kind"`
	UN       string           `json:"un"`
	Class    string           `json:"class"`
	Ways     []string         `json:"ways"` // of each item, "" for none
	NetG     *triage.Decimal  `json:"net_g"`
	GrossG   *triage.Decimal  `json:"gross_g"`
	Weighed  bool             `json:"weighed"`
	Papers   bool             `json:"papers"`
	Phone    bool             `json:"telephone"`
	Breaches []consign.Breach `json:"breaches"`
	Marks    []triage.DutyDoc `json:"marks"`
	Spared   []triage.DutyDoc `json:"spared"`
	Notes    []string         `json:"notes"`
}

// Document returns the report as JSON has it.
func (r *PackageReport) Document() *PackagesDoc {
	d := &PackagesDoc{On: r.On.String(), Rulebook: r.Rulebook, Route: r.Route.String(), Packages: []PackageDoc{},
		Consignment: append([]consign.Breach{}, r.Breaches...), Refused: append([]string{}, r.Refused...)}
	for i, p := range r.Packages {
		x := r.Judged[i]
		doc := PackageDoc{Package: p.Tag, Items: []string{}, Kind: x.Kind, UN: x.UN, Class: x.Class.String(), Ways: []string{},
			NetG: known(x.NetG), GrossG: known(x.GrossG), Weighed: x.Weighed, Papers: x.Papers, Phone: x.Phone,
			Breaches: append([]consign.Breach{}, x.Breaches...), Marks: dutyDocs(x.Marks), Spared: dutyDocs(x.Spared), Notes: append([]string{}, x.Notes...)}
		for n := range p.Items {
			doc.Items = append(doc.Items, p.Items[n].Tag)
			way := ""
			if w := x.Ways[n]; w != nil {
				way = w.ID
			}
			doc.Ways = append(doc.Ways, way)
		}
		if len(x.Ways) == 0 || x.Class == 0 && !hasWay(x) {
			doc.Class = ""
		}
		d.Packages = append(d.Packages, doc)
	}
	return d
}

// hasWay reports whether some item has a way: a class of none is no class.
func hasWay(x *consign.Judgement) bool {
	for _, w := range x.Ways {
		if w != nil {
			return true
		}
	}
	return false
}

func known(m triage.Micro) *triage.Decimal {
	if m <= 0 {
		return nil
	}
	d := triage.Decimal(m)
	return &d
}

func dutyDocs(list []*triage.Duty) []triage.DutyDoc {
	docs := []triage.DutyDoc{}
	for _, d := range list {
		docs = append(docs, d.Document())
	}
	return docs
}
