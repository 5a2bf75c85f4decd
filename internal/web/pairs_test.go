package web

import (
	"strings"
	"testing"

	"broodlight/internal/aviary"
	"broodlight/internal/journal"
)

// freeRoom is two cocks and two hens, grown and free, of which one cock and one hen are brother and sister, and two empty cages.
func freeRoom(t *testing.T) (m *testRoom, ids map[string]aviary.ID) {
	ids = map[string]aviary.ID{}
	for _, n := range []string{"A1", "A2", "F", "sire", "dam", "Ash", "Rook", "Fern", "Gull"} {
		ids[n] = newID()
	}
	day, hatched := aviary.MustDate("2025-02-01"), aviary.MustDate("2024-03-01")
	var entries []*aviary.Entry
	for _, b := range []aviary.Body{
		&aviary.PlaceAdded{Place: ids["A1"], Name: "A1", Type: aviary.Cage, Bank: "Bay 1", Row: 1, Col: 1},
		&aviary.PlaceAdded{Place: ids["A2"], Name: "A2", Type: aviary.Cage, Bank: "Bay 1", Row: 1, Col: 2},
		&aviary.PlaceAdded{Place: ids["F"], Name: "Flight", Type: aviary.Flight},
		&aviary.BirdAcquired{Bird: ids["sire"], Species: "zebra", Sex: aviary.Cock, Name: "Sire"},
		&aviary.BirdAcquired{Bird: ids["dam"], Species: "zebra", Sex: aviary.Hen, Name: "Dam"},
		&aviary.BirdLeft{Bird: ids["sire"], How: "sold"},
		&aviary.BirdLeft{Bird: ids["dam"], How: "sold"},
		&aviary.BirdAcquired{Bird: ids["Ash"], Species: "zebra", Sex: aviary.Cock, Name: "Ash", Hatched: hatched, Sire: ids["sire"], Dam: ids["dam"], Place: ids["F"]},
		&aviary.BirdAcquired{Bird: ids["Rook"], Species: "zebra", Sex: aviary.Cock, Name: "Rook", Hatched: hatched, Place: ids["F"]},
		&aviary.BirdAcquired{Bird: ids["Fern"], Species: "zebra", Sex: aviary.Hen, Name: "Fern", Hatched: hatched, Sire: ids["sire"], Dam: ids["dam"], Place: ids["F"]},
		&aviary.BirdAcquired{Bird: ids["Gull"], Species: "zebra", Sex: aviary.Hen, Name: "Gull", Hatched: hatched, Place: ids["F"]},
	} {
		entries = append(entries, &aviary.Entry{Day: day, Body: b})
	}
	return newRoom(t, entries...), ids
}

func TestPairs_Page(t *testing.T) {
	m, ids := freeRoom(t)
	m.get("/pairs").wants(200, "2 pairs should wean", "sister", "Suggested pairs, and why", "Both breed for the first time").sound()
	one := "/pairs?cock=" + ids["Ash"].String() + "&hen=" + ids["Gull"].String()
	m.get(one).wants(200, "They are in the suggested set").sound()
	m.get("/pairs?cock="+ids["Ash"].String()+"&hen="+ids["Fern"].String()).wants(200, "Forbidden: sister")
	m.get("/pairs?cock="+ids["Rook"].String()+"&hen="+ids["Gull"].String()).wants(200, "without a mate", "Try it in the set")
	m.get("/pairs?keep="+ids["Rook"].String()+"."+ids["Gull"].String()).wants(200, "1 pair should wean")
	m.get("/pairs?species=phoenix").wants(404)
	m.get("/pairs?weight=nonsense&closest=9&keep=x.y&heat=z&sort=age").wants(200, "related on the Z").sound()
	newRoom(t).get("/pairs").wants(200, "No bird is in the books yet").sound()
}

func TestPairs_SetUp(t *testing.T) {
	m, ids := freeRoom(t)
	first, second := ids["Ash"].String()+"."+ids["Gull"].String(), ids["Rook"].String()+"."+ids["Fern"].String()
	m.post("/pairs/set").wants(422, "Tick the pairs")
	m.post("/pairs/set", "pair", first).wants(422, "Choose a cage for Ash and Gull")
	m.post("/pairs/set", "pair", first, "pair", second, "cage-"+first, ids["A1"].String(), "cage-"+second, ids["A1"].String()).wants(422, "A1 is taken by Ash and Gull")
	sister := ids["Ash"].String() + "." + ids["Fern"].String()
	m.post("/pairs/set", "pair", sister, "cage-"+sister, ids["A1"].String()).wants(422, "are related", "say why")
	if n := len(m.entries("pair_set")); n != 0 {
		t.Fatalf("%d pairs were set up by refused forms", n)
	}
	m.post("/pairs/set", "pair", first, "pair", second, "cage-"+first, ids["A1"].String(), "cage-"+second, ids["A2"].String()).wants(303)
	set := m.entries("pair_set")
	if len(set) != 2 || set[0].Batch == (aviary.ID{}) || set[0].Batch != set[1].Batch {
		t.Fatalf("%d pairs set up, not as one step", len(set))
	}
	m.get("/pairs").wants(200, "No pair can be made now", "paired in A1")
	m.get("/pairs?who=all").wants(200, "they are there")
}

func TestPairs_RulesHoldsWishes(t *testing.T) {
	m, ids := freeRoom(t)
	m.post("/pairs/rule", "cock", ids["Ash"].String(), "hen", ids["Gull"].String()).wants(422, "wanted together or kept apart")
	m.post("/pairs/rule", "cock", ids["Ash"].String(), "hen", ids["Gull"].String(), "rule", "apart", "asked", "species=zebra").wants(303)
	m.get("/pairs").wants(200, "Apart:", "your rule", "1 pair should wean")
	m.post("/pairs/rule", "cock", ids["Ash"].String(), "hen", ids["Gull"].String(), "rule", "free").wants(303)
	m.get("/pairs").lacks("Apart:").wants(200, "2 pairs")
	m.post("/pairs/hold", "bird", "").wants(422, "Say which bird")
	m.post("/pairs/hold", "bird", ids["Rook"].String(), "until_day", "2026-01-10").wants(422, "give a later day")
	m.post("/pairs/hold", "bird", ids["Rook"].String(), "reason", "rest").wants(303)
	m.get("/pairs").wants(200, "kept out of pairs: rest")
	m.post("/pairs/wish", "species", "zebra", "look", "").wants(422, "Say which look")
	m.post("/pairs/wish", "species", "zebra", "look", "fawn", "count", "4").wants(303)
	m.get("/pairs").wants(200, "Wished for: <b>4</b> fawn")
}

// Rules that put one bird with two at once are said, and can be taken back on the spot; so are trials that do.
func TestPairs_RulesThatClash(t *testing.T) {
	m, ids := freeRoom(t)
	rule := func(cock, hen, what string) {
		m.post("/pairs/rule", "cock", ids[cock].String(), "hen", ids[hen].String(), "rule", what).wants(303)
	}
	rule("Ash", "Gull", "together")
	m.get("/pairs").wants(200, "2 pairs should wean", "your wish")
	rule("Rook", "Gull", "together")
	m.get("/pairs").wants(200, "No set keeps all of this", "By your rules Gull is to be with two birds at once; take one of the rules back.", "Take it back").lacks("should wean", "Try nothing out").sound()
	rule("Ash", "Gull", "free")
	m.get("/pairs").wants(200, "1 pair should wean").lacks("at once")

	keep := func(cock, hen string) string { return "keep=" + ids[cock].String() + "." + ids[hen].String() }
	m.get("/pairs?"+keep("Ash", "Gull")).wants(200, "Your rule for Rook and Gull is set aside while one of them is tried out with another.").sound()
	m.get("/pairs?"+keep("Ash", "Fern")).wants(200, "Ash and Fern, whom you try out, are forbidden: sister.")
	m.get("/pairs?sibs=1&"+keep("Rook", "Fern")+"&"+keep("Rook", "Gull")).wants(200, "Rook is tried out with two birds at once; leave one of them out.", "Try nothing out", `href="/pairs?sibs=1&amp;species=zebra"`).sound()
	m.get("/pairs?most=1&"+keep("Ash", "Gull")+"&"+keep("Rook", "Fern")).wants(200, "The pairs that you want and the limits cannot be kept together. Take one of them back.").sound()
	m.get("/pairs?sibs=1&"+keep("Ash", "Gull")+"&"+keep("Rook", "Fern")).wants(200, "This limit cannot be kept: at most 1 young of Sire and Dam. Loosen one of your limits.").sound()
}

// Where the only two that are free are brother and sister, the page says so and suggests nothing.
func TestPairs_NoneIsAllowed(t *testing.T) {
	m, ids := freeRoom(t)
	for _, name := range []string{"Rook", "Gull"} {
		m.post("/pairs/hold", "bird", ids[name].String()).wants(303)
	}
	m.get("/pairs").wants(200, "No pair of those who are free is allowed", "sister").lacks("should wean", "Suggested pairs").sound()
}

// A rule that is written after the table was worked out is in it at once.
func TestPairs_FollowTheBooks(t *testing.T) {
	m, _ := freeRoom(t)
	m.get("/pairs").lacks("Pip")
	if err := m.book.Write(t.Context(), journal.Writer{By: DefaultKeeper, Role: aviary.Keeper}, &aviary.Entry{Day: aviary.MustDate("2026-01-12"), Body: &aviary.BirdAcquired{Bird: newID(), Species: "zebra", Sex: aviary.Hen, Name: "Pip", Hatched: aviary.MustDate("2024-03-01")}}); err != nil {
		t.Fatal(err)
	}
	if page := m.get("/pairs").Body.String(); !strings.Contains(page, "Pip") {
		t.Error("a new hen is not in the table")
	}
}
