package exports

import "strings"

// Fold breaks a line that is longer than width at its blanks and sets the rest in
// by so many. Within a line the blanks stay as they are: they make its columns. A
// word that is too long for any line stands alone.
func Fold(line string, width, in int) []string {
	var list []string
	rest := []rune(line)
	pad := ""
	for {
		room := width - len(pad)
		cut := -1
		begun := false // a break before the first word would only move it
		for i, r := range rest {
			if r != ' ' {
				begun = true
			} else if begun && (i <= room || cut < 0) {
				cut = i
			}
			if i >= room && cut >= 0 {
				break
			}
		}
		if len(rest) <= room || cut < 0 {
			return append(list, pad+string(rest))
		}
		list = append(list, pad+strings.TrimRight(string(rest[:cut]), " "))
		rest = []rune(strings.TrimLeft(string(rest[cut:]), " "))
		pad = strings.Repeat(" ", in)
	}
}
