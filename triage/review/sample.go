package review

import (
	"bytes"
	"crypto/sha256"
	"slices"
)

// sampleSize is how many cells a reviewer walks to.
const sampleSize = 10

// A Sample is cells drawn at random: half of those in the shop, to walk from the
// record to the shelf and back, half of those that left within the period.
type Sample struct {
	Seed           string
	Here           []string // tags
	Gone           []string
	OfHere, OfGone int64 // from how many they were drawn
}

// NewSample draws it. Whoever has the seed draws the same again, with common tools:
// the tags with the least SHA-256 of seed, a space and the tag are taken. A reviewer
// who does not trust the shop names a seed that the shop could not know.
func NewSample(s *Snapshot, seed string) Sample {
	x := Sample{Seed: seed}
	var here, gone []string
	for i := range s.Cells {
		c := &s.Cells[i]
		switch last := c.Last(); {
		case last.Count > 0: // a lot is counted, not sampled
		case last.Is == Here:
			here = append(here, c.Tag)
		case last.Is == Out && (&pass{Snapshot: s}).within(c.Steps[len(c.Steps)-1].Happened):
			gone = append(gone, c.Tag)
		}
	}
	x.OfHere, x.OfGone = int64(len(here)), int64(len(gone))
	half := max(sampleSize/2, sampleSize-len(gone))
	x.Here = draw(here, seed, half)
	x.Gone = draw(gone, seed, sampleSize-len(x.Here))
	return x
}

func draw(tags []string, seed string, most int) []string {
	type ticket struct {
		sum [sha256.Size]byte
		tag string
	}
	list := make([]ticket, len(tags))
	for i, tag := range tags {
		list[i] = ticket{sha256.Sum256([]byte(seed + " " + tag)), tag}
	}
	slices.SortFunc(list, func(a, b ticket) int { return bytes.Compare(a.sum[:], b.sum[:]) })
	tags = tags[:min(most, len(tags))]
	for i := range tags {
		tags[i] = list[i].tag
	}
	return tags
}
