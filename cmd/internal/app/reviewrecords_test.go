package app

import (
	"slices"
	"testing"
	"time"

	"pouchward/triage"
)

// Rounds, incidents and records as the snapshot has them: what was not looked at, not
// said or not judged is none of the answers.
func TestSnapshotOfRecords(t *testing.T) {
	d := onDesk(t)
	act := Act{Who: "MK"}
	d.box(t)
	_, err := d.AddContainer(d.shop, act, Container{Kind: "bin", Place: "Yard"})
	d.did(t, err)
	tag := d.look(t, "", "ocv_v=3.8")
	_, err = d.Inspect(act, Inspection{Place: "Yard", Checks: map[string]string{"closed": "yes", "sound": "no", "quiet": "?"}, Found: number(3), VolumeL: "2.5"})
	d.did(t, err)
	told, err := d.TellIncident(d.shop, act, Incident{Answers: map[string]string{"tags": tag, "reacted": "no", "there": "MK", "near_miss": "yes"}})
	d.did(t, err)
	for _, passed := range []string{"yes", "no", ""} {
		_, err = d.Train(act, Training{Name: "LS", Topic: "damaged cells", Passed: passed})
		d.did(t, err)
	}
	for _, within := range []string{"0.01", "0.5", ""} {
		_, err = d.CheckInstrument(act, InstrumentCheck{Name: "meter", Reference: "3.60", Reading: "3.70", Unit: "V", Within: within})
		d.did(t, err)
	}
	_, err = d.TryNumber(d.shop, act, "no", "")
	d.did(t, err)

	s := d.reviewed(t, ReviewAsk{}).Snapshot
	if x := s.Rounds[0]; len(s.Rounds) != 1 || x.About != "Yard" || len(x.Checks) != 2 || x.Checks["sound"] != "no" || *x.Found != 3 || x.Expected != 0 || x.Scanned ||
		x.MilliLitr != 2500 || x.LogML != 2500 || x.Unmeasured != 1 {
		t.Errorf("the round is %+v", x)
	}
	var failed, passed, unjudged []bool
	for _, x := range s.Trainings {
		failed = append(failed, x.Failed)
	}
	for _, x := range s.Trials {
		passed, unjudged = append(passed, x.Passed), append(unjudged, x.Unjudged)
	}
	if !slices.Equal(failed, []bool{false, true, false}) || !slices.Equal(passed, []bool{false, true, false, false}) || !slices.Equal(unjudged, []bool{false, false, true, false}) {
		t.Errorf("trainings failed %v, trials passed %v, not judged %v", failed, passed, unjudged)
	}
	if x := s.Trials[0]; x.Instrument != "meter" || x.Unit != "V" || s.Trials[3].Instrument != "" || s.Trials[3].Number != "" {
		t.Errorf("trials %+v", s.Trials)
	}
	x := s.Incidents[0]
	if !x.NearMiss || !x.Open || x.Entry != told.Number || !slices.Contains(x.Unsaid, "seen") || !slices.Contains(x.Unsaid, "exposure of MK") || slices.Contains(x.Unsaid, "there") || !slices.Equal(x.Tags, []string{tag}) {
		t.Errorf("the incident is %+v", x)
	}
	d.time = d.time.Add(24 * time.Hour)
	d.shop, err = OpenShop(triage.DateOf(d.time).String(), "", d.time)
	if err != nil {
		t.Fatal(err)
	}
	_, err = d.Follow(act, FollowUp{Incident: told.Number, Exposure: []string{"MK=none"}, Closed: "yes"})
	n := d.did(t, err)
	s = d.reviewed(t, ReviewAsk{}).Snapshot
	if x := s.Incidents[0]; len(s.Incidents) != 1 || x.Open || x.Last.Entry != n || x.Entry != told.Number || slices.Contains(x.Unsaid, "exposure of MK") || !slices.Contains(x.Unsaid, "seen") {
		t.Errorf("after the follow-up: %+v", s.Incidents)
	}
}
