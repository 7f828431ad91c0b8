package triage

import "math/bits"

// FieldID names one field of a Reading.
type FieldID uint8

// The fields of a reading, in the order in which they are listed and printed.
const (
	Tag FieldID = iota
	Ticket
	Part
	Device
	Note
	Who
	Kind
	Chemistry
	Series
	Parallel
	DesignationText
	NominalV
	ChargeLimitV
	RatedMah
	TypicalMah
	LabelWh
	WhMarked
	LithiumG
	MadeOn
	PulledOn
	WasteOn
	OcvV
	RestH
	EarlierOcvV
	EarlierH
	CellVolts
	ChargePct
	ThicknessMm
	ThicknessEndsMm
	EarlierThicknessMm
	NominalThicknessMm
	Rocks
	CellC
	AmbientC
	EarlierCellC
	EarlierCellMin
	HeatedMinAgo
	QuietH
	ResistanceMohm
	NewResistanceMohm
	MeasuredMah
	MassG
	Signs
	Swollen
	Warm
	Punctured
	Cracked
	Dented
	Leaking
	Odour
	Hissing
	Smoking
	Burnt
	Wet
	Corroded
	TerminalsDamaged
	Misused
	Recalled
	Fit
	Purpose
	TypeTested
	NumFields
)

// FieldSet is a set of fields, one bit each.
type FieldSet uint64

// Has reports whether f is in the set.
func (s FieldSet) Has(f FieldID) bool { return s>>f&1 == 1 }

// With returns the set with f added.
func (s FieldSet) With(f FieldID) FieldSet { return s | 1<<f }

// Len returns the number of fields in the set.
func (s FieldSet) Len() int { return bits.OnesCount64(uint64(s)) }

// Each calls f for each field, in field order.
func (s FieldSet) Each(f func(FieldID)) {
	for ; s != 0; s &= s - 1 {
		f(FieldID(bits.TrailingZeros64(uint64(s))))
	}
}

// Type is how the text of a field is read.
type Type uint8

// The types of a field.
const (
	TextField     Type = iota
	NumberField        // a Micro in the field's unit
	CountField         // a whole number
	ListField          // numbers joined by semicolons
	WordField          // one of the field's words
	YesNoField         // yes or no
	DateField          // an ISO 8601 date
	SignListField      // "none" or sign names joined by semicolons
	DesignField        // an IEC 61960-3 designation
)

// Role says what a missing field does to the verdict.
type Role uint8

// The roles, see the package comment.
const (
	Free       Role = iota // says nothing about the cell
	Required               // missing: no better than hold and undetermined
	Optional               // missing: says nothing; present: can only worsen
	Explaining             // missing: taken at the value that gives the worse answer
	Describing             // missing: the conditions that need it are unknown
)

var roleNames = [...]string{"free", "required", "optional", "explaining", "describing"}

// String returns the role's name.
func (r Role) String() string { return roleNames[r] }

// Reach is how close a reading brings the hands, so that none is asked for
// that the present handling class forbids.
type Reach uint8

// The reaches, nearest last.
const (
	Desk          Reach = iota // looked up or read from a paper
	Look                       // eyes, ears, nose, infra-red thermometer: no touch
	Touch                      // caliper, probes, flat plate, scale
	DischargeTest              // needs the cell charged or discharged
)

// A Field describes one field: the same record serves flags, columns, JSON
// keys, the fields command, the questions and the measure-next advice.
type Field struct {
	Name     string // flag (with dashes), column and key
	Type     Type
	Unit     string   // base unit of a number, "" for none
	Min, Max Micro    // allowed range of a number, both inclusive
	Words    []string // the words of a WordField
	Role     Role
	Carries  bool // a label fact that an older reading hands on to a newer
	Sign     bool // one of the fourteen signs
	NA       []string
	Seconds  int // time to take the reading, common practice
	Reach    Reach
	Label    string // a few plain words
	Example  string
	Meaning  string
}

const (
	atLeast0 = Micro(0)
	above0   = Micro(1) // the smallest number above zero that is held
	huge     = Micro(1_000_000_000) * One
)

// naShape lists the kinds on which a shape reading does not apply: a rigid can
// neither swells like a pouch nor rocks on a plate.
var naShape = []string{"enclosed", "cylindrical", "coin"}

var yesNo = []string{"no", "yes"}

func num(name, unit string, role Role, label, example, meaning string) Field {
	return Field{Name: name, Type: NumberField, Unit: unit, Min: above0, Max: huge, Role: role, Label: label,
		Example: example, Meaning: meaning, Seconds: 20, Reach: Touch}
}

func text(name, label, example, meaning string) Field {
	return Field{Name: name, Type: TextField, Label: label, Example: example, Meaning: meaning}
}

func sign(name, label, meaning string, seconds int, reach Reach) Field {
	return Field{Name: name, Type: YesNoField, Words: yesNo, Role: Required, Sign: true, Label: label,
		Example: "no", Meaning: meaning, Seconds: seconds, Reach: reach}
}

func describe(f Field) Field {
	f.Role, f.Carries, f.Reach = Describing, true, Desk
	return f
}

func within(f Field, least, most Micro) Field {
	f.Min, f.Max = least, most
	return f
}

func na(f Field, kinds ...string) Field {
	f.NA = kinds
	return f
}

func taking(f Field, seconds int, reach Reach) Field {
	f.Seconds, f.Reach = seconds, reach
	return f
}

// Fields holds the description of every field, by FieldID.
var Fields = [NumFields]Field{
	Tag:    text("tag", "tag", "F2XE9R", "the shop's tag on the bag or tin"),
	Ticket: text("ticket", "ticket", "R-1042", "repair ticket; never a customer's name"),
	Part:   text("part", "part number", "BP-3850-A", "part number on the label"),
	Device: text("device", "device", "phone, 6 inch", "what it came out of"),
	Note:   text("note", "note", "tabs snapped", "free words; never a customer's name"),
	Who:    text("who", "who", "MK", "initials or staff code of the person at the bench"),
	Kind: describe(Field{Name: "kind", Type: WordField, Words: []string{"pouch", "pouch-pack", "cylindrical", "coin", "enclosed"},
		Label: "kind of cell", Example: "pouch", Seconds: 5,
		Meaning: "enclosed = power bank or tool pack whose cells cannot be reached; blank = pouch"}),
	Chemistry: describe(Field{Name: "chemistry", Type: WordField,
		Words: []string{"li-ion", "li-polymer", "lfp", "li-metal", "na-ion", "nimh", "unknown"},
		Label: "chemistry", Example: "li-ion", Seconds: 15,
		Meaning: "li-polymer is lithium ion for transport; li-metal = not rechargeable"}),
	Series: describe(Field{Name: "series", Type: CountField, Min: One, Max: 1000 * One, Label: "cells in series", Example: "1", Seconds: 20,
		Meaning: "cells in series; 1 and 1 in parallel is a single-cell pack, a cell for every limit"}),
	Parallel: describe(Field{Name: "parallel", Type: CountField, Min: One, Max: 1000 * One, Label: "cells in parallel", Example: "1", Seconds: 20,
		Meaning: "cells in parallel; count the pouches before judging 20 Wh"}),
	DesignationText: describe(Field{Name: "designation", Type: DesignField, Label: "designation", Example: "1ICP4/63/97", Seconds: 20,
		Meaning: "IEC 61960-3 designation; fills series and parallel, and for one cell the greatest new thickness"}),
	NominalV:     describe(num("nominal_v", "V", 0, "nominal voltage", "3.85", "nominal voltage of the whole pack, from the label")),
	ChargeLimitV: taking(num("charge_limit_v", "V", Explaining, "limited charge voltage", "4.40", "limited charge voltage of the whole pack, from the label"), 15, Desk),
	RatedMah:     within(describe(num("rated_mah", "mAh", 0, "rated capacity", "5200", "rated (least) capacity of the whole pack, from the label")), One, 200_000*One),
	TypicalMah:   within(describe(num("typical_mah", "mAh", 0, "typical capacity", "5300", "typical capacity of the whole pack, where the label gives both")), One, 200_000*One),
	LabelWh:      describe(num("label_wh", "Wh", 0, "printed rating", "20.02", "watt-hour rating printed on the label")),
	WhMarked: describe(Field{Name: "wh_marked", Type: YesNoField, Words: yesNo, Label: "watt-hours stand on the case", Example: "yes", Seconds: 10,
		Meaning: "whether the watt-hour rating stands on the case: asked of batteries of two or more cells"}),
	LithiumG:           describe(num("lithium_g", "g", 0, "lithium content", "0.3", "lithium content, lithium metal only")),
	MadeOn:             Field{Name: "made_on", Type: DateField, Carries: true, Label: "made on", Example: "2023-06-30", Meaning: "date of manufacture"},
	PulledOn:           Field{Name: "pulled_on", Type: DateField, Carries: true, Label: "pulled on", Example: "2026-11-25", Meaning: "day it came out of the device"},
	WasteOn:            Field{Name: "waste_on", Type: DateField, Carries: true, Label: "waste on", Example: "2026-11-25", Meaning: "day it became waste"},
	OcvV:               na(within(num("ocv_v", "V", Required, "voltage", "3.80", "open-circuit voltage of the whole pack, insulated probes at the connector"), 0, 100*One), "enclosed"),
	RestH:              taking(within(num("rest_h", "h", Explaining, "hours at rest", "2", "hours at rest before the voltage was read"), atLeast0, huge), 5, Desk),
	EarlierOcvV:        within(num("earlier_ocv_v", "V", Optional, "voltage a second time, 24 h apart", "3.83", "an earlier open-circuit voltage of the whole pack"), 0, 100*One),
	EarlierH:           num("earlier_h", "h", Optional, "hours since the earlier voltage", "26", "how many hours before this one the earlier voltage was read"),
	CellVolts:          within(Field{Name: "cell_volts", Type: ListField, Unit: "V", Role: Optional, Label: "volts of each cell", Example: "3.83;3.07", Meaning: "voltage of each cell of a series pack, at the balance connector", Seconds: 40, Reach: Touch}, 0, 100*One),
	ChargePct:          within(num("charge_pct", "%", Optional, "charge shown", "61", "charge shown by the device before opening: an indication only"), 0, 100*One),
	ThicknessMm:        na(num("thickness_mm", "mm", Optional, "thickness", "4.4", "greatest thickness, jaws just touching, never squeezed"), naShape...),
	ThicknessEndsMm:    na(Field{Name: "thickness_ends_mm", Type: ListField, Unit: "mm", Min: above0, Max: huge, Role: Optional, Label: "thickness of the two ends", Example: "4.1;4.3", Meaning: "thickness at the two ends", Seconds: 20, Reach: Touch}, naShape...),
	EarlierThicknessMm: na(num("earlier_thickness_mm", "mm", Optional, "thickness at an earlier look", "4.2", "greatest thickness at an earlier look"), naShape...),
	NominalThicknessMm: na(taking(num("nominal_thickness_mm", "mm", Optional, "thickness when new", "4.0", "label, data-sheet or new-part thickness"), 30, Desk), naShape...),
	Rocks: na(Field{Name: "rocks", Type: YesNoField, Words: yesNo, Role: Optional, Label: "rocks on a flat plate", Example: "no", Seconds: 5, Reach: Touch,
		Meaning: "rocks or spins on a flat plate"}, naShape...),
	CellC:             taking(within(num("cell_c", "°C", Required, "surface temperature", "22", "surface temperature, matt tape patch: shiny foil reads low"), -40*One, 1000*One), 10, Look),
	AmbientC:          taking(within(num("ambient_c", "°C", Required, "room temperature", "21", "room temperature"), -40*One, 1000*One), 5, Look),
	EarlierCellC:      taking(within(num("earlier_cell_c", "°C", Optional, "surface temperature a second time, 5 min apart", "23", "an earlier surface temperature"), -40*One, 1000*One), 300, Look),
	EarlierCellMin:    taking(within(num("earlier_cell_min", "min", Explaining, "minutes since then", "5", "how many minutes before this one the earlier temperature was read"), atLeast0, huge), 5, Desk),
	HeatedMinAgo:      taking(within(num("heated_min_ago", "min", Explaining, "minutes since heat", "6", "minutes since heat was last applied to the device"), atLeast0, huge), 5, Desk),
	QuietH:            taking(within(num("quiet_h", "h", Explaining, "hours quiet", "24", "hours since the last hiss, smoke, smell or puncture"), atLeast0, huge), 5, Desk),
	ResistanceMohm:    taking(num("resistance_mohm", "mΩ", Optional, "resistance", "42", "1 kHz AC resistance now"), 30, Touch),
	NewResistanceMohm: taking(num("new_resistance_mohm", "mΩ", Optional, "resistance when new", "30", "1 kHz AC resistance when new"), 60, Desk),
	MeasuredMah:       taking(within(num("measured_mah", "mAh", Optional, "measured capacity", "4100", "capacity from a discharge test"), atLeast0, 200_000*One), 14400, DischargeTest),
	MassG:             taking(num("mass_g", "g", Optional, "mass", "76", "mass on the scale"), 10, Touch),
	Signs: Field{Name: "signs", Type: SignListField, Label: "signs", Example: "none", Seconds: 10, Reach: Look,
		Meaning: "none, or the signs seen joined by semicolons: those are yes and all others no; never answers recalled"},
	Swollen:          sign("swollen", "swollen", "bulging, domed, wedge-shaped or pushing the case open", 5, Look),
	Warm:             sign("warm", "warm", "warmer than the room to the back of a gloved hand held near", 3, Look),
	Punctured:        sign("punctured", "punctured or torn", "foil pierced or torn, or can opened", 5, Look),
	Cracked:          sign("cracked", "cracked", "housing or casing cracked", 5, Look),
	Dented:           sign("dented", "dented, bent or creased", "dent, bend, crease or tool mark", 5, Look),
	Leaking:          sign("leaking", "leaking", "liquid or residue outside", 5, Look),
	Odour:            sign("odour", "sweet or solvent-like smell", "sweet or solvent-like smell that is not the alcohol you used", 3, Look),
	Hissing:          sign("hissing", "hissing or popping", "hiss, pop or crackle", 3, Look),
	Smoking:          sign("smoking", "smoking", "smoke or vapour", 3, Look),
	Burnt:            sign("burnt", "scorched or discoloured", "scorch, melt or discolouration", 5, Look),
	Wet:              sign("wet", "wet or was wet", "wet, or has been in water", 5, Look),
	Corroded:         sign("corroded", "corroded", "white, green or blue deposit", 5, Look),
	TerminalsDamaged: sign("terminals_damaged", "terminals or leads damaged", "torn tab, loose or bare wire, bent connector", 5, Look),
	Misused:          sign("misused", "known misuse", "known to be dropped, crushed, overcharged or short-circuited", 5, Desk),
	Recalled: Field{Name: "recalled", Type: YesNoField, Words: yesNo, Role: Required, Label: "recalled for a safety reason", Example: "no", Seconds: 60,
		Meaning: "on a safety recall list: looked up, not seen"},
	Fit: Field{Name: "fit", Type: WordField, Words: []string{"loose", "installed", "packed-with"}, Role: Describing, Label: "fit", Example: "loose", Seconds: 5,
		Meaning: "loose, still installed in equipment, or packed with it"},
	Purpose: Field{Name: "purpose", Type: WordField, Words: []string{"reuse", "recycle", "return"}, Role: Describing, Label: "purpose", Example: "recycle", Seconds: 5,
		Meaning: "return = to the maker for a safety reason"},
	TypeTested: describe(Field{Name: "type_tested", Type: YesNoField, Words: yesNo, Label: "UN 38.3 type test shown", Example: "yes", Seconds: 300,
		Meaning: "evidence that the type passed UN 38.3"}),
}

// FieldByName returns the field of that exact name.
func FieldByName(name string) (FieldID, bool) {
	for i := range Fields {
		if Fields[i].Name == name {
			return FieldID(i), true
		}
	}
	return 0, false
}

// Nearest returns the name among names that word was probably meant for: the
// first that word begins, else the closest by edit distance, else "".
func Nearest(word string, names []string) string {
	best, bestName := len(word)/2+1, ""
	for _, n := range names {
		if len(word) > 1 && len(n) > len(word) && n[:len(word)] == word && !isLetter(n[len(word)]) {
			return n
		}
		if d := editDistance(word, n); d < best {
			best, bestName = d, n
		}
	}
	return bestName
}

func isLetter(b byte) bool { return b >= 'a' && b <= 'z' }

func editDistance(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diag := row[0]
		row[0] = i + 1
		for j := range len(b) {
			cost := diag
			if a[i] != b[j] {
				cost++
			}
			diag = row[j+1]
			row[j+1] = min(cost, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(b)]
}

// FieldNames lists the names of all fields in order.
func FieldNames() []string {
	names := make([]string, NumFields)
	for i := range Fields {
		names[i] = Fields[i].Name
	}
	return names
}
