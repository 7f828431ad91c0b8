package hazard

import (
	"fmt"
	"math"
)

// A Room is the air that the gas mixes into.
type Room struct {
	M3         float64
	AirChanges float64 // an hour, 0: none stated, and none is assumed
}

// Bounds of what is believed: a room of less than 1 m3 is a box, one of more than
// 10,000 m3 a hall whose air does not mix, and a room with more than 60 air changes
// an hour a fume cupboard. Outside them the figure would be too small to be true,
// or of nothing that people stand in.
const (
	leastM3     = 1
	mostM3      = 10_000
	mostChanges = 60
)

// Check refuses a room that is none.
func (r Room) Check() error {
	switch {
	case math.IsNaN(r.M3) || r.M3 <= 0:
		return fmt.Errorf("a room of %g m3 holds no air: length x width x height in metres", r.M3)
	case r.M3 < leastM3:
		return fmt.Errorf("a room of %g m3 is a box: give the room that people breathe in", r.M3)
	case r.M3 > mostM3:
		return fmt.Errorf("a room of %g m3 does not mix: give the part around the cells, at most %d m3", r.M3, mostM3)
	case math.IsNaN(r.AirChanges) || r.AirChanges < 0:
		return fmt.Errorf("%g air changes an hour: give 0 or more; leave it out where nobody measured it", r.AirChanges)
	case r.AirChanges > mostChanges:
		return fmt.Errorf("%g air changes an hour are no room's: at most %d, as measured", r.AirChanges, mostChanges)
	}
	return nil
}

// After is what is left of a concentration after some minutes: well-mixed decay.
func (r Room) After(c, minutes float64) float64 { return c * math.Exp(-r.AirChanges*minutes/60) }

// MinutesAbove is for how long a concentration stays at or above a limit: 0 when
// it never reaches it, without end (+Inf) when it does and no air is changed.
func (r Room) MinutesAbove(c, limit float64) float64 {
	switch {
	case c < limit:
		return 0
	case r.AirChanges == 0:
		return math.Inf(1)
	}
	return math.Log(c/limit) * 60 / r.AirChanges
}
