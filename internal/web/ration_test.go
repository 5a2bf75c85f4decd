package web

import (
	"net/http"
	"testing"

	"broodlight/internal/aviary"
)

func TestRation_SaysWhatAPhaseOffers(t *testing.T) {
	m := newRoom(t, smallRoom()...)
	m.get("/food/ration").wants(200, "rearing: energy enough, protein and fat below the range", "2 grown birds and 4 chicks of day 12", "What a nest needs, day by day",
		"fed most: day", "no sound figure", "Merck Veterinary Manual", "Harper and Turner 2000", "Weathers 1992", "portion in every phase", "18–25").sound()
	// A pair at rest of 12 g needs 82 kJ a day, 2 x 0.73 x 10.4 x 12^0.68 (Nagy 2005; Harper and Turner 2000), by hand.
	m.get("/food/ration?species=zebra&phase=rest&adults=2&chicks=0&grams=12").wants(200, "82 kJ a day, likely between 60 and 99", "Zebra finch, rest").lacks("for chicks").sound()
	m.get("/food/ration?species=gouldian&phase=egg+food&adults=2&chicks=0").wants(200, "Gouldian finch, egg food").sound()
	// 20 ml of white millet as bought are 14 g, of which 11.48 g are eaten; its protein at a tenth of water is 10.9 %.
	m.get("/food/ration?species=zebra&phase=laying&adults=2&chicks=0&portion=own&amount-white-millet=20").wants(200, "with your own amounts", "10.9", "No cuttlebone, grit or eggshell is out", "Seed alone cannot shell a clutch", "a laying hen moves less").sound()
	m.get("/food/ration?portion=own&amount-white-millet=20&free=cuttlebone").wants(200).lacks("No cuttlebone, grit or eggshell is out")
}

func TestRation_InTheKeepersUnits(t *testing.T) {
	text := func(s string) *string { return &s }
	m := newRoom(t, lampEntry("2025-06-01", &aviary.RoomSet{Volume: text("tsp"), Mass: text("oz")}))
	m.get("/food/ration?species=zebra&phase=rest&adults=2&chicks=0&grams=0.42&portion=own&amount-white-millet=4").wants(200, "0.42 oz, as you gave it", "tsp", "0.494 oz").sound()
}

func TestRation_Refuses(t *testing.T) {
	m := newRoom(t)
	for query, says := range map[string]string{
		"species=dodo":                    "no species called",
		"phase=summer":                    "no feeding phase",
		"adults=0&chicks=0":               "Somebody must eat",
		"adults=two":                      "not a whole number",
		"adults=-1":                       "Give the adults",
		"chicks=99999":                    "Give the chicks",
		"age=400":                         "0 to 120",
		"age=old":                         "not a number",
		"grams=4000":                      "An adult weighs",
		"grams=0":                         "more than nothing",
		"portion=own&amount-niger=-3":     "Niger: give an amount",
		"portion=own&amount-niger=1e99":   "Niger: give an amount",
		"portion=own&amount-niger=much":   "not a number",
		"portion=own&amount-cuttlebone=3": "what a spoon of it weighs is not known",
		"portion=own&free=hay":            "no food called",
	} {
		t.Run(query, func(t *testing.T) {
			m.get("/food/ration?"+query).wants(http.StatusUnprocessableEntity, says, "Nothing is worked out yet").sound()
		})
	}
}

const twoFoods = "/food/mix?make=yes&use=white-millet&price-white-millet=2&use=egg-food&price-egg-food=8&kilos=5"

// TestMix_AnswersInSentences: 14 % protein takes 51 in 100 of egg food in what is eaten; see TestMix_ByHand of package advice.
func TestMix_AnswersInSentences(t *testing.T) {
	m := newRoom(t)
	m.get(twoFoods+"&protein_min=14").wants(200, "Cheapest: white millet and dry egg food", "51.1\u2009%", "At least 14\u2009% protein sets the cost", "dearer", "at least 14\u2009%", "5 kg as bought cost").sound()
	m.get(twoFoods+"&protein_min=18").wants(200, "No mix of these foods can be made", "No mix of these foods has at least 18\u2009% protein", "The most protein that they get to is 17\u2009%").lacks("What sets the cost").sound()
	m.get(twoFoods+"&protein_min=14&max-egg-food=20").wants(200, "These wishes clash: at least 14\u2009% protein and at most 20\u2009% dry egg food").sound()
	m.get(twoFoods+"&min-white-millet=60&min-egg-food=60").wants(200, "at least 60\u2009% white millet and at least 60\u2009% dry egg food").sound()
	m.get(twoFoods+"&needs=guide&phase=rearing").wants(200, `name="protein_min" type="text" value="18"`, "No mix of these foods")
}

func TestMix_StartsFromTheStores(t *testing.T) {
	price := 2.4
	m := newRoom(t)
	m.get("/food/mix").wants(200, "Which mix costs least?", "Tick the foods").sound()
	m = newRoom(t, lampEntry("2026-01-05", &aviary.StoreCounted{Food: "white-millet", Grams: 900, Price: &price}))
	m.get("/food/mix").wants(200, "Cheapest: white millet, 2.40 a kilo", "Last price 2.4, 5 Jan 2026", `value="8.7"`).sound()
	m.get("/food/mix?make=yes").wants(http.StatusUnprocessableEntity, "Tick at least one food")
}

func TestMix_Refuses(t *testing.T) {
	m := newRoom(t)
	for query, says := range map[string]string{
		"":                                       "Tick at least one food",
		"&use=niger":                             "Niger: give what a kilo costs",
		"&use=niger&price-niger=-1":              "give what a kilo costs, 0 or more",
		"&use=niger&price-niger=x":               "not a number",
		"&use=niger&price-niger=1&max-niger=120": "0 to 100 %",
		"&use=niger&price-niger=1&min-niger=50&max-niger=20": "cannot both be",
		"&use=niger&price-niger=1&fat_min=-3":                "0 to 100 %",
		"&use=niger&price-niger=1&energy_max=90":             "0 to 40 kJ a g",
		"&use=niger&price-niger=1&fat_min=50&fat_max=20":     "cannot both be",
		"&use=niger&price-niger=1&kilos=0":                   "Give how much is to be made",
		"&use=niger&price-niger=1&kilos=":                    "Give how much is to be made",
		"&use=niger&price-niger=1&phase=summer":              "no feeding phase",
	} {
		t.Run(query, func(t *testing.T) {
			m.get("/food/mix?make=yes"+query).wants(http.StatusUnprocessableEntity, says, "Nothing is worked out yet").sound()
		})
	}
}
