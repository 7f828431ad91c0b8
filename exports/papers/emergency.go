package papers

import "strings"

// emergency is the sheet that goes along for the driver.
func (x *Shipment) emergency() Sheet {
	return Sheet{Title: "emergency sheet", Blocks: []Block{
		Notice{"LITHIUM BATTERIES ON BOARD", plural(len(x.cells()), "cell") + " in " + plural(len(x.Packages), "package") + ". Smoke, hiss, smell, heat, or a punctured cell: do this."},
		Heading("At the shop or at a dock"), x.emergencySteps(),
		Heading("On the road"),
		Para("Stop away from people and buildings. Get out, keep everyone at least 25 m (75 ft) away, 500 m (1/3 mile) from a trailer that burns, and call the fire service: lithium batteries. [Emergency Response Guidebook 2024, guide 147; where to stop: common practice]"),
		Heading("Anywhere"),
		Para(strings.Join(x.Care, " ") + " [" + known(x.CareSource) + "]"),
		hazards(x.cells()),
		Heading("Whom to call"),
		Steps{{Label: "FIRE", Value: known(x.Fire) + " (fire service, at the site)"}, {Label: "PHONE", Value: known(x.Phone) + " (emergency telephone)"}},
		Form{
			{Label: "The emergency telephone is answered by", Value: known(x.PhoneBy)},
			{Label: "At all hours: called to test it on"},
			{Label: "The shop, by day"},
		},
		Para("The emergency telephone is as the house file has it. Whether it is answered at all times is for the shop to test, not older than 90 days (common practice)."),
		Para("A package that is warm, smokes, smells or was crushed: stop, get away, call. Do not open it and do not load it again. Local codes and licensed practice come first."),
	}}
}
