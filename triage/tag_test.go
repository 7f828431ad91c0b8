package triage

import (
	"slices"
	"strings"
	"testing"
)

// Every tag of the two short kinds, and every 97th cell tag, against every
// single wrong symbol and every exchange of neighbours.
func TestTagCatchesErrors(t *testing.T) {
	for k := ContainerTag; k <= CellTag; k++ {
		stride := int64(1)
		if k == CellTag {
			stride = 97
		}
		for n := int64(0); n < TagCount(k); n += stride {
			tag := IssueTag(k, n)
			if got, kind, err := CheckTag(tag); err != nil || got != tag || kind != k {
				t.Fatalf("CheckTag(%s) = %s, %v, %v", tag, got, kind, err)
			}
			if kind, back := TagNumber(tag); kind != k || back != n {
				t.Fatalf("TagNumber(%s) = %v %d, want %v %d", tag, kind, back, k, n)
			}
			if key := TagKey(tag); TagOfKey(key) != tag {
				t.Fatalf("TagOfKey(TagKey(%s)) = %s", tag, TagOfKey(key))
			}
			for i := range len(tag) {
				for j := range tagBase {
					wrong := tag[:i] + tagSymbols[j:j+1] + tag[i+1:]
					if wrong != tag && tagHolds(wrong) {
						t.Fatalf("%s for %s is not caught", wrong, tag)
					}
				}
				smudged := tag[:i] + "?" + tag[i+1:]
				if got, err := RestoreTag(smudged); err != nil || got != tag {
					t.Fatalf("RestoreTag(%s) = %s, %v; want %s", smudged, got, err, tag)
				}
				if i > 0 && tag[i] != tag[i-1] {
					if x := tag[:i-1] + tag[i:i+1] + tag[i-1:i] + tag[i+1:]; tagHolds(x) {
						t.Fatalf("%s for %s is not caught", x, tag)
					}
				}
			}
		}
	}
}

// All tags of a kind differ, and neighbours differ in every symbol but the
// last.
func TestTagsInTurnLookDifferent(t *testing.T) {
	for k := ContainerTag; k <= CellTag; k++ {
		seen := make(map[string]bool, TagCount(k))
		last := ""
		for n := range TagCount(k) {
			tag := IssueTag(k, n)
			if seen[tag] {
				t.Fatalf("%v tag %s comes twice", k, tag)
			}
			seen[tag] = true
			for i := 0; last != "" && i < len(tag)-1; i++ {
				if tag[i] == last[i] {
					t.Fatalf("%s after %s: symbol %d is the same", tag, last, i+1)
				}
			}
			last = tag
		}
	}
}

func TestCheckTagWords(t *testing.T) {
	for _, row := range []struct{ in, want, fail string }{
		{in: "F2XE9R", want: "F2XE9R"}, // the example of DESIGN section 3
		{in: " f2 xe9r ", want: "F2XE9R"},
		{in: "f2-xe9r", want: "F2XE9R"},
		{in: "F2XE9T", fail: "F2 XE9R (symbol 6)"},
		{in: "2FXE9R", fail: "two exchanged, F2 XE9R"},
		{in: "F2XE8R", fail: `'8' is no tag symbol (23479CDEFHJKNPRTX); if only that one was misread it is F2 XE9R`},
		{in: "F2XE?R", fail: "it is F2 XE9R"},
		{in: "B2XE8R", fail: `"B8" are no tag symbols`},
		{in: "F2X", fail: "has 3 symbols: a cell has 6, a shipment 5, a container 4"},
		{in: "", fail: "has 0 symbols"},
		{in: "F2XE9RR", fail: "has 7 symbols"},
		{in: "F2XÉ9R", fail: "is no tag symbol"},
	} {
		got, _, err := CheckTag(row.in)
		if got != row.want || (err == nil) != (row.fail == "") || err != nil && !strings.Contains(err.Error(), row.fail) {
			t.Errorf("CheckTag(%q) = %q, %v; want %q, %q", row.in, got, err, row.want, row.fail)
		}
	}
	for _, bad := range []string{"F2XE9R", "F??E9R", "F?", "F2XE9RR?", "O2XE9?", "?"} {
		if got, err := RestoreTag(bad); err == nil {
			t.Errorf("RestoreTag(%q) = %q, want an error", bad, got)
		}
	}
	if got := SpacedTag("F2XE9R"); got != "F2 XE9R" {
		t.Errorf("SpacedTag = %q", got)
	}
}

func TestNearTags(t *testing.T) {
	for _, c := range []struct{ typed, want string }{
		{"F2XE9T", "F2XE9R"}, // one misread
		{"2fxe9r", "F2XE9R"}, // two exchanged
		{"F2XE9", "F2XE9R"},  // one left out
		{"F2XXE9R", "F2XE9R"},
		{"F2 XE9-T", "F2XE9R"},
	} {
		if got := NearTags(c.typed); !slices.Contains(got, c.want) {
			t.Errorf("%q: got %v, want %s among them", c.typed, got, c.want)
		}
		for _, near := range NearTags(c.typed) {
			if _, _, err := CheckTag(near); err != nil {
				t.Errorf("%q: %s is named and does not hold: %v", c.typed, near, err)
			}
		}
	}
	for _, typed := range []string{"", "F2XO9R", "F2XE9RRRRR", "?2XE9R", "é2XE9R"} {
		if got := NearTags(typed); len(got) > 0 && typed != "" {
			t.Errorf("%q: got %v, want none", typed, got)
		}
	}
}

// The tag 2X 79HE typed by a scanner onto an AZERTY keyboard. Layout from memory.
func TestUnshiftTag(t *testing.T) {
	whole, err := RestoreTag("2X79H?")
	if err != nil {
		t.Fatal(err)
	}
	garbled := strings.NewReplacer("2", "é", "3", "\"", "4", "'", "7", "è", "9", "ç").Replace(strings.ToLower(whole))
	if got, ok := UnshiftTag(garbled); !ok || got != whole {
		t.Errorf("UnshiftTag(%q) = %q, %v, want %q", garbled, got, ok, whole)
	}
	for _, text := range []string{"", whole, "éé", garbled + "x", "é" + whole[1:5] + "2", "don't"} {
		if got, ok := UnshiftTag(text); ok && got != whole {
			t.Errorf("UnshiftTag(%q) = %q", text, got)
		}
	}
	if got, ok := UnshiftTag(whole); ok {
		t.Errorf("a tag that needs no repair was repaired to %q", got)
	}
}
