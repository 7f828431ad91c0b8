package exports

import "strings"

// bigRows is the height of a big letter in lines.
const bigRows = 5

// bigLetters are drawn for the words of the emergency card, which must be read
// across a room: a letter of five lines is about 2 cm high on paper. A word with
// another letter in it is printed in capitals of one line; a test says so when
// the card gets such a word.
var bigLetters = map[rune][bigRows]string{
	'A': {" ### ", "#   #", "#####", "#   #", "#   #"},
	'C': {" ####", "#    ", "#    ", "#    ", " ####"},
	'D': {"#### ", "#   #", "#   #", "#   #", "#### "},
	'E': {"#####", "#    ", "#### ", "#    ", "#####"},
	'G': {" ####", "#    ", "#  ##", "#   #", " ####"},
	'L': {"#    ", "#    ", "#    ", "#    ", "#####"},
	'N': {"#   #", "##  #", "# # #", "#  ##", "#   #"},
	'O': {" ### ", "#   #", "#   #", "#   #", " ### "},
	'R': {"#### ", "#   #", "#### ", "#  # ", "#   #"},
	'T': {"#####", "  #  ", "  #  ", "  #  ", "  #  "},
	'U': {"#   #", "#   #", "#   #", "#   #", " ### "},
	'W': {"#   #", "#   #", "# # #", "## ##", "#   #"},
	'Y': {"#   #", " # # ", "  #  ", "  #  ", "  #  "},
}

// big returns the lines of a word in big letters, or the word as one line where
// a letter is not drawn.
func big(word string) []string {
	lines := make([]string, bigRows)
	for _, r := range word {
		letter, ok := bigLetters[r]
		if !ok {
			return []string{word}
		}
		for i := range lines {
			lines[i] += letter[i] + "  "
		}
	}
	for i := range lines {
		lines[i] = strings.TrimRight(lines[i], " ")
	}
	return lines
}
