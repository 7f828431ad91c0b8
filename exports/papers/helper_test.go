package papers

import (
	"testing"

	"pouchward/triage"
	"pouchward/triage/consign"
)

// whole is a reading of a loose small cell without a fault, for recycling.
var whole = map[string]string{"recalled": "no", "cell_c": "22", "ambient_c": "21", "ocv_v": "3.8", "chemistry": "li-ion", "series": "1", "parallel": "1", "kind": "pouch",
	"nominal_v": "3.85", "rated_mah": "3000", "fit": "loose", "purpose": "recycle", "signs": "none", "type_tested": "yes", "wh_marked": "yes", "mass_g": "48"}

// with changes a reading, name by value.
func with(pairs ...string) map[string]string {
	m := map[string]string{}
	for k, v := range whole {
		m[k] = v
	}
	for i := 0; i < len(pairs); i += 2 {
		m[pairs[i]] = pairs[i+1]
	}
	return m
}

// cell judges a reading. inHand names ways whose approval is in hand.
func cell(t *testing.T, rb *triage.Rulebook, tag string, reading map[string]string, inHand ...string) (Cell, triage.Case) {
	t.Helper()
	k := triage.Case{On: rb.On, InHand: inHand}
	for name, text := range reading {
		f, ok := triage.FieldByName(name)
		if !ok {
			t.Fatalf("no field %s", name)
		}
		if err := k.Reading.Set(f, text); err != nil {
			t.Fatalf("%s %q: %v", name, text, err)
		}
	}
	v := new(triage.Verdict)
	rb.Judge(&k, v)
	c := Cell{Tag: tag, V: v, Secured: map[string]bool{"terminals": true, "bag": true}}
	for i := range v.ConditionFindings {
		if f := &v.ConditionFindings[i]; f.State == triage.Fired && f.Rule != nil {
			if _, condition := f.Rule.Outcome(); condition >= triage.Damaged {
				c.Grounds = append(c.Grounds, f.Rule)
			}
		}
	}
	return c, k
}

// tagOf is an invented tag, another for each cell of a shipment.
func tagOf(pack string, i int) string {
	return triage.IssueTag(triage.CellTag, triage.TagKey(pack)%1000*100+int64(i)+1)
}

// closed is a closed package of cells with these readings, one to a package tag.
func closed(t *testing.T, rb *triage.Rulebook, route triage.Route, tag string, readings []map[string]string, inHand ...string) Package {
	t.Helper()
	p := Package{Tag: tag, Outer: "drum 10 L", Level: "pg1", UNMark: "1A2/X20/S/26/INVENTED", Closed: true, Inner: true, Fill: true,
		TareMg: 3_400_000, PackedBy: "LS", CheckedBy: "MK"}
	asked := &consign.Package{Tag: tag, Outer: consign.Outer{Name: p.Outer, Level: p.Level, UNMark: p.UNMark, MaxGrossG: 20_000 * triage.One}, Inner: true, Fill: true}
	for i, r := range readings {
		c, k := cell(t, rb, tagOf(tag, i), r, inHand...)
		if a := &c.V.Routes[route]; a.Class > triage.RouteCritical {
			why, source := c.V.RouteWhy(route)
			c.Keeps = why + " (" + source + ")"
		}
		p.Cells = append(p.Cells, c)
		p.NetMg += 48_000
		asked.Items = append(asked.Items, consign.Item{Tag: c.Tag, Case: k})
	}
	p.GrossMg = p.TareMg + p.NetMg
	asked.GrossG, asked.TareG = triage.Micro(p.GrossMg*1000), triage.Micro(p.TareMg*1000)
	j := consign.Judge(rb, route, asked)
	p.UN = j.UN
	for _, w := range j.Ways {
		if w != nil {
			p.Ways = append(p.Ways[:0], w)
		}
	}
	for _, d := range j.Marks {
		if d.Kind == "paper" || d.Kind == "telephone" {
			p.Papers = append(p.Papers, d.Document())
		} else {
			p.Marks = append(p.Marks, d.Document())
		}
	}
	for i := range j.Breaches {
		if b := &j.Breaches[i]; b.Missing {
			p.Missing = append(p.Missing, b.Text)
		} else {
			p.Broken = append(p.Broken, b.Text)
		}
	}
	return p
}

// shipment is one of these packages.
func shipment(rb *triage.Rulebook, route triage.Route, list ...Package) *Shipment {
	_, do, care, source := rb.EmergencyLines()
	return &Shipment{Tag: "JEHC2", Route: route, Entry: 12, On: rb.On, Digest: rb.Digest, Site: "Invented back room", Consignee: "Invented recycler",
		Phone: "+1 555 0143", PhoneBy: "Invented desk", Fire: "911", Emergency: do, Care: care, CareSource: source, Authorities: []string{"Invented authority"}, Packages: list}
}
