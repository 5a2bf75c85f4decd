package feed

// Caution is a hazard of feeding, shown as it stands.
type Caution struct {
	Key, Title, Text, Source string
}

// Cautions returns what a page about food shows, in the order in which it is read.
func Cautions() []Caution {
	return []Caution{
		{
			"sprouts", "Sprouted seed",
			"The moist warmth that wakes seed also grows mould and bacteria, Salmonella among them, which make birds and people ill. Wash hands, jars and sieves with hot water and soap, rinse until the water is clear, and smell every batch. What smells sour, is slimy, cloudy or mouldy goes into the bin, all of it. Take out what is left in the cage after four hours, sooner in a warm room.",
			practice,
		},
		{
			"egg", "Egg food",
			"Moist egg spoils within hours. Give what is eaten in one sitting, in clean dishes, and take the rest out with the sprouts.",
			practice,
		},
		{
			"calcium", "Calcium",
			"Cuttlebone, grit or baked eggshell is out at all times. Seed alone cannot shell a clutch.",
			eggSource,
		},
		{
			"hen", "A hen that is fluffed, low or straining",
			"Eating less while laying is normal; looking ill is not. A hen that sits fluffed or low, strains or pumps her tail is an emergency: gentle warmth and quiet, and an avian vet at once.",
			practice,
		},
		{
			"medicine", "Medicines and supplements",
			"Medicines are for an avian vet to choose and measure. This program gives no dose of any medicine, vitamin or mineral.",
			practice,
		},
		{
			"figures", "What these figures are worth",
			"What these species need is not known exactly: energy comes from equations for songbirds, protein and calcium from other birds and from practice. Weigh birds and what they leave, and go by them.",
			cageSource,
		},
	}
}
