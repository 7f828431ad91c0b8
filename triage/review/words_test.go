package review

import "testing"

func TestCountOf(t *testing.T) {
	for _, x := range []struct {
		n          int64
		text, want string
	}{
		{2, "cells without a rating", "2 cells without a rating"},
		{0, "cells without a rating", "0 cells without a rating"},
		{1, "cells without a rating", "1 cell without a rating"},
		{1, "cells that were judged an emergency", "1 cell that was judged an emergency"},
		{1, "people whom the entries name", "1 person whom the entries name"},
		{1, "entries about cells under no name", "1 entry about cells under no name"},
		{1, "benches, parts and months held against the rest", "1 bench, parts and months held against the rest"},
		{1, "damaged cells handed over without a shipment", "1 damaged cell handed over without a shipment"},
		{1, "hand-overs that do not say whether papers went along", "1 hand-over that does not say whether papers went along"},
		{1, "cells of packages that the log does not have", "1 cell of packages that the log does not have"},
		{1, "recall list: no interval is in force", "1 recall list: no interval is in force"},
	} {
		if got := CountOf(x.n, x.text); got != x.want {
			t.Errorf("%d %q: %q, want %q", x.n, x.text, got, x.want)
		}
	}
}
