package report

import (
	"fmt"
	"io"
	"strings"

	"pouchward/exports"
	"pouchward/triage"
)

// textWidth is the width of the pages of text of a pack.
const textWidth = 80

// rootRecipe makes the root again from the leaf hashes (RFC 6962, section 2.1). It
// takes the file of entries of a pack, and needs nothing but a Python.
const rootRecipe = `import csv, hashlib
rows = csv.DictReader(open("csv/entries.csv", encoding="utf-8-sig", newline=""))
leaves = [bytes.fromhex(r["leaf hash"]) for r in rows]
def root(l):
    if len(l) == 1: return l[0]
    k = 1 << (len(l) - 1).bit_length() - 1
    return hashlib.sha256(b"\1" + root(l[:k]) + root(l[k:])).digest()
print(len(leaves), root(leaves).hex())
`

// HowTo writes how to check a pack and its log without this program.
func HowTo(w io.Writer, r *Report) error {
	var b strings.Builder
	if r.Notice != "" {
		para(&b, "", r.Notice)
	}
	if r.Beside != "" {
		para(&b, "", "FILES BESIDE THE LOG ARE NOT AS IT SAYS: "+r.Beside+". Its entries verify.")
	}
	para(&b, "", fmt.Sprintf("How to check what is in this folder. Log of %s, made for %s.", r.Site, r.On))
	b.WriteString("\nTHE FOLDER\n")
	para(&b, "  ", "sha256sum -c SHA256SUMS")
	para(&b, "  ", "says of each file whether it is the one that was handed over. It does not say who made it.")
	part := ""
	for _, c := range r.Checks {
		if c.Part != part {
			part = c.Part
			fmt.Fprintf(&b, "\n%s\n", strings.ToUpper(part))
		}
		if c.Name == "" {
			b.WriteString("    " + exports.Clean(c.Text) + "\n") // a command stays on its line
			continue
		}
		para(&b, "  ", c.Name+": "+c.Text)
	}
	b.WriteString("\nTHE ROOT FROM THE LEAF HASHES OF THIS FOLDER\n")
	para(&b, "  ", "With a Python, in this folder: python3, then these lines. They print the size and the root, which begin as the paper line does.")
	b.WriteString("\n" + rootRecipe + "\n")
	para(&b, "", triage.LocalFirst)
	_, err := io.WriteString(w, b.String())
	return err
}

// para writes wrapped text, indented. A word that is longer than a line stays whole: it
// is a hash or a key, to be copied.
func para(b *strings.Builder, indent, text string) {
	for _, line := range exports.Wrap(exports.Clean(text), textWidth-len(indent)) {
		b.WriteString(indent + line + "\n")
	}
}
