package exports

import (
	"fmt"
	"strings"

	"pouchward/logbook"
	"pouchward/triage"
)

// shipmentGist says in a few words what an entry did to a shipment.
func shipmentGist(e *logbook.Entry) string {
	var x struct {
		About     string `json:"about"`
		Did       string `json:"did"`
		Package   string `json:"package"`
		Reason    string `json:"reason"`
		Route     string `json:"route"`
		Consignee string `json:"consignee"`
		Packages  []struct {
			Tag       string   `json:"tag"`
			Cells     []string `json:"cells"`
			GrossMg   int64    `json:"gross_mg"`
			PackedBy  string   `json:"packed_by"`
			CheckedBy string   `json:"checked_by"`
		} `json:"packages"`
		Handover *struct {
			Carrier string `json:"carrier"`
		} `json:"handover"`
		Receipt *struct {
			On      string   `json:"on"`
			Differs []string `json:"differs"`
			Note    string   `json:"note"`
		} `json:"receipt"`
	}
	if e.Body.Decode(&x) != nil {
		return "" // a body of another shape says less in one line
	}
	name := x.Did + " in shipment " + triage.SpacedTag(x.About)
	switch {
	case x.Did == "begun":
		return "shipment " + triage.SpacedTag(x.About) + " begun, by " + x.Route
	case x.Did == "packed":
		return fmt.Sprintf("packed into %s of shipment %s", triage.SpacedTag(x.Package), triage.SpacedTag(x.About))
	case x.Did == "closed" || x.Did == "reopened":
		for _, p := range x.Packages {
			if p.Tag == x.Package && x.Did == "closed" {
				return fmt.Sprintf("package %s closed, %s, gross %s kg, packed by %s, checked by %s", triage.SpacedTag(p.Tag), plural(len(p.Cells), "cell"), Amount(p.GrossMg, 1e6), p.PackedBy, p.CheckedBy)
			}
		}
		return fmt.Sprintf("package %s opened again: %s", triage.SpacedTag(x.Package), x.Reason)
	case x.Did == "dispatched" && x.Handover != nil:
		return fmt.Sprintf("shipment %s left with %s for %s", triage.SpacedTag(x.About), x.Handover.Carrier, x.Consignee)
	case x.Did == "refused":
		return fmt.Sprintf("shipment %s not taken, in the shop again: %s", triage.SpacedTag(x.About), x.Reason)
	case x.Did == "received" && x.Receipt != nil:
		if len(x.Receipt.Differs) > 0 {
			return fmt.Sprintf("receipt of %s for shipment %s differs: %s", x.Receipt.On, triage.SpacedTag(x.About), strings.Join(x.Receipt.Differs, "; "))
		}
		return fmt.Sprintf("receipt of %s for shipment %s, as it left", x.Receipt.On, triage.SpacedTag(x.About))
	case x.Did == "settled":
		return fmt.Sprintf("receipt of shipment %s settled: %s", triage.SpacedTag(x.About), x.Reason)
	}
	return name
}
