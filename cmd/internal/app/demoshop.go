package app

import (
	"bytes"
	"encoding/csv"
	"fmt"

	"pouchward/triage"
)

// The invented shop. Nobody and nothing here is real; the telephone numbers are
// of the range 555-0100 to 555-0199, which belongs to nobody.
const (
	demoSite      = "Invented Repair (demo)"
	demoZone      = "America/Chicago"
	demoYard      = "Yard locker"
	demoFlags     = "Yard, on the flags"
	demoShelf     = "Store shelf"
	demoHoldShelf = "Hold shelf"
	demoDrawer    = "Parts drawer"
)

// The people by their initials, and where they sit.
var (
	demoPeople  = []string{"MK", "LS", "TO", "RB"}
	demoBenches = []string{"Bench 1", "Bench 2", "Bench 3"}
)

// demoHouse is the house file of the invented shop.
const demoHouse = `# House file of an INVENTED shop, made by pouchward demo. Nothing in it is real:
# no shop, no person, no recycler, no telephone number.

[shop]
site = "` + demoSite + `"
country = "US"
state = "IL"
time_zone = "` + demoZone + `"
opens = "09:00"
closes = "18:00"
closed_days = ["sunday"]
fire_service = "911"
emergency_number = "+1 555 0143"
emergency_number_by = "Invented Response Desk, contract 0000 (invented)"
isolation_place = "` + demoYard + `"
store_place = "` + demoShelf + `"
consignee = "Invented Cell Recycling, dock 3 (invented)"
recall_list = "` + demoRecallsName + `"

[map]
"Volts" = "ocv_v"
"Part no." = "part"
`

// demoRecallEntries is the recall list as it was read on a day of a year: somebody
// copies it every four weeks, and for the last weeks nobody did. The notices of those
// weeks are looked up one by one, and what they say is typed.
func demoRecallEntries(on, today triage.Date) []triage.RecallEntry {
	from, _ := triage.ParseDate(demoRecallFrom)
	to, _ := triage.ParseDate(demoRecallTo)
	last := today - 35
	read := min(on-on%28, last-last%28)
	return []triage.RecallEntry{
		{Part: demoRecalledPart, MadeFrom: from, MadeTo: to, Notice: "invented notice 2025-07", ReadOn: read},
		{Part: "QK-7100", Notice: "invented notice 2025-19", ReadOn: read},
	}
}

func demoRecalls(on, today triage.Date) *triage.RecallList {
	return triage.NewRecallList(demoRecallEntries(on, today))
}

// demoRecallsCSV writes the list as the house file names it.
func demoRecallsCSV(on triage.Date) []byte {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	_ = w.Write(recallColumns) // a Buffer takes all
	for _, e := range demoRecallEntries(on, on) {
		made := [2]string{}
		for i, d := range [...]triage.Date{e.MadeFrom, e.MadeTo} {
			if d != 0 {
				made[i] = d.String()
			}
		}
		_ = w.Write([]string{e.Part, e.Serials, made[0], made[1], e.Notice, e.ReadOn.String()})
	}
	w.Flush()
	return b.Bytes()
}

// demoReadme says what lies there and what to try.
func demoReadme(on triage.Date, some, isolated, kept string) string {
	return fmt.Sprintf(`An INVENTED shop with a year of life, made by pouchward demo for %[1]s.
Shop, people, cells, recycler, receipts and notices are made up. The key of the
log is derived from a seed that stands in the program: anybody can have it, and a
signature with it shows nothing.

  house.toml           facts of the shop
  recalls.csv          its recall list
  pouchward.db, .key   the log of the year up to the day before, and its key
  year.checkpoint      a checkpoint of it
  intake-today.csv     cells that wait on the bench this morning
  planted-faults.tsv   what people of the shop got wrong, planted to be found

Try, in this folder:

   1. what is owed this morning
      pouchward due --house house.toml
   2. what is in the shop, and where
      pouchward stock --house house.toml
   3. a cell that two people lowered, until a day
      pouchward log history %[2]s
   4. one that has stood isolated for eleven months
      pouchward log history %[3]s
   5. look at it again
      pouchward recheck %[3]s same --cell-c 21.4 --ambient-c 21.0 --who MK --house house.toml
   6. take in what waits on the bench
      pouchward sort intake-today.csv --record --out verdicts.csv --house house.toml
   7. take in one by hand
      pouchward assess --part PX-4300 --signs swollen --ocv-v 3.81 --record --house house.toml
   8. what happened in the year
      pouchward incident list
   9. what the authorities said
      pouchward local list --house house.toml
  10. what can go to the recycler, in which packages, and what keeps the rest
      pouchward ship plan --route us-highway --house house.toml
  11. what went, and the shipment that waits for its receipt
      pouchward ship list --open
  12. nothing of the year was rewritten
      pouchward log verify --checkpoint year.checkpoint
  13. look through the year as a reviewer would: each of the planted faults is
      found, one of a kind, and nothing besides
      pouchward review --to %[4]s --house house.toml
  14. answer a finding, and see the answer beside it
      pouchward review sign review-kept-eleven-months %[5]s --reason "the box comes on Monday (invented)" --who MK --house house.toml
  15. the year as a drawing: what stood here, by class
      pouchward chart stock --out stock.svg --house house.toml

Looks that are owed from this morning on, and that nobody makes, come to what a
review finds; so do your own entries. Some faults cannot be planted in a log that
verifies: planted-faults.tsv says which, and how to try two of them on a copy.
`, on, some, isolated, on-1, kept)
}
