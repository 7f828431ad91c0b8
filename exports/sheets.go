package exports

import (
	"fmt"
	"io"
	"strings"

	"pouchward/triage"
)

// The sheets that a shop prints before its first cell: the wall sheet, the blank
// day sheet and a block of cell tags. What stands on a sheet is kept apart from
// how it is drawn: New... gathers it, Text draws it in plain characters.

// A WallSheet is the emergency card with what the shop adds to it.
type WallSheet struct {
	Site   string // blank when not answered
	Word   string // of strength
	When   string // what calls for it
	Steps  []Step
	Posts  []Post
	Care   []string
	Source string
}

// A Step is one line of the card: the word to shout, and what to do.
type Step struct{ Word, Text string }

// A Post is a number or a place; a blank Text is a line to write on, a Note
// stands under it.
type Post struct{ Label, Text, Note string }

// emergencyWhen is what is seen, heard or felt of a cell that reacts: the rules
// of handling class emergency without their numbers, so that it starts too early
// rather than too late.
const emergencyWhen = "Smoke, hiss, smell, heat, or a punctured cell:"

// NewWallSheet gathers the sheet from the rules and the facts of a shop. What no
// house file holds (the street address, the meeting place) is always a line to
// write on by hand.
func NewWallSheet(rb *triage.Rulebook, shop triage.Shop) *WallSheet {
	word, do, caution, source := rb.EmergencyLines()
	s := &WallSheet{Site: Clean(shop.Site), Word: word, When: emergencyWhen, Care: append(append([]string(nil), caution...), triage.LocalFirst), Source: source}
	for _, l := range do {
		first, rest, _ := strings.Cut(l, " ")
		s.Steps = append(s.Steps, Step{first, strings.TrimSpace(rest)})
	}
	s.Posts = []Post{
		{Label: "FIRE SERVICE", Text: Clean(shop.FireService)},
		{Label: "ADDRESS TO SAY"},
		{Label: "MEETING PLACE"},
		{Label: "AFTER HOURS CALL"},
		{Label: "ISOLATION PLACE", Text: Clean(shop.IsolationPlace), Note: "For a cell that is quiet. One that reacts stays where it is."},
	}
	return s
}

// blank is a line to write on.
func blank(n int) string { return strings.Repeat("_", max(n, 0)) }

// postIndent is where the text of a post begins.
const postIndent = 18

// EmergencyCard prints the card that asks nothing: the same words on screen and
// on the wall.
func EmergencyCard(w io.Writer, s *WallSheet, colour bool) error {
	c := card{width: width}
	c.rule("!")
	for i, st := range s.Steps {
		label := ""
		if i == 0 {
			label = s.Word
		}
		text := fmt.Sprintf(" %-8s %-6s %s", label, st.Word, st.Text)
		if colour && i == 0 {
			text = bannerColours[triage.Emergency] + text + "\x1b[0m"
		}
		fmt.Fprintln(&c.b, text)
	}
	c.rule("!")
	for _, p := range s.Posts {
		c.post(10, 28, p)
	}
	for _, l := range append(s.Care[:len(s.Care):len(s.Care)], "["+s.Source+"]") {
		for _, part := range Wrap(l, c.width-10) {
			fmt.Fprintf(&c.b, "          %s\n", part)
		}
	}
	_, err := io.WriteString(w, c.b.String())
	return err
}

// post prints a label at one column and its text, or a line to write on, at
// another.
func (c *card) post(label, at int, p Post) {
	lines := []string{blank(c.width - at - 1)}
	if p.Text != "" {
		lines = Wrap(p.Text, c.width-at)
	}
	if p.Note != "" {
		lines = append(lines, Wrap(p.Note, c.width-at)...)
	}
	name := p.Label
	for _, l := range lines {
		fmt.Fprintf(&c.b, "%*s%-*s%s\n", label, "", at-label, name, l)
		name = ""
	}
}

// Text draws the wall sheet: one page of 80 columns, big words, lines apart, so
// that it is read from across the room and written on by hand.
func (s *WallSheet) Text(w io.Writer) error {
	c := card{width: width}
	c.rule("!")
	c.beside(s.Word, s.When)
	c.rule("!")
	for _, st := range s.Steps {
		fmt.Fprintln(&c.b)
		c.beside(st.Word, st.Text)
	}
	fmt.Fprintln(&c.b)
	c.rule("!")
	for _, p := range s.Posts {
		fmt.Fprintln(&c.b)
		c.post(1, postIndent+1, p)
	}
	fmt.Fprintln(&c.b)
	c.rule("-")
	for _, l := range append(s.Care[:len(s.Care):len(s.Care)], "["+s.Source+"]") {
		for _, part := range Wrap(l, c.width-2) {
			fmt.Fprintf(&c.b, " %s\n", part)
		}
	}
	site := s.Site
	if site == "" {
		site = blank(30)
	}
	for _, part := range Wrap("Site: "+site, c.width-2) {
		fmt.Fprintf(&c.b, " %s\n", part)
	}
	_, err := io.WriteString(w, c.b.String())
	return err
}

// beside draws a word in big letters with its text to the right, in the middle.
func (c *card) beside(word, text string) {
	left := big(word)
	at := 0
	for _, l := range left {
		at = max(at, len(l))
	}
	at = max(at+4, 39)
	right := Wrap(text, c.width-at-1)
	from := max(0, (len(left)-len(right))/2)
	for i := range max(len(left), from+len(right)) {
		line := ""
		if i < len(left) {
			line = " " + left[i]
		}
		if j := i - from; j >= 0 && j < len(right) {
			line += strings.Repeat(" ", at-len(line)) + right[j]
		}
		fmt.Fprintln(&c.b, strings.TrimRight(line, " "))
	}
}
