package logbook

import "golang.org/x/mod/sumdb/tlog"

// AsRecorded holds an entry that was read against the tree of its log: the bytes must
// have the hash stored with them, and that hash must lead to the root (RFC 6962, section
// 2.1.1). It reads some forty hashes, of a long log too. What is changed beside them,
// a last entry written anew with its hash, and a log written anew as a whole, only Verify
// and a checkpoint kept elsewhere find.
// An entry that is not as it was recorded is a *DamageError.
func (l *Log) AsRecorded(e *Entry, tree Tree) error {
	leaf, err := storedHash(l.q, 0, e.Number-1)
	if err != nil {
		return err
	}
	if leaf != e.Leaf() {
		return &DamageError{e.Number, "its bytes do not have the hash stored with it"}
	}
	if e.Number > tree.Size {
		return nil // written since the tree was read
	}
	proof, err := tlog.ProveRecord(tree.Size, e.Number-1, hashReader(l.q))
	if err != nil {
		return err
	}
	if err := tlog.CheckRecord(proof, tree.Size, tree.Root, e.Number-1, leaf); err != nil {
		return &DamageError{e.Number, "its hash is not the one in the tree of the log"}
	}
	return nil
}
