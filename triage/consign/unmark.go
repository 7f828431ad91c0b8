package consign

import (
	"slices"
	"strings"

	"pouchward/triage"
)

// A mark is what a UN packaging mark says: code, the levels it was tested for,
// and the greatest gross mass. 6.1.3.1 of the UN Model Regulations (from memory):
// "4G/Y25/S/..." is code, X, Y or Z with the mass in kg, S for solids or inner
// packagings, and more.
type mark struct {
	code  string
	level string // strong for Z, which is packing group III
	grosG triage.Micro
}

// readMark reads a UN mark; ok false when it is not one. A symbol or the letters
// un before the code are passed over.
func readMark(text string) (m mark, ok bool) {
	parts := strings.Split(strings.ToUpper(strings.TrimSpace(text)), "/")
	if len(parts) > 1 && (parts[0] == "UN" || parts[0] == "U N" || parts[0] == "(UN)") {
		parts = parts[1:]
	}
	if len(parts) < 2 || parts[0] == "" || parts[1] == "" {
		return m, false
	}
	m.code = strings.TrimSpace(strings.TrimPrefix(parts[0], "UN "))
	i := strings.IndexByte("ZYX", parts[1][0])
	if i < 0 {
		return m, false
	}
	m.level = triage.Levels[i]
	n, err := triage.ParseQuantity(parts[1][1:]+"kg", "g", true)
	if err != nil || n <= 0 {
		return m, false
	}
	m.grosG = n
	return m, true
}

// level checks the outer packaging against the level and codes that a duty asks.
func (p *Package) level(d *triage.Duty, alone bool) (text string, missing bool) {
	if d.Level == "" {
		return "", false
	}
	o := &p.Outer
	if o.Level == "" {
		return "the level of the outer packaging is not said", true
	}
	if !slices.Contains(triage.Levels, o.Level) {
		return "the level " + o.Level + " of the outer packaging is none of " + strings.Join(triage.Levels, ", "), true
	}
	if !triage.LevelMeets(o.Level, d.Level) {
		return "the outer packaging is " + o.Level + ", not " + d.Level, false
	}
	if d.Level == triage.Levels[0] {
		return "", false
	}
	m, ok := readMark(o.UNMark)
	switch {
	case !ok && o.UNMark == "":
		return "the UN mark of the outer packaging is not said", true
	case !ok:
		return "the UN mark " + o.UNMark + " cannot be read: write it as 4G/Y25/S", true
	case !triage.LevelMeets(m.level, d.Level):
		return "the UN mark " + o.UNMark + " is not of the level " + d.Level, false
	case len(d.Codes) > 0 && !slices.Contains(d.Codes, m.code) && !(alone && slices.Contains(d.CodesOne, m.code)):
		return "packaging " + m.code + " is not one of those listed", false
	}
	return "", false
}

// lifts reports whether the outer packaging takes the cap of a duty away: its UN
// mark has to say so, not its level alone.
func (p *Package) lifts(d *triage.Duty) bool {
	if d.Lifted == "" {
		return false
	}
	var asked triage.Duty
	asked.Level = d.Lifted
	text, _ := p.level(&asked, false)
	return text == ""
}

// maxGross returns what the outer packaging may weigh filled, 0 for not known.
func (o *Outer) maxGross() triage.Micro {
	most := max(o.MaxGrossG, 0)
	if m, ok := readMark(o.UNMark); ok && (most == 0 || m.grosG < most) {
		most = m.grosG
	}
	return most
}
