package triage

import (
	"errors"
	"fmt"
	"slices"
	"strings"
)

// Tri is the answer to a condition. The order makes "and" the least and "or"
// the greatest.
type Tri uint8

// The answers. Straddle means that an interval lies on both sides of the line:
// a rule that worsens takes it as yes, a way as unknown.
const (
	No Tri = iota
	Unknown
	Straddle
	Yes
)

type op uint8

const (
	isWord op = iota
	atMost
	under
	atLeast
	over
)

var opText = [...]string{"is", "<=", "<", ">=", ">"}

// A Condition is one line of a rule, compiled: a fact against a limit or word.
type Condition struct {
	Fact  FactID
	op    op
	limit Micro
}

// ParseCondition compiles "fact op value unit" or "fact is word". The unit must
// be one of the fact's own; there are no parentheses, no "not", no arithmetic.
func ParseCondition(line string) (Condition, error) {
	parts := strings.Fields(line)
	if len(parts) < 3 {
		return Condition{}, fmt.Errorf("condition %q: want \"fact op value unit\" or \"fact is word\"", line)
	}
	id, ok := factByName(parts[0])
	if !ok {
		return Condition{}, fmt.Errorf("condition %q: %w", line, slip("no fact "+parts[0], parts[0], factNames()))
	}
	info := &FactTable[id]
	o := op(slices.Index(opText[:], parts[1]))
	switch {
	case !slices.Contains(opText[:], parts[1]):
		return Condition{}, fmt.Errorf("condition %q: operator %q is none of %s", line, parts[1], strings.Join(opText[:], " "))
	case o == isWord && info.Words == nil:
		return Condition{}, fmt.Errorf("condition %q: %s is a number in %s: compare it", line, info.Name, info.Unit)
	case o != isWord && info.Words != nil:
		return Condition{}, fmt.Errorf("condition %q: %s is one of %s: use \"is\"", line, info.Name, strings.Join(info.Words, ", "))
	case o == isWord:
		i := slices.Index(info.Words, parts[2])
		if i < 0 || len(parts) > 3 {
			return Condition{}, fmt.Errorf("condition %q: %s is one of %s", line, info.Name, strings.Join(info.Words, ", "))
		}
		return Condition{Fact: id, op: isWord, limit: Micro(i)}, nil
	}
	value := strings.Join(parts[2:], " ")
	if len(parts) < 4 {
		return Condition{}, fmt.Errorf("condition %q: the unit is missing: %s takes %s", line, info.Name, info.Unit)
	}
	n, err := ParseQuantity(value, info.Unit, true)
	if err != nil {
		return Condition{}, fmt.Errorf("condition %q: %w", line, err)
	}
	return Condition{Fact: id, op: o, limit: n}, nil
}

// String returns the line that compiles to c.
func (c Condition) String() string {
	info := &FactTable[c.Fact]
	return info.Name + " " + c.Limit()
}

// Limit returns the operator and the limit with its unit.
func (c Condition) Limit() string {
	info := &FactTable[c.Fact]
	if c.op == isWord {
		return "is " + info.Words[c.limit]
	}
	return opText[c.op] + " " + c.limit.String() + " " + info.Unit
}

// eval answers the condition. A fact that is not known is Unknown, except that
// one which does not apply meets no condition.
func (c *Condition) eval(f *Facts) Tri {
	x := &f[c.Fact]
	if x.State != Known {
		if x.State == NotApplicable {
			return No
		}
		return Unknown
	}
	var lo, hi bool
	switch c.op {
	case isWord:
		lo, hi = x.Lo == c.limit, x.Hi == c.limit
	case atMost:
		lo, hi = x.Lo <= c.limit, x.Hi <= c.limit
	case under:
		lo, hi = x.Lo < c.limit, x.Hi < c.limit
	case atLeast:
		lo, hi = x.Lo >= c.limit, x.Hi >= c.limit
	case over:
		lo, hi = x.Lo > c.limit, x.Hi > c.limit
	}
	switch {
	case lo && hi:
		return Yes
	case lo || hi:
		return Straddle
	}
	return No
}

// When is a list of conditions joined by and, with a second list that may meet
// it instead.
type When struct{ all, or []Condition }

func compileWhen(when, or []string) (When, error) {
	var w When
	var errs []error
	compile := func(lines []string) (out []Condition) {
		for _, l := range lines {
			c, err := ParseCondition(l)
			if err != nil {
				errs = append(errs, err)
				continue
			}
			out = append(out, c)
		}
		return out
	}
	w.all, w.or = compile(when), compile(or)
	return w, errors.Join(errs...)
}

// eval answers the lists and returns the facts that are missing for an answer.
func (w *When) eval(f *Facts) (Tri, FactSet) {
	t, missing := evalAll(w.all, f)
	if len(w.or) == 0 || t == Yes {
		return t, missing
	}
	t2, missing2 := evalAll(w.or, f)
	switch {
	case t2 == Yes:
		return Yes, 0
	case t == No:
		return t2, missing2
	case t2 == No:
		return t, missing
	}
	// Either list would do: name the shorter way to an answer.
	if missing2.Len() < missing.Len() {
		missing = missing2
	}
	return max(t, t2), missing
}

func evalAll(list []Condition, f *Facts) (Tri, FactSet) {
	t, missing := Yes, FactSet(0)
	for i := range list {
		switch c := list[i].eval(f); c {
		case No:
			return No, 0
		case Unknown, Straddle:
			missing = missing.With(list[i].Fact)
			t = min(t, c)
		}
	}
	return t, missing
}

// decisive returns the condition whose value a finding shows: the first that is
// a comparison, else the first.
func (w *When) decisive(f *Facts) *Condition {
	list := w.all
	if len(w.or) > 0 {
		if t, _ := evalAll(w.or, f); t == Yes {
			if t1, _ := evalAll(w.all, f); t1 != Yes {
				list = w.or
			}
		}
	}
	for i := range list {
		if list[i].op != isWord {
			return &list[i]
		}
	}
	if len(list) == 0 {
		return nil
	}
	return &list[0]
}
