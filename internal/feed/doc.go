// Package feed says what the birds of a room are fed, how much of it, and what that
// comes to: phases of a pair's season, portions, energy and nutrients, least-cost mixes,
// sprouting jars, the morning's list and what runs out when.
//
// # What it answers
//
// Which phase is this pair in, is nest material due, and is a drop in its food normal?
// How much sprouted seed and egg food does this cage get this morning? Does this ration
// carry five chicks on day 12? What is the cheapest mix with 14 % protein, and if there
// is none, which wishes clash? When is tomorrow's jar soaked?
//
// # Shapes
//
// A [Pair] with its signs and nests, and the [Season] of its place, give a [Standing] on a
// day. [Birds] and a [Phase] give a [Need] and, with the [Guard] of the species, the
// [Item]s of a morning; [Morning] joins cages to one list. A list of [Serving]s gives an
// [Analysis]. [Mix] takes [Ingredient]s and [MixNeed]s; under it lies [Programme], a linear programme
// with n columns and m rows. A [SproutPlan] gives a [SproutSchedule]. Foods and guards
// that come with the program are in data/; every figure there has its basis and source.
//
// # Units
//
// Mass in g, volume in ml, a level teaspoon is 5 ml, energy in kJ of metabolizable energy,
// temperature in °C, ages and phases in days. A [Day] is a civil day as a running number whose
// zero means not known; only differences matter. Composition is g per 100 g of the
// part that is eaten. Percentages of a ration are stated at a tenth of water, as labels
// are, so that egg and sprouts compare with seed.
//
// # Model
//
// Phases are common practice: sprouted seed for about three weeks, egg food from the third,
// nest material once signs show, from about the fourth. One strong sign of the last two
// weeks (at the nest, building) or two kinds of the others are enough. A live nest outranks
// the plan. A pair without signs stays, a pair that is ahead goes ahead.
//
// A caged adult needs 0.73 of the field rate of its mass (0.53 to 0.88), from one study of
// canaries. A chick's need rises in a straight line to its peak and stays, so that it sums to
// the published total; it goes over to an adult's from a week after fledging. Laying adds the cost of
// the egg to the need and takes 8 % from what is eaten. Cold, moult and the work of sitting
// are left out, because no sound figure was found. What a bird picks out of a mix is not known here.
//
// Weights are judged against the bird's own earlier ones first. No amount of a medicine or
// supplement is given anywhere; calcium is out freely and counted in nothing.
//
// # Files
//
// Cells are parted by commas, or by semicolons or tabs; then a comma in a number is a
// decimal point. The first line names the columns, in any order, letters of either case.
//
// ration.csv has one line a food. What is said of the birds stands on the first line of a ration.
//
//	ration            name; a line without one belongs to the ration above
//	phase             rest, preparation, conditioning, egg food, nest material, laying,
//	                  sitting, rearing, weaning or moult (needed)
//	adults            how many; 2 when empty
//	mass_g            mass of one adult (needed)
//	chicks            how many; 0 when empty
//	chick_age_days    needed with chicks
//	fledge_g          mass on fledging; 0.95 of an adult's when empty
//	fledge_days       age on fledging; 21 when empty
//	independent_days  age at which they feed themselves; 35 when empty
//	egg_g, egg_days   mass of one egg and days from egg to egg, for laying
//	cage_share        need of a caged adult as a share of the field rate
//	food              id or name of a food of the program, or a food of your own (needed)
//	amount            a number (needed unless unit is free)
//	unit              g, oz, ml, tsp, tbsp, or free for what is out at all times (needed)
//	water, protein, fat, carbohydrate, calcium, phosphorus
//	                  g per 100 g eaten, in place of the program's figures
//	energy            usable kJ per g eaten
//	hull              g of 100 g as bought that are blown off
//
// So:
//
//	ration,phase,adults,mass_g,chicks,chick_age_days,food,amount,unit
//	peak,rearing,2,12,5,12,white-millet,20,g
//	,,,,,,chitted-seed,3,tsp
//	,,,,,,cuttlebone,,free
//
// foods.csv has one line a food that may go into a mix.
//
//	food      name (needed)
//	price     of one unit (needed)
//	min, max  least and most of it in the mix; 0 and no limit when empty
//	...       any other column is something that the food holds, per unit of food
//
// needs.csv has one line a need.
//
//	need      a column of foods.csv, or total for the sum of all amounts (needed)
//	min, max  least and most of it; one of them is needed
//	of        empty for the amount in the whole mix, total for a share of the mix
//
// So, for a kilo of mix:
//
//	food,price,max,protein,fat
//	white millet,1.90,,0.11,0.04
//	canary seed,2.10,,0.155,0.06
//	niger,3.20,0.1,0.21,0.38
//
//	need,min,max
//	total,1,1
//	protein,0.14,0.18
//	fat,,0.09
//
// # Errors
//
// A figure or line that cannot be used is an [*Error] with line and column. A mix that
// cannot be made is no error: [MixAnswer] has a Status and says which limits clash. A
// linear programme with slices that do not fit together panics.
//
// # Sources
//
//   - Nagy (2005), Journal of Experimental Biology 208, 1621-1625; Nagy (1987), Ecological
//     Monographs 57, 111-128; Nagy (2001), Nutrition Abstracts and Reviews 71: field rates, dry food.
//   - Aschoff and Pohl (1970), Journal fuer Ornithologie 111, 38-47; Lasiewski and Dawson
//     (1967), Condor 69, 13-23: basal rates.
//   - Harper and Turner (2000), Comparative Biochemistry and Physiology B 126, 271-281: what a caged
//     canary needs and how much of its food it uses.
//   - Weathers (1992), Ibis 134, 142-153, coefficients from memory: chicks.
//   - Lill and Fell (1990), Emu 90, 33-39: yolk, energy and shell of eggs.
//   - Williams and Ternan (1999), Physiological and Biochemical Zoology 72, 19: laying pairs eat less.
//   - Murphy (1993), Canadian Journal of Zoology: protein that kept a sparrow. Merck Veterinary
//     Manual, Nutrition in passerines: protein and fat of food for breeding.
//   - Dantzig (1963), Linear Programming and Extensions; Bland (1977), Mathematics of
//     Operations Research 2, 103-107; Chinneck and Dravnieks (1991), ORSA Journal on Computing 3, 157-168:
//     the simplex, its rule against cycling, the smallest clash; from memory.
//   - Theil (1950), Sen (1968): the trend of weights. Wilson (1927): the interval of a germination test.
//   - Composition of foods: see data/foods.json.
//   - All portions, phases and sprouting times: common practice or from memory, and marked so.
package feed
