package cli

import (
	"strings"

	"github.com/spf13/cobra"

	"broodlight/internal/feed"
)

// The answer of mix as JSON. An open end of a limit is null.
type (
	mixJSON struct {
		Status  string         `json:"status"`
		Cost    *float64       `json:"cost"`
		Total   *float64       `json:"total"`
		Tied    bool           `json:"tied"`
		Foods   []mixFoodJSON  `json:"foods"`
		Needs   []mixNeedJSON  `json:"needs"`
		Clashes []mixClashJSON `json:"clashes"`
		Message string         `json:"message"`
	}
	mixFoodJSON struct {
		Name   string  `json:"name"`
		Amount float64 `json:"amount"`
		Share  float64 `json:"share"`
		Cost   float64 `json:"cost"`
	}
	mixNeedJSON struct {
		Name  string   `json:"name"`
		Value float64  `json:"value"`
		Min   *float64 `json:"min"`
		Max   *float64 `json:"max"`
		Holds string   `json:"holds"`
		Price float64  `json:"price"`
	}
	mixClashJSON struct {
		Name  string   `json:"name"`
		Kind  string   `json:"kind"`
		Side  string   `json:"side"`
		At    float64  `json:"at"`
		Reach *float64 `json:"reach"`
	}
)

func mixValue(m feed.MixAnswer) mixJSON {
	out := mixJSON{Status: m.Status.String(), Tied: m.Tied, Foods: []mixFoodJSON{}, Needs: []mixNeedJSON{}, Clashes: []mixClashJSON{}, Message: m.Message}
	if m.Status == feed.Optimal {
		out.Cost, out.Total = &m.Cost, &m.Total
	}
	for _, a := range m.Amounts {
		out.Foods = append(out.Foods, mixFoodJSON{a.Name, a.Amount, a.Share, a.Cost})
	}
	for _, n := range m.Needs {
		out.Needs = append(out.Needs, mixNeedJSON{n.Name, n.Value, known(n.Limit.Min), known(n.Limit.Max), n.Tight, n.Price})
	}
	for _, c := range m.Clashes {
		j := mixClashJSON{Name: c.Need, Kind: "need", Side: c.Side, At: c.At}
		if c.Food {
			j.Kind = "food"
		}
		if c.HasReach {
			j.Reach = &c.Reach
		}
		out.Clashes = append(out.Clashes, j)
	}
	return out
}

func mix() *cobra.Command {
	var foodsPath, needsPath string
	var asJSON bool
	cmd := &cobra.Command{
		Use: "mix --in FILE --needs FILE", Short: "The cheapest mix of foods that meets some needs", Args: noArgs,
		Long: "Reads foods with their prices, limits and what they hold, and what the mix is to hold. Writes how much of each food\nmakes the cheapest mix, and which needs set its cost. If no mix meets all needs it says which of them clash and ends\nwith 2. docs/feeding.md has the columns.",
		RunE: func(cmd *cobra.Command, _ []string) error {
			if err := readsOnce(foodsPath, needsPath, "needs"); err != nil {
				return err
			}
			rawFoods, foodsName, err := feedFile(cmd, "in", foodsPath)
			if err != nil {
				return err
			}
			rawNeeds, needsName, err := feedFile(cmd, "needs", needsPath)
			if err != nil {
				return err
			}
			foods, err := feed.ReadFoods(rawFoods)
			if err != nil {
				return feedError(err, foodsName)
			}
			needs, err := feed.ReadNeeds(rawNeeds)
			if err != nil {
				return feedError(err, needsName)
			}
			if err := feed.CheckMix(foods, needs); err != nil {
				return feedError(err, needsName)
			}
			m := feed.Mix(foods, needs)
			if m.Status != feed.Optimal {
				if asJSON {
					if err := (table{value: mixValue(m)}).write(cmd.OutOrStdout(), true); err != nil {
						return err
					}
				}
				return badf("%s", strings.TrimSuffix(m.Message, "."))
			}
			return table{header: feed.MixHeader(), rows: m.Rows(), value: mixValue(m)}.write(cmd.OutOrStdout(), asJSON)
		},
	}
	fileFlag(cmd, &foodsPath, "in", "foods: food, price, min, max and what each holds")
	fileFlag(cmd, &needsPath, "needs", "needs: need, min, max, of")
	jsonFlag(cmd, &asJSON)
	return cmd
}
