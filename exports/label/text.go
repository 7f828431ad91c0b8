package label

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"pouchward/exports"
	"pouchward/triage"
)

// Text writes labels one below the other.
func Text(w io.Writer, labels []Label) error {
	for i, l := range labels {
		if i > 0 {
			if _, err := io.WriteString(w, "\n"); err != nil {
				return err
			}
		}
		if err := l.Text(w); err != nil {
			return err
		}
	}
	return nil
}

// textWidth is that of a label in plain text: 10 characters an inch on 62 mm stock
// would be 24, so it is for a receipt printer of 80 mm.
const textWidth = 42

// textFacts writes facts with their names beside them.
func textFacts(b *strings.Builder, facts []Fact) {
	const in = 10
	for i := range facts {
		f := &facts[i]
		name := f.Name
		for _, l := range breakWide(exports.Wrap(exports.Clean(f.text(len(f.Parts))), textWidth-in), textWidth-in) {
			fmt.Fprintf(b, "%-*s%s\n", in, name, l)
			name = ""
		}
	}
}

// textFoot writes what stands at the foot.
func textFoot(b *strings.Builder, asOf string) {
	rule(b, "-")
	for _, l := range append(exports.Wrap(exports.Clean(asOf)+" "+triage.LocalFirst, textWidth), NotMark) {
		fmt.Fprintln(b, l)
	}
}

func rule(b *strings.Builder, sign string) { fmt.Fprintln(b, strings.Repeat(sign, textWidth)) }

// breakWide breaks lines that a long word makes too wide.
func breakWide(lines []string, width int) []string {
	var list []string
	for _, l := range lines {
		for part := range slices.Chunk([]rune(l), width) {
			list = append(list, string(part))
		}
	}
	return list
}
