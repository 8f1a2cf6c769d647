package tables

// Cautions are what everybody should read once before a bench is filled or an
// engine started.
func Cautions() []string { return append(BenchCautions(), EngineCautions()...) }

// BenchCautions are those for work at the bench.
func BenchCautions() []string {
	return []string{
		"Test fluid and fuel burn: work outdoors or ventilated, away from flames, sparks and hot parts, with bonded and grounded vessels and an extinguisher within reach; prefer a calibration fluid of high flash point. Fuse the supply of the bench and protect its driver from the coils' voltage peaks.",
	}
}

// EngineCautions are those for what goes into an engine.
func EngineCautions() []string {
	return []string{
		"Tables are a starting point: verify the mixture with a wideband sensor and listen for knock; start rich and at low boost. A lean cylinder under boost destroys an engine.",
		"Emissions and road-use law, local fire codes and a licensed tuner's judgement come first.",
	}
}
