package exports

import (
	"strings"

	"pouchward/triage"
)

// condition is the condition for carriage with its reasons in words; the ids stand last,
// for pouchward rules explain.
func (c *card) condition(v *triage.Verdict) {
	text := strings.ToUpper(v.Condition.String())
	var by, ids []string
	for i := range v.ConditionFindings {
		f := &v.ConditionFindings[i]
		if f.State == triage.Fired && f.Rule != nil && f.Rule.Condition == v.Condition.String() {
			by, ids = append(by, lowerFirst(f.Rule.Title)), append(ids, f.Rule.ID)
		}
	}
	if len(by) > 0 {
		text += ": " + strings.Join(by, "; ")
	}
	if f := v.Facts[triage.FFit]; f.State == triage.Known && f.Lo == 1 {
		text += "; in equipment"
	}
	if len(ids) > 0 {
		text += " [" + strings.Join(ids, ", ") + "]"
	}
	c.item("CARRIAGE", text)
}

// openMetal is the first rule that waits for the lithium content of a lithium metal cell,
// nil where none does: its watt-hours size nothing.
func openMetal(v *triage.Verdict) *triage.Rule {
	if v.Size != triage.SizeUnknown || v.Facts[triage.FLithium].State == triage.Known {
		return nil
	}
	for i := range v.SizeFindings {
		f := &v.SizeFindings[i]
		if f.State == triage.CouldBe && f.Missing.With(triage.FLithium) == f.Missing && v.Facts[triage.FFamily].State == triage.Known {
			return f.Rule
		}
	}
	return nil
}

// classText is a class within a sentence: one without a fault shown is not said to be
// more than that.
func classText(word string) string {
	if word == triage.Sound.String() {
		return HandlingText(word)
	}
	return word
}
