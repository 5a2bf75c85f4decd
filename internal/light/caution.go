package light

// Caution is a hazard of lamps in a bird room, or what a lamp plan is worth. It is shown
// beside a plan, as it stands.
type Caution struct {
	Key, Title, Text string
	Source           string
}

// Cautions returns what a page about lamps shows, in the order in which it is read.
func Cautions() []Caution {
	const practice = "common practice, no source"
	return []Caution{
		{
			"practice", "What lamp hours are worth",
			"Lamp hours are room practice, not a rule of the species. Published work is thin: for Gouldians, parrotfinches and waxbills no trial of lamp hours was found, and zebra finches answered long days only when they had food at will. Change hours gently, feed well, and go by the birds.",
			"Perfito, Kwong, Bentley and Hau 2008, Hormones and Behavior (zebra finch); " + practice,
		},
		{
			"mains", "Mains electricity",
			"Lamps, timers and dimmers run on mains voltage, which can kill you or the birds. Use a residual-current device, sealed and earthed fittings, and cables out of reach of beaks. Unplug before you touch a lamp, a timer or its wiring.",
			practice,
		},
		{
			"dust", "Dust and moisture",
			"Husk, feather dust and damp settle in sockets, timers and dimmers: dust burns and damp conducts. Choose fittings made for dusty, damp rooms, keep plugs off the floor and away from baths and drinkers, and clean them with the power off.",
			practice,
		},
		{
			"heat", "Heat",
			"Lamps, drivers and dimmers get hot. Keep them clear of nest boxes, nest material, curtains and perches, guard what a bird can reach, leave air round them, and do not load a timer or plug beyond the figure printed on it. Lamps with non-stick coatings give off fumes that kill birds. Keep a smoke alarm in the room.",
			practice,
		},
		{
			"failure", "When a lamp or timer fails",
			"Birds must not be left in sudden dark: a hen off the nest does not find it, and eggs and young chill. Fade the lamps at dusk or leave a dim night light burning, put the lamps of one room on two timers, keep a spare timer, check all timers after a power cut, and have a plan for a long one.",
			practice,
		},
		{
			"code", "Local electrical code",
			"Rules for wiring in outbuildings, damp rooms and rented rooms differ from place to place and change. Ask your authority or electrician which hold for yours, and your insurer what he expects.",
			practice,
		},
		{
			"electrician", "Licensed electrician",
			"Fixed wiring, new circuits, sockets and hard-wired dimmers are work for a licensed electrician. This programme plans hours of light; it does not judge your wiring.",
			practice,
		},
	}
}
