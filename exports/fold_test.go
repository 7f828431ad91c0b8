package exports

import (
	"strings"
	"testing"
)

func TestFold(t *testing.T) {
	for _, c := range []struct {
		line      string
		width, in int
		want      string
	}{
		{"", 10, 2, ""},
		{"short", 10, 2, "short"},
		{"exactly te", 10, 2, "exactly te"},
		{"exactly ten", 10, 2, "exactly|  ten"},
		{"  12  a  b c", 9, 4, "  12  a|    b c"},
		{"unbreakablelong word", 8, 2, "unbreakablelong|  word"},
		{"é é é é é", 5, 0, "é é é|é é"},
		{"     unbreakable", 4, 1, "     unbreakable"},
	} {
		if got := strings.Join(Fold(c.line, c.width, c.in), "|"); got != c.want {
			t.Errorf("%q to %d: got %q, want %q", c.line, c.width, got, c.want)
		}
	}
}
