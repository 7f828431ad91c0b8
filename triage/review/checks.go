package review

// looks has the function of each check, by the id of its record. A test holds it
// against the records: none is missing on either side.
var looks = gather(cellLooks, readingLooks, recordLooks, stockLooks)

func gather(lists ...map[string]func(*pass)) map[string]func(*pass) {
	all := map[string]func(*pass){}
	for _, list := range lists {
		for id, look := range list {
			all[id] = look
		}
	}
	return all
}

// stockLooks are about the ledger and the log as a whole.
var stockLooks = map[string]func(*pass){
	"review-ledger": ledgerBalances,
}
