package pdf

import "slices"

// margin is that of a page of paper, in mm.
const margin = 15

// A Paper is a size of paper in mm.
type Paper struct {
	Name string
	W, H float64
}

// Papers are the sizes that a shop's printer takes.
var Papers = []Paper{{"a4", 210, 297}, {"letter", 215.9, 279.4}}

// PaperByName finds a paper.
func PaperByName(name string) (Paper, bool) {
	i := slices.IndexFunc(Papers, func(p Paper) bool { return p.Name == name })
	if i < 0 {
		return Paper{}, false
	}
	return Papers[i], true
}

// PaperOf is the usual paper of a country, by its two letters. Common practice:
// Letter in North America and the Philippines, A4 elsewhere; blank is the United
// States, as in the waste tables.
func PaperOf(country string) Paper {
	switch country {
	case "", "US", "CA", "MX", "PH":
		return Papers[1]
	}
	return Papers[0]
}

// Landscape turns the paper.
func (p Paper) Landscape() Paper { return Paper{p.Name, p.H, p.W} }

// A Flow writes text and tables downwards over as many pages as they take. Each of
// its pages has the foot of the document.
type Flow struct {
	Doc   *Doc
	Paper Paper
	Page  *Page
	Y     float64 // where the next line begins

	top float64 // where the page begins, under its head
}

// Flow begins a page.
func (d *Doc) Flow(p Paper) *Flow {
	f := &Flow{Doc: d, Paper: p}
	f.Break()
	return f
}

// Break begins a new page.
func (f *Flow) Break() {
	f.Page = f.Doc.Page(f.Paper.W, f.Paper.H)
	f.Page.foot = true
	f.Y = margin
	if f.Doc.Head != nil {
		f.Doc.Head(f)
	}
	f.top = f.Y
}

// Left and Width are where text begins and how wide it may be.
func (f *Flow) Left() float64  { return margin }
func (f *Flow) Width() float64 { return f.Paper.W - 2*margin }

// bottom is where text must end.
func (f *Flow) bottom() float64 { return f.Paper.H - margin - f.Doc.footHeight(f.Paper.W) }

// Room returns how much is left of the page, in mm.
func (f *Flow) Room() float64 { return f.bottom() - f.Y }

// Need begins a new page when less than so many mm are left of this one.
func (f *Flow) Need(h float64) {
	if f.Y+h > f.bottom()+1e-9 && f.Y > f.top {
		f.Break()
	}
}

// Space leaves so many mm free, none at the head of a page.
func (f *Flow) Space(h float64) {
	if f.Y > f.top {
		f.Y += h
	}
}

// Rule draws a line across.
func (f *Flow) Rule(weight float64) {
	f.Need(2)
	f.Page.Line(margin, f.Y+1, f.Paper.W-margin, f.Y+1, weight)
	f.Y += 2
}

// Para writes wrapped text.
func (f *Flow) Para(text string, s Style) { f.Indented(0, "", text, s) }

// Indented writes a label at the margin and wrapped text beside it, so many mm in.
func (f *Flow) Indented(in float64, label, text string, s Style) {
	bold := s
	bold.Bold = true
	labels := Wrap(label, in-1.5, bold)
	lines := Wrap(text, f.Width()-in, s)
	for i := range max(len(lines), len(labels)) {
		f.Need(Leading(s))
		if i < len(labels) {
			f.Page.Put(margin, f.Y+baseline(s), labels[i], bold)
		}
		if i < len(lines) {
			f.Page.Put(margin+in, f.Y+baseline(s), lines[i], s)
		}
		f.Y += Leading(s)
	}
}
