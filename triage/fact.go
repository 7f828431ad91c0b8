package triage

import "math/bits"

// FactID names one fact derived from a reading.
type FactID uint8

// The facts that conditions may name. Those named like a field hold that field.
const (
	FSwollen FactID = iota // FSwollen to FMisused follow the order of the sign fields
	FWarmFelt
	FPunctured
	FCracked
	FDented
	FLeaking
	FOdour
	FHissing
	FSmoking
	FBurnt
	FWet
	FCorroded
	FTerminalsDamaged
	FMisused
	FRecalled
	FRocks
	FWarm
	FWarmByTouch
	FSurface
	FRise
	FRising
	FHeatExplains
	FSettled
	FPackVolts
	FCellLow
	FCellHigh
	FCellWas
	FOverLimit
	FSpread
	FSwelling
	FGrowth
	FWedge
	FThicknessAlone
	FResistance
	FCapacity
	FDrift
	FSteady
	FRequiredOpen
	FUndiagnosable
	FCasingOpen
	FFitOpen
	FWarmOpen
	FDangerOpen
	FKind
	FKindSaid
	FFamily
	FUnit
	FEnergy
	FLithium
	FFit
	FFitSaid
	FPurpose
	FTypeTested
	FWhMarked
	FWhMarkMet
	FWhMark188
	FWhMark348
	FCharge
	FMass
	FScaleMass
	FCondition
	NumFacts
)

// FactSet is a set of facts, one bit each.
type FactSet uint64

// With returns the set with f added.
func (s FactSet) With(f FactID) FactSet { return s | 1<<f }

// Len returns the number of facts in the set.
func (s FactSet) Len() int { return bits.OnesCount64(uint64(s)) }

// Each calls fn for each fact, in fact order.
func (s FactSet) Each(fn func(FactID)) {
	for ; s != 0; s &= s - 1 {
		fn(FactID(bits.TrailingZeros64(uint64(s))))
	}
}

// A Fact is a derived quantity or word with its state. Numbers are intervals;
// a word is its index, yes 1 and no 0.
type Fact struct {
	State  State
	Lo, Hi Micro
}

// Facts holds every fact of one reading.
type Facts [NumFacts]Fact

// A FactInfo describes a fact: how conditions write it and which fields answer
// it, the cheapest first.
type FactInfo struct {
	Name   string
	Unit   string   // base unit of a number, "" for none
	Words  []string // the words of a fact that is no number
	Fields []FieldID
	Label  string
	anyOne bool // any one of the fields answers it
}

// familyWords are the chemistry families: transport knows no finer.
var familyNames = [...]string{"lithium-ion", "lithium-metal", "sodium-ion", "nickel"}

var familyWords = familyNames[:]

// The indices of familyWords.
const (
	lithiumIon = Micro(iota)
	lithiumMetal
	sodiumIon
	nickel
)

var unitWords = []string{"cell", "battery"}

// The indices of unitWords.
const (
	unitCell = Micro(iota)
	unitBattery
)

var (
	cellCount = []FieldID{Series, Parallel, DesignationText}
	cellV     = []FieldID{OcvV, Series, DesignationText}
)

// FactTable describes every fact, by FactID.
var FactTable = func() (t [NumFacts]FactInfo) {
	for f := Swollen; f <= Misused; f++ {
		t[FSwollen+FactID(f-Swollen)] = yesNoFact(Fields[f].Name, Fields[f].Label, f)
	}
	t[FWarmFelt].Name = "felt_warm"
	t[FRecalled] = yesNoFact("recalled", "recalled", Recalled)
	t[FRocks] = yesNoFact("rocks", "rocks on a flat plate", Rocks)
	t[FWarm] = yesNoFact("warm", "warm", CellC, AmbientC, Warm)
	t[FWarmByTouch] = yesNoFact("warm_by_touch", "felt warm, and no thermometer says why", Warm)
	t[FSurface] = numberFact("surface", "°C", "surface temperature", CellC)
	t[FRise] = numberFact("rise", "K", "surface over room", CellC, AmbientC)
	t[FRising] = numberFact("rising", "K", "rise that the room cannot give", CellC, EarlierCellC, EarlierCellMin)
	t[FHeatExplains] = yesNoFact("heat_explains", "heat in the last 30 min explains the warmth", HeatedMinAgo)
	t[FSettled] = yesNoFact("settled", "quiet for 24 h and not warm", QuietH, CellC, AmbientC)
	t[FPackVolts] = numberFact("pack_volts", "V", "pack voltage", OcvV)
	t[FCellLow] = numberFact("cell_volts_least", "V", "lowest volts per cell", cellV...)
	t[FCellHigh] = numberFact("cell_volts_most", "V", "highest volts per cell", cellV...)
	t[FCellWas] = numberFact("cell_volts_before", "V", "volts per cell at the earlier reading", EarlierOcvV, Series)
	t[FOverLimit] = numberFact("over_limit", "V", "volts over the limited charge voltage", cellV...)
	t[FSpread] = numberFact("spread", "V", "spread between cells", CellVolts)
	t[FSwelling] = numberFact("swelling", "%", "swelling over nominal, at least", ThicknessMm, NominalThicknessMm)
	t[FGrowth] = numberFact("growth", "mm", "growth since the earlier look, at least", EarlierThicknessMm, ThicknessMm)
	t[FWedge] = numberFact("wedge", "mm", "difference between the two ends", ThicknessEndsMm)
	t[FThicknessAlone] = yesNoFact("thickness_alone", "thickness with nothing to compare it with", NominalThicknessMm)
	t[FResistance] = numberFact("resistance_ratio", "x", "resistance against new", ResistanceMohm, NewResistanceMohm)
	t[FCapacity] = numberFact("capacity_left", "%", "capacity left", MeasuredMah, RatedMah)
	t[FDrift] = numberFact("self_discharge", "%/day", "self-discharge", EarlierOcvV, EarlierH, OcvV)
	t[FSteady] = yesNoFact("steady", "a second voltage 24 h apart shows no drift over its line", EarlierOcvV, EarlierH)
	t[FRequiredOpen] = yesNoFact("required_open", "a required reading is open")
	t[FUndiagnosable] = yesNoFact("undiagnosable", "a sign or the voltage cannot be told")
	t[FCasingOpen] = yesNoFact("casing_open", "a sign of a breached casing is open")
	t[FFitOpen] = yesNoFact("fit_open", "not said whether loose or installed")
	t[FWarmOpen] = yesNoFact("warm_open", "not known whether it is warm")
	t[FDangerOpen] = yesNoFact("danger_open", "not looked for smoke, hiss, smell or puncture")
	t[FKind] = FactInfo{Name: "kind", Words: Fields[Kind].Words, Fields: []FieldID{Kind}, Label: "kind of cell"}
	t[FKindSaid] = FactInfo{Name: "kind_said", Words: Fields[Kind].Words, Fields: []FieldID{Kind}, Label: "kind of cell, as said"}
	t[FFamily] = FactInfo{Name: "family", Words: familyWords, Fields: []FieldID{Chemistry}, Label: "chemistry"}
	t[FUnit] = FactInfo{Name: "unit", Words: unitWords, Fields: cellCount, Label: "one cell or a battery of several"}
	t[FEnergy] = numberFact("energy", "Wh", "watt-hour rating", LabelWh, NominalV, RatedMah)
	t[FEnergy].anyOne = true
	t[FLithium] = numberFact("lithium", "g", "lithium content", LithiumG)
	t[FFit] = FactInfo{Name: "fit", Words: Fields[Fit].Words, Fields: []FieldID{Fit}, Label: "loose, installed or packed with"}
	t[FFitSaid] = FactInfo{Name: "fit_said", Words: Fields[Fit].Words, Fields: []FieldID{Fit}, Label: "loose, installed or packed with, as said"}
	t[FPurpose] = FactInfo{Name: "purpose", Words: Fields[Purpose].Words, Fields: []FieldID{Purpose}, Label: "purpose"}
	t[FTypeTested] = yesNoFact("type_tested", "UN 38.3 type test shown", TypeTested)
	t[FWhMarked] = yesNoFact("wh_marked", "watt-hours stand on the case", WhMarked)
	t[FWhMarkMet] = yesNoFact("wh_mark_met", "watt-hours stand on the case, or it is one cell", WhMarked, Series, Parallel)
	t[FWhMark188] = yesNoFact("wh_mark_188", "watt-hours stand on the case, or it is one cell, or it was made before 2009", WhMarked, Series, Parallel)
	t[FWhMark348] = yesNoFact("wh_mark_348", "watt-hours stand on the case, or it is one cell, or it was made before 2012", WhMarked, Series, Parallel)
	t[FCharge] = numberFact("charge", "%", "state of charge", OcvV, RestH, ChargeLimitV, Kind)
	t[FMass] = numberFact("mass", "g", "mass", MassG)
	t[FScaleMass] = numberFact("scale_mass", "g", "mass on a scale", MassG)
	t[FCondition] = FactInfo{Name: "condition", Words: conditionWords[:], Label: "condition for carriage"}
	return t
}()

func yesNoFact(name, label string, fields ...FieldID) FactInfo {
	return FactInfo{Name: name, Words: yesNo, Fields: fields, Label: label}
}

func numberFact(name, unit, label string, fields ...FieldID) FactInfo {
	return FactInfo{Name: name, Unit: unit, Fields: fields, Label: label}
}

// FactByName returns the fact that conditions call so.
func FactByName(name string) (FactID, bool) { return factByName(name) }

func factByName(name string) (FactID, bool) {
	for i := range FactTable {
		if FactTable[i].Name == name {
			return FactID(i), true
		}
	}
	return 0, false
}

func factNames() []string {
	names := make([]string, NumFacts)
	for i := range FactTable {
		names[i] = FactTable[i].Name
	}
	return names
}
