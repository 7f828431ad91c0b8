package review

// A Ledger is what was there, came and left, by month and container.
type Ledger struct{}

// NewLedger makes the ledger of a snapshot.
func NewLedger(s *Snapshot) *Ledger { return &Ledger{} }
