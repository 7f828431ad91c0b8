package exports

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"pouchward/triage"
)

// width of the card: a standard terminal, and a receipt printer's widest.
const width = 80

// CardOptions say how a card is drawn.
type CardOptions struct {
	Colour bool           // colour the banner; never the only sign of strength
	At     string         // the wall-clock time to look again, "" prints minutes only
	Why    bool           // add every line and the distance to it
	Routes []triage.Route // add the duties of these routes
	Local  *triage.Local  // the local question that is open, nil for none

	FromPart  []string // fields that part memory answered
	PartCells int      // from so many cells
}

// bannerRules is the line above and under the banner: the class can be told by
// its shape alone.
var bannerRules = [...]string{"=", "=", "=-", "#", "!"}

var bannerColours = [...]string{"\x1b[1m", "\x1b[1m", "\x1b[1;33m", "\x1b[1;31m", "\x1b[1;7;31m"}

// Card draws the verdict: what the hands do above the line, the papers below.
func Card(w io.Writer, rb *triage.Rulebook, v *triage.Verdict, refused []string, opt CardOptions) error {
	c := card{width: width}
	c.banner(v, opt)
	c.hands(v, opt)
	c.rule("-")
	c.why(v)
	c.papers(v, opt)
	c.open(v)
	c.told(rb, v, refused, opt)
	c.routePages(v, opt.Routes)
	if opt.Why {
		c.lines(rb, v)
	}
	_, err := io.WriteString(w, c.b.String())
	return err
}

// Papers draws what is read sitting down: condition, size and waste in short, then
// each route with what it asks for.
func Papers(w io.Writer, rb *triage.Rulebook, v *triage.Verdict, refused []string, routes []triage.Route) error {
	c := card{width: width}
	title := "PAPERS"
	if v.Tag != "" {
		title += "   tag " + spaced(Clean(v.Tag))
	}
	fmt.Fprintln(&c.b, title)
	c.rule("-")
	c.item("HANDS", HandlingText(v.Handling.String())+". Read the card before you touch it.")
	c.condition(v)
	c.size(v)
	c.waste(v)
	for _, e := range refused {
		c.item("REFUSED", Clean(e))
	}
	c.routePages(v, routes)
	for _, n := range v.Notices(rb) {
		c.item("NOTICE", n)
	}
	c.item("RULES", fmt.Sprintf("Judged for %s by rulebook %.12s. Post is not judged.", v.On, rb.Digest))
	_, err := io.WriteString(w, c.b.String())
	return err
}

type card struct {
	b     strings.Builder
	width int
	rows  *[]PanelRow // where a page is filled, not a card drawn
}

func (c *card) rule(pattern string) {
	if c.rows != nil {
		return
	}
	fmt.Fprintln(&c.b, strings.Repeat(pattern, c.width/len(pattern)))
}

func (c *card) banner(v *triage.Verdict, opt CardOptions) {
	word, verb := Strength(v)
	tag := ""
	if v.Tag != "" {
		tag = "tag " + spaced(Clean(v.Tag))
	}
	c.rule(bannerRules[v.Handling])
	left := " " + word + "   " + verb
	text := left + strings.Repeat(" ", max(2, c.width-len([]rune(left))-len([]rune(tag))-1)) + tag
	if opt.Colour {
		text = bannerColours[v.Handling] + text + "\x1b[0m"
	}
	fmt.Fprintln(&c.b, strings.TrimRight(text, " "))
	c.rule(bannerRules[v.Handling])
}

// Strength returns the word of strength and the verb of the handling class.
func Strength(v *triage.Verdict) (word, verb string) {
	for _, a := range v.Advice {
		if a.Word != "" {
			return a.Word, a.Verb
		}
	}
	return "WARNING", strings.ToUpper(v.Handling.String())
}

// spaced writes a tag as it is said: F2 XE9R.
func spaced(tag string) string {
	if len(tag) < 4 || strings.ContainsAny(tag, " -") {
		return tag
	}
	return tag[:2] + " " + tag[2:]
}

// item prints a label and wrapped text beside it.
func (c *card) item(label, text string) {
	if c.rows != nil {
		*c.rows = append(*c.rows, PanelRow{label, text})
		return
	}
	const indent = 11
	lines := Wrap(text, c.width-indent)
	for i, l := range lines {
		if i > 0 {
			label = ""
		}
		fmt.Fprintf(&c.b, " %-*s%s\n", indent-1, label, l)
	}
}

// Wrap breaks text into lines of at most width columns, at spaces.
func Wrap(text string, width int) []string {
	var lines []string
	var line strings.Builder
	n := 0
	for _, word := range strings.Fields(text) {
		l := len([]rune(word))
		if n > 0 && n+1+l > width {
			lines = append(lines, line.String())
			line.Reset()
			n = 0
		}
		if n > 0 {
			line.WriteByte(' ')
			n++
		}
		line.WriteString(word)
		n += l
	}
	return append(lines, line.String())
}

func (c *card) hands(v *triage.Verdict, opt CardOptions) {
	if v.Handling == triage.Emergency && onlyVolts(v) {
		c.item("UNLESS", unlessVolts)
	}
	label := "DO"
	for i, l := range v.DoLines() {
		for j, part := range Wrap(l, c.width-9) {
			number := "  "
			if j == 0 {
				number = fmt.Sprintf("%d ", i+1)
			}
			fmt.Fprintf(&c.b, " %-4s%3s %s\n", label, number, part)
			label = ""
		}
	}
	if text := again(v, opt); text != "" {
		fmt.Fprintf(&c.b, " AGAIN    %s\n", text)
	}
	for _, l := range v.CautionLines() {
		for j, part := range Wrap(l, c.width-10) {
			mark := "CARE"
			if j > 0 {
				mark = ""
			}
			fmt.Fprintf(&c.b, " %-4s     %s\n", mark, part)
		}
	}
}

// unlessVolts is what else an emergency by voltage alone may be.
const unlessVolts = "No smoke, hiss, smell or heat and you may have miscounted cells or misread the meter? Stand back, read label and meter again from there."

// onlyVolts reports that nothing but a voltage made the emergency: a slip in the
// count of cells looks the same.
func onlyVolts(v *triage.Verdict) bool {
	for i := range v.HandlingFindings {
		f := &v.HandlingFindings[i]
		if f.State == triage.Fired && (f.Rule == nil || f.Rule.Handling == "emergency" && f.Rule.ID != "over-0-20") {
			return false
		}
	}
	return v.Facts[triage.FRequiredOpen].Lo == 0
}

func span(minutes int) string {
	if minutes >= 120 && minutes%60 == 0 {
		return fmt.Sprintf("%d h", minutes/60)
	}
	return fmt.Sprintf("%d min", minutes)
}

// why prints the findings that made the handling class, then the milder ones by
// name only.
func (c *card) why(v *triage.Verdict) {
	label, milder, shown, raised := "WHY", []string{}, 0, []string{}
	for i := range v.HandlingFindings {
		f := &v.HandlingFindings[i]
		switch {
		case f.State == triage.SetAside:
			c.item(label, fmt.Sprintf("Set aside by %s: %s.", Clean(f.By), f.Rule.Title))
		case f.State != triage.Fired:
			continue
		case f.Rule == nil && f.Raised.Handling != v.Handling:
			if text := HandlingText(f.Raised.Handling.String()) + " by " + Clean(f.By); !slices.Contains(milder, text) {
				milder = append(milder, text)
			}
			continue
		case f.Rule == nil && slices.Contains(raised, f.By): // an entry may count for more than one reason
			continue
		case f.Rule == nil:
			raised = append(raised, f.By)
			c.item(label, "Raised by "+Clean(f.By)+".")
		case f.Rule.Handling != v.Handling.String() || shown == 2:
			milder = append(milder, lowerFirst(f.Rule.Title))
			continue
		default:
			shown++
			c.item(label, findingText(f))
			c.item("", cite(&f.Rule.Record))
		}
		label = ""
	}
	if len(raised) > 0 {
		c.item("", "["+triage.RaisedSource+"]")
	}
	if label == "WHY" && len(milder) == 0 {
		c.item(label, "None of the lines was crossed and every required reading is there.")
	}
	if len(milder) > 0 {
		c.item(label, "Also: "+strings.Join(milder, "; ")+".")
	}
}

func findingText(f *triage.Finding) string {
	if f.Shown == nil || f.Shown.Limit() == "is yes" {
		return f.Rule.Title + "."
	}
	if strings.HasPrefix(f.Shown.Limit(), "is ") {
		return f.Rule.Title + "."
	}
	return fmt.Sprintf("%s: %s (line %s).", f.Rule.Title, f.ValueText(), f.Shown.Limit())
}

func cite(r *triage.Record) string {
	tag := string(r.Basis) + ": "
	if r.Basis == triage.CommonPractice && strings.HasPrefix(r.Source, "common practice") {
		tag = "" // the source says so itself
	}
	source := r.Source
	if r.Confidence == "memory" && !strings.Contains(source, "from memory") {
		source += " (from memory)"
	}
	return "[" + tag + source + "]"
}

func lowerFirst(s string) string {
	if s == "" {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}

func (c *card) size(v *triage.Verdict) {
	e, unit := v.Facts[triage.FEnergy], v.Facts[triage.FUnit]
	text := strings.ToUpper(v.Size.String())
	switch {
	case e.State == triage.Known:
		text += ": " + e.Text(triage.FEnergy)
	default:
		text += ": rating " + e.State.Word()
	}
	if unit.State == triage.Known {
		text += ", a " + unit.Text(triage.FUnit)
	} else {
		text += ", one cell or several: not known"
	}
	if m, ok := v.SmallMargin(); ok {
		switch near := m.Limit / 20; { // a margin is shown when it is under 5 %
		case m.Over > 0:
			text += fmt.Sprintf(", %s Wh over %s Wh", m.Over, m.Limit)
		case m.Over == 0:
			text += fmt.Sprintf(", exactly at %s Wh", m.Limit)
		case -m.Over < near:
			text += fmt.Sprintf(", %s Wh under %s Wh", -m.Over, m.Limit)
		}
		text += "."
		if m.MostMah > 0 && m.Over > -m.Limit/20 {
			text += fmt.Sprintf(" At %s V the most that stays small is %s mAh.", v.Reading[triage.NominalV].Num, m.MostMah)
		}
	}
	open := openMetal(v)
	if open != nil {
		text += ". Lithium metal is sized by its lithium content, which is " + v.Facts[triage.FLithium].State.Word() + " (lithium_g)."
	}
	c.item("SIZE", text)
	if open != nil {
		c.item("", cite(&open.Record))
	}
	for i := range v.SizeFindings {
		if f := &v.SizeFindings[i]; f.State == triage.Fired {
			c.item("", cite(&f.Rule.Record))
		}
	}
}

var wasteText = map[triage.Waste]string{
	triage.NotWaste:       "NOT WASTE while it is kept for reuse",
	triage.CasingIntact:   "CASING INTACT",
	triage.WasteUnknown:   "CASING NOT KNOWN",
	triage.CasingBreached: "CASING BREACHED",
}

func (c *card) waste(v *triage.Verdict) {
	text, source := wasteText[v.Waste], ""
	for i := range v.WasteFindings {
		f := &v.WasteFindings[i]
		if f.State != triage.Fired {
			continue
		}
		if f.Rule == nil && f.Raised.Waste == v.Waste {
			text += ": found by " + Clean(f.By)
			break
		}
		if f.Rule != nil && f.Rule.Waste == v.Waste.String() {
			text += ": " + lowerFirst(f.Rule.Title)
			source = cite(&f.Rule.Record)
			break
		}
	}
	c.item("WASTE", text+".")
	if source != "" {
		c.item("", source)
	}
	c.codes(v)
	for _, l := range v.StateLines() {
		c.item("", l)
	}
}

// codes are the waste codes, each once, with one citation for neighbours that share it: a cell of which little is known
// may be of several chemistries and in a device or out of it.
func (c *card) codes(v *triage.Verdict) {
	left, list := v.WasteCodes(), []string{}
	for i, s := range v.Streams {
		for _, code := range s.Codes {
			if j := slices.Index(left, code); j >= 0 {
				left, list = slices.Delete(left, j, j+1), append(list, code)
			}
		}
		if i+1 < len(v.Streams) && cite(&v.Streams[i+1].Record) == cite(&s.Record) {
			continue
		}
		if len(list) > 0 {
			c.item("", upperFirst(strings.Join(list, "; "))+".")
		}
		c.item("", cite(&s.Record))
		list = list[:0]
	}
}

// routeLabels are the answers as the table of routes prints them.
var routeLabels = [...]string{"SMALL", "GROUND", "RECYCLING", "REGULATED", "DAMAGED", "CRITICAL", "APPROVAL", "UNDECIDED", "FORBIDDEN"}

// routes is the table of all routes, grouped by answer, the lightest first; routes
// with the same answer for the same reason share a line.
func (c *card) routes(v *triage.Verdict) {
	c.item("ROUTES", "by answer, the lightest first:")
	for class := range routeLabels {
		label := routeLabels[class]
		var done [triage.NumRoutes]bool
		for r := range triage.NumRoutes {
			if done[r] || v.Routes[r].Class != triage.RouteClass(class) {
				continue
			}
			why, source := v.RouteWhy(r)
			names := []string{r.String()}
			for o := r + 1; o < triage.NumRoutes; o++ {
				if w, s := v.RouteWhy(o); w == why && s == source && v.Routes[o].Class == v.Routes[r].Class {
					names = append(names, o.String())
					done[o] = true
				}
			}
			c.item(label, strings.Join(names, ", ")+": "+why+".")
			if source != "" {
				c.item("", "["+source+"]")
			}
			label = ""
		}
	}
}

// nextShown is how many readings worth taking a card names.
const nextShown = 3

// open prints what is not known, with the reason, and what to measure next.
func (c *card) open(v *triage.Verdict) {
	if list := NotKnown(v); list != "" {
		c.item("NOT KNOWN", list)
	}
	if len(v.Next) == 0 {
		text := "Nothing more would change this."
		if v.Handling == triage.Emergency {
			text = "Measure nothing. Get away."
		}
		c.item("NEXT", text)
		return
	}
	label := "NEXT"
	for i, n := range v.Next {
		if i == nextShown && c.rows == nil {
			c.item("", fmt.Sprintf("and %d more (--why or --json)", len(v.Next)-i))
			break
		}
		c.item(label, NextText(n))
		label = ""
	}
}

// NextText is one reading worth taking, in words.
func NextText(n triage.Next) string {
	f := &triage.Fields[n.Field]
	return fmt.Sprintf("%s (%s, %s): could change %s from %s to %s.", upperFirst(f.Label), f.Name, seconds(f.Seconds), n.Answer, classText(n.From), classText(n.To))
}

func upperFirst(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

func seconds(n int) string {
	if n >= 120 {
		return fmt.Sprintf("%d min", n/60)
	}
	return fmt.Sprintf("%d s", n)
}

// NotKnown lists the required readings and the rating that are open.
func NotKnown(v *triage.Verdict) string {
	var list []string
	f := &v.Facts
	signs := 0
	for s := triage.FSwollen; s <= triage.FMisused; s++ {
		if x := f[s]; x.State != triage.Known && (s != triage.FWarmFelt || f[triage.FWarm].State != triage.Known) {
			signs++
			list = append(list, triage.FactTable[s].Label+" "+signState(x.State))
		}
	}
	if signs > 6 {
		list = []string{fmt.Sprintf("%d signs NOT LOOKED FOR", signs)}
	}
	if x := f[triage.FRecalled]; x.State != triage.Known {
		list = append(list, "recall list NOT LOOKED UP")
	}
	if f[triage.FWarm].State != triage.Known {
		list = append(list, "warmth NOT MEASURED")
	}
	if x := v.Reading[triage.OcvV].State; x.NotYet() || x.Cannot() {
		list = append(list, "voltage "+x.Word()+", treated as charged")
	}
	if f[triage.FPackVolts].State == triage.Known && f[triage.FCellLow].State != triage.Known {
		list = append(list, "volts per cell: cells in series NOT COUNTED")
	}
	if x := f[triage.FEnergy]; x.State != triage.Known {
		list = append(list, "rating "+x.State.Word()+", treated as over the small limit")
	}
	return strings.Join(list, "; ")
}

func signState(s triage.State) string {
	if s.NotYet() {
		return "NOT LOOKED FOR"
	}
	return s.Word()
}
