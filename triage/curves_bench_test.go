package triage

import (
	"testing"
)

func BenchmarkChargeInterval(b *testing.B) {
	for _, c := range []struct {
		name string
		q    ChargeQuery
	}{
		{"limit-4.40", ChargeQuery{Limit: 4_400_000, Family: FamilyCobalt, NickelExcluded: true, RestH: 24_000_000}},
		{"limit-4.20-nickel", ChargeQuery{Limit: 4_200_000, Family: FamilyCobalt, RestH: 24_000_000}},
		{"nothing-known", ChargeQuery{}},
	} {
		b.Run(c.name, func(b *testing.B) {
			mustTables(b)
			b.ReportAllocs()
			q, n := c.q, Micro(0)
			for b.Loop() {
				q.CellV = 3_000_000 + n*7919%1_400_000
				n++
				sinkCharge, _ = ChargeInterval(q)
			}
		})
	}
}

func BenchmarkCurveLookup(b *testing.B) {
	t := mustTables(b)
	b.ReportAllocs()
	n := Micro(0)
	for b.Loop() {
		sinkMicro = t.inv[CurveCobalt].at(3_000_000 + n*7919%1_400_000)
		n++
	}
}

func BenchmarkLoadCurves(b *testing.B) {
	for b.Loop() {
		if _, err := loadCurves(curveFS); err != nil {
			b.Fatal(err)
		}
	}
}
