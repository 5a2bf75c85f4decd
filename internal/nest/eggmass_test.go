package nest

import (
	"encoding/csv"
	"encoding/json"
	"math"
	"os"
	"strconv"
	"testing"
)

// The table holds volumes and fresh masses by Hoyt (1979) worked out by another program.
func TestFreshMass_Table(t *testing.T) {
	f, err := os.Open("testdata/egg_size.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range rows[1:] {
		num := func(i int) float64 {
			x, err := strconv.ParseFloat(row[i], 64)
			if err != nil {
				t.Fatal(err)
			}
			return x
		}
		if got, want := EggVolume(num(1), num(2)), num(3); math.Abs(got-want) > 1e-9*want {
			t.Errorf("%s: volume %v, want %v", row[0], got, want)
		}
		if got, want := FreshMass(num(1), num(2)), num(4); math.Abs(got-want) > 1e-9*want {
			t.Errorf("%s: mass %v, want %v", row[0], got, want)
		}
	}
	// Java sparrow eggs, 18.8 × 13.6 mm (Stoddard et al. 2017, Science 356, 1249), weigh
	// 1.83 g (Myhrvold et al. 2015, Ecology 96, 3109).
	if got := FreshMass(18.8, 13.6); math.Abs(got-1.83) > 0.08 {
		t.Errorf("Java sparrow: %v g", got)
	}
}

// The line is that of R's lm and of numpy on the same six weighings.
func TestWaterLoss_LeastSquares(t *testing.T) {
	raw, err := os.ReadFile("testdata/egg_weighing.json")
	if err != nil {
		t.Fatal(err)
	}
	var want struct {
		Day       []float64 `json:"day"`
		Mass      []float64 `json:"mass_g"`
		Intercept float64
		Slope     float64
		SE        []float64
		Percent   float64 `json:"percent_loss_by_day_13"`
	}
	if err := json.Unmarshal(raw, &want); err != nil {
		t.Fatal(err)
	}
	var w []Weighing
	for i, d := range want.Day {
		w = append(w, Weighing{d, want.Mass[i]})
	}
	got := WaterLoss(w, 0.001, 13, 0, 0)
	for _, c := range []struct {
		what      string
		got, want float64
	}{{"fresh", got.Fresh, want.Intercept}, {"slope", -got.PerDay, want.Slope}, {"error", got.SE, want.SE[1]}, {"loss", 100 * got.ToPip, want.Percent}} {
		if math.Abs(c.got-c.want) > 1e-9 {
			t.Errorf("%s: got %v, want %v", c.what, c.got, c.want)
		}
	}
	if got.Status != LossKnown || !(got.Low < got.ToPip && got.ToPip < got.High && got.High-got.Low < 0.02) {
		t.Errorf("%+v", got)
	}
}

func TestWaterLoss_TheScaleIsInTheBounds(t *testing.T) {
	w := []Weighing{{0, 1.00}, {2, 0.98}}
	coarse, fine := WaterLoss(w, 0.01, 13, 0, 0), WaterLoss(w, 0.001, 13, 0, 0)
	if coarse.Status != LossTooCoarse || fine.Status != LossKnown || coarse.High-coarse.Low < 9*(fine.High-fine.Low) {
		t.Errorf("coarse %+v\nfine %+v", coarse, fine)
	}
	for _, c := range []struct {
		w      []Weighing
		step   float64
		pip    float64
		status LossStatus
	}{
		{nil, 0.01, 13, LossTooFew},
		{[]Weighing{{1, 1}}, 0.01, 13, LossTooFew},
		{[]Weighing{{1, 1}, {1, 0.9}}, 0.01, 13, LossTooFew},
		{[]Weighing{{1, 1}, {2, -1}}, 0.01, 13, LossNotSense},
		{[]Weighing{{1, 1}, {2, math.NaN()}}, 0.01, 13, LossNotSense},
		{w, 0, 13, LossNotSense},
		{w, 0.01, math.Inf(1), LossNotSense},
	} {
		if got := WaterLoss(c.w, c.step, c.pip, 0, 0); got.Status != c.status {
			t.Errorf("%+v: %v, want %v", c, got.Status, c.status)
		}
	}
	// Six weighings on average bound the truth 95 times in 100; here by simulation of the
	// rounding alone, every hundredth of a phase.
	held := 0
	const n = 500
	for i := range n {
		var w []Weighing
		for d := 0.0; d <= 10; d += 2 {
			m := 1.4*(1-0.13*d/13) + float64(i)*0.01/n
			w = append(w, Weighing{d, math.Round(m*100) / 100})
		}
		truth := 1.4 * 0.13 / (1.4 + float64(i)*0.01/n)
		if l := WaterLoss(w, 0.01, 13, 0, 0); l.Low <= truth && truth <= l.High {
			held++
		}
	}
	t.Logf("bounds held %d of %d", held, n)
	if held < n*90/100 {
		t.Error("too narrow")
	}
}
