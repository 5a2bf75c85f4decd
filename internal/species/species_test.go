package species

import "testing"

func TestAll_Loads(t *testing.T) {
	for _, p := range All() {
		v, _ := p.Value(IncubationPeriod)
		w, _ := p.Value(LayingInterval)
		t.Log(p.Slug, p.Group, v, "|", w, "|", p.Values[IncubationStartsAtEgg], p.Values[AdultMass], p.Values[LatitudeMin], p.Values[NaturalDaylength])
	}
	_, err := Find("gouldan")
	t.Log(err)
}
