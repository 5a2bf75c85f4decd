package advice

import (
	"strconv"

	"broodlight/internal/aviary"
)

// ReadRing reads the ring that a keeper meant by what was typed beside a suggestion: a bare number takes issuer and year from
// the ring that was suggested, as the next one on the same string does. The size is that of the keeper's list which the ring
// is on, or nil.
func (d *Desk) ReadRing(text string, like aviary.Ring) (aviary.Ring, *float64, error) {
	ring, err := aviary.ParseRing(text)
	if err != nil {
		return ring, nil, err
	}
	if ring.Issuer == "" && ring.Year == 0 {
		ring.Issuer, ring.Year = like.Issuer, like.Year
	}
	return ring, d.ringSize(ring), nil
}

func (d *Desk) ringSize(ring aviary.Ring) *float64 {
	n, err := strconv.Atoi(ring.Number)
	if err != nil {
		return nil // a number with letters is on no list
	}
	for _, l := range d.Room.Whole().Rings {
		if l.Issuer == ring.Issuer && l.Year == ring.Year && l.From <= n && n <= l.To && l.Size > 0 {
			size := l.Size
			return &size
		}
	}
	return nil
}
