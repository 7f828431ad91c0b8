package logbook

import "fmt"

// wantRoots notes at which sizes the tree must be looked at.
func (v *verifier) wantRoots() {
	v.roots = map[int64]Tree{}
	for _, c := range v.opt.Checkpoints {
		v.roots[c.Size] = Tree{Size: -1}
	}
	for _, p := range v.opt.Papers {
		v.roots[p.Size] = Tree{Size: -1}
	}
	if _, ok := v.roots[0]; ok {
		v.roots[0] = Tree{0, v.tree.root()}
	}
}

// checkpoints holds the log against what was kept elsewhere.
func (v *verifier) checkpoints() {
	r := v.report
	v.keys()
	v.givenKeys()
	keys := v.opt.Keys
	if len(keys) == 0 {
		keys = r.Keys
	}
	good, bad := int64(0), []int64{}
	held := func(name string, size int64, matches func(Tree) bool) {
		switch t := v.roots[size]; {
		case size > r.Tree.Size:
			r.add(r.Tree.Size+1, "%s covers %d entries, the log has %d: its tail is cut off", name, size, r.Tree.Size)
		case t.Size < 0:
			r.add(0, "%s cannot be compared, as entries are missing", name)
		case !matches(t):
			r.add(0, "%s does not fit: an entry from 1 to %d is not the one that stood there", name, size)
			bad = append(bad, size)
		default:
			r.Matched = append(r.Matched, name)
			r.Covered, good = max(r.Covered, size), max(good, size)
		}
	}
	for _, c := range v.opt.Checkpoints {
		name := fmt.Sprintf("the checkpoint of size %d", c.Size)
		if _, err := c.Signed(keys); err != nil {
			r.add(0, "%v", err)
			continue
		}
		held(name, c.Size, func(t Tree) bool { return t.Root == c.Root })
	}
	for _, p := range v.opt.Papers {
		held(fmt.Sprintf("the paper line of size %d", p.Size), p.Size, p.matches)
	}
	for _, size := range bad {
		if good > 0 && good < size {
			r.add(0, "as the first %d entries hold, the first bad one is from %d to %d", good, good+1, size)
		}
	}
	if len(v.opt.Checkpoints)+len(v.opt.Papers) == 0 {
		r.Notes = append(r.Notes, "no checkpoint from elsewhere was given: a tail cut off, or a log written anew as a whole, would not be seen")
	}
	if len(v.opt.Keys) == 0 && len(v.opt.Checkpoints) > 0 {
		r.Notes = append(r.Notes, "the signatures were checked with the keys that the log itself names; --key gives one kept elsewhere")
	}
}

// keys checks that each key of the log was named by the one before it.
func (v *verifier) keys() {
	r := v.report
	if r.Tree.Size > 0 && (len(v.parts) == 0 || v.parts[0].entry != 1) {
		r.add(1, "it names no key of the log")
	}
	for i, p := range v.parts {
		if i == 0 {
			continue
		}
		if p.body.OldLost {
			r.Notes = append(r.Notes, fmt.Sprintf("entry %d names a new key and says that the old one was lost: ask why", p.entry))
			continue
		}
		cp, err := ParseCheckpoint([]byte(p.body.Checkpoint))
		if err == nil {
			_, err = cp.Signed([]string{v.parts[i-1].body.Key})
		}
		switch {
		case err != nil:
			r.add(p.entry, "it names a new key that the old one did not sign: %v", err)
		case !v.tree.unsure && (cp.Tree != p.before):
			r.add(p.entry, "the old key signed another log than the one before this entry")
		}
	}
}

// givenKeys compares the keys kept elsewhere with those that the log names. One
// that it names nowhere is a problem: the log is another, or was written anew
// with a key of its own. One that it names is a note and no more, because a
// public half can be copied into any log; only a signature shows something.
func (v *verifier) givenKeys() {
	r := v.report
	for _, k := range v.opt.Keys {
		at := -1
		for i, p := range v.parts {
			if p.body.Key == k {
				at = i
			}
		}
		switch {
		case at < 0:
			r.add(0, "the key given, %.200s, is named by no entry: this is the log of another key, or was written anew", k)
			continue
		case at == len(v.parts)-1:
			r.Notes = append(r.Notes, fmt.Sprintf("the key given is the one that the log names last, in entry %d", v.parts[at].entry))
		default:
			r.Notes = append(r.Notes, fmt.Sprintf("the key given is named by entry %d and was replaced by entry %d: %.200s signs now; keep that one elsewhere too",
				v.parts[at].entry, v.parts[at+1].entry, v.parts[len(v.parts)-1].body.Key))
		}
		if len(v.opt.Checkpoints) == 0 {
			r.Notes = append(r.Notes, "a key without a checkpoint that it signed shows nothing of the entries: whoever writes a log anew can name it too (give --checkpoint)")
		}
	}
}
