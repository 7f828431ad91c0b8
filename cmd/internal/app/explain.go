package app

import "pouchward/triage"

// ExplainRule returns one rule in force by its id.
func ExplainRule(shop *Shop, id string) (*triage.Explained, error) {
	rb := shop.Rulebook
	list, err := rb.Explained("")
	if err != nil {
		return nil, err
	}
	var ids []string
	for i := range list {
		if list[i].ID == id {
			return &list[i], nil
		}
		ids = append(ids, list[i].ID)
	}
	if near := triage.Nearest(id, ids); near != "" {
		return nil, Usage("no rule %q in force on %s; did you mean %s?", id, rb.On, near)
	}
	return nil, Usage("no rule %q in force on %s; pouchward rules list prints them", id, rb.On)
}
