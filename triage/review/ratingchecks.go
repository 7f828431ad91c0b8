package review

import (
	"fmt"

	"pouchward/triage"
)

const noTwoRatings = "cells without both ratings"

// both reports whether there are two ratings to hold against one another.
func both(l *label) bool { return l.printed() != 0 && l.computed() != 0 }

func byTag(c *Cell) string { return c.Tag }

// byPart has one matter of all cells of a part, which have one label.
func byPart(c *Cell) string {
	if c.Part == "" {
		return c.Tag
	}
	return "part " + c.Part
}

// ratingCrosses looks for cells whose two ratings lie on two sides of a limit.
func ratingCrosses(p *pass) {
	p.labelled(byTag, func(l *label) string {
		limit := p.crossed(l)
		if limit == 0 {
			return ""
		}
		return fmt.Sprintf("%s, with the limit of %s Wh between them", l.ratings(), limit)
	}, both, noTwoRatings)
}

// crossed returns the limit between the two ratings, 0 for none.
func (p *pass) crossed(l *label) triage.Micro {
	if !both(l) {
		return 0
	}
	return p.limitWhere(l, func(limit triage.Micro) bool { return (l.printed() <= limit) != (l.computed() <= limit) })
}

// ratings says the two in words.
func (l *label) ratings() string {
	return fmt.Sprintf("%s Wh is printed, %s V times %s mAh is %s Wh", l.printed(), l.r[triage.NominalV].Num, l.r[triage.RatedMah].Num, l.computed())
}

// ratingDiffers looks for cells whose two ratings differ by more than labels round,
// with no limit between them.
func ratingDiffers(p *pass) {
	crosses := p.withLimits("review-rating-crosses")
	p.labelled(byTag, func(l *label) string {
		if !both(l) || crosses.crossed(l) != 0 {
			return ""
		}
		d, of := l.printed()-l.computed(), l.computed()
		if d = max(d, -d); !moreThan(d, of, p.limit("differ_pct")) {
			return ""
		}
		return fmt.Sprintf("%s: %.1f %% apart", l.ratings(), 100*float64(d)/float64(of))
	}, both, noTwoRatings)
}

// moreThan reports whether a part is more than a share of a whole, both above 0 and
// far from the greatest numbers.
func moreThan(part, whole triage.Micro, pct int64) bool {
	return float64(part)*100 > float64(whole)*float64(pct)
}

// withLimits is the pass with the limits of another record, for what belongs to that
// check and is left to it.
func (p *pass) withLimits(id string) *pass {
	for _, c := range p.Rules.Checks() {
		if c.ID == id {
			return &pass{Snapshot: p.Snapshot, index: p.index, check: c, asked: p.asked}
		}
	}
	return p
}

// ratingNear looks for cells whose rating lies close to a limit and of which there is
// no photo: a misread digit would put them on its other side.
func ratingNear(p *pass) {
	p.labelled(byPart, func(l *label) string {
		wh := l.used()
		if wh == 0 || p.crossed(l) != 0 {
			return ""
		}
		limit := p.limitWhere(l, func(limit triage.Micro) bool { return !moreThan(max(wh-limit, limit-wh), limit, p.limit("within_pct")) })
		if limit == 0 {
			return ""
		}
		return fmt.Sprintf("%s Wh is within %d %% of the limit of %s Wh, and there is no photo of the label", wh, p.limit("within_pct"), limit)
	}, func(l *label) bool { return l.used() != 0 }, "cells without a rating")
}
