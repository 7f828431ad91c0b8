package review

// recordLooks are about what is written beside the cells: shipments, people, rounds,
// incidents, instruments.
var recordLooks = map[string]func(*pass){
	"review-sent-unaccepted":   sentUnaccepted,
	"review-shipment-record":   shipmentRecord,
	"review-paper-copy":        paperCopy,
	"review-emergency-number":  emergencyNumber,
	"review-no-receipt":        noReceipt,
	"review-receipt-differs":   receiptDiffers,
	"review-untrained":         untrained,
	"review-one-pair-of-hands": onePairOfHands,
	"review-not-informed":      notInformed,
	"review-count-differs":     countDiffers,
	"review-round-open":        roundOpen,
	"review-no-round":          noRound,
	"review-incident-open":     incidentOpen,
	"review-instrument":        instrument,
}
