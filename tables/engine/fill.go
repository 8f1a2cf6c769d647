package engine

import (
	"fmt"
	"slices"

	"injtab/fit/diag"
	"injtab/fit/unit"
)

// filled is Inputs with nothing left open, and what follows from them at once.
type filled struct {
	Inputs // the defaults filled in

	asked       Inputs
	defaults    []Default
	airDefaults []Default // used only where the answer depends on the air
	notes       []diag.Note

	sets     []set         // of injectors; the first decides
	density  unit.Density  // of the fuel at 15 °C
	ambient  unit.Pressure // absolute, around the engine
	manifold unit.Pressure // absolute
	rail, dp unit.Pressure // gauge in the rail; across the injector
	crank    unit.Power    // 0 where no power was given
	hasAir   bool          // displacement and speed were given
}

// A set is a number of like injectors that give a share of the fuel.
type set struct {
	name      string
	injectors int
	pulses    int // per cycle, of each
	share     float64
}

// fill checks the inputs and completes them; its errors are sentences.
func fill(in Inputs) (filled, error) {
	if err := check(in); err != nil {
		return filled{}, err
	}
	return complete(in)
}

// complete fills in checked inputs.
func complete(in Inputs) (filled, error) {
	f := filled{Inputs: in, asked: in}
	f.hasAir = given(in.Displacement) && given(in.RPM)
	f.fillFuel()
	f.fillSystem()
	known := len(f.defaults)
	f.fillAir()
	if !f.hasAir {
		f.airDefaults = slices.Clone(f.defaults[known:])
		f.defaults = f.defaults[:known]
	}
	f.fillConsumption()
	f.fillPower()
	if err := f.fillSets(); err != nil {
		return filled{}, err
	}
	var err error
	f.rail = RailPressure(f.Pressure, f.Regulator, f.Boost)
	f.dp, err = AcrossInjector(f.Pressure, f.Regulator, f.Boost)
	return f, err
}

func (f *filled) fillFuel() {
	if f.Fuel.Name == "" {
		f.Fuel = gasoline
		f.use("fuel", "gasoline", plainest)
	}
	f.density = f.Fuel.At(referenceTemp)
	if given(f.FuelDensity) {
		f.density = f.FuelDensity
	}
	if given(f.AFR) {
		f.Lambda = f.AFR / f.Fuel.Stoich
	}
	fallback(f, &f.Lambda, f.usual().lambda, "lambda", fmt.Sprintf("%.2f", f.usual().lambda), practice+", for "+f.usual().words)
}

func (f *filled) fillSystem() {
	fallback(f, &f.Pressure, unit.KPa(300), "pressure", "300 kPa", practice)
	fallback(f, &f.RatedPressure, unit.KPa(300), "rated_pressure", "300 kPa", practice)
	if f.Regulator == "" {
		f.Regulator = Manifold
		f.use("regulator", string(Manifold), practice)
	}
	fallback(f, &f.Exponent, 0.5, "flow_exponent", "0.5", "orifice law; a measured exponent is better")
	fallback(f, &f.Duty, 0.85, "duty", "85 %", practice)
}

// noteDeadTime says that none was given, or where it comes from.
func (f *filled) noteDeadTime() {
	if f.DeadTimeFrom != "" {
		f.use("dead_time", fmt.Sprintf("%.3f ms", f.DeadTime.Ms()), f.DeadTimeFrom)
	}
	if !given(f.DeadTime) {
		f.use("dead_time", "0 ms", "not given: the pulse is counted as if the injector opened at once, so the answer is too hopeful")
	}
}

// fillAir finds the state of the charge in the manifold.
func (f *filled) fillAir() {
	p, t := Atmosphere(f.Altitude)
	f.ambient = p
	f.manifold = p + f.Boost
	if !given(f.ChargeTemp) {
		fallback(f, &f.AmbientTemp, t, "ambient_temp", degrees(t), "standard atmosphere, ISO 2533")
		f.ChargeTemp = f.AmbientTemp
		if f.Boost > 0 {
			f.fillCharger()
		}
		f.use("charge_temp", degrees(f.ChargeTemp), "from the surrounding air, compressor and intercooler")
	}
	if f.hasAir {
		f.fillVE()
	}
}

// fillCharger heats the charge in the compressor and cools it again.
func (f *filled) fillCharger() {
	fallback(f, &f.Compressor, 0.70, "compressor_efficiency", "70 %", practice+"; textbook examples use 70 to 80 %")
	optional(f, &f.Intercooler, 0.70, "intercooler_effectiveness", practice)
	ratio := float64((f.manifold + f.IntercoolerDrop) / f.ambient)
	hot := CompressorOutlet(f.AmbientTemp, ratio, f.Compressor)
	f.ChargeTemp = Intercooler(hot, f.AmbientTemp, *f.Intercooler)
}

func (f *filled) fillVE() {
	if given(f.VE) {
		fallback(f, &f.VELow, 0.95*f.VE, "ve_low", percent(0.95*f.VE), "5 % below the figure given")
		fallback(f, &f.VEHigh, 1.05*f.VE, "ve_high", percent(1.05*f.VE), "5 % above the figure given")
		return
	}
	middle := unit.Ratio(0.90)
	if given(f.VELow) && given(f.VEHigh) {
		middle = (f.VELow + f.VEHigh) / 2
	}
	source := practice + ", for " + f.usual().words
	fallback(f, &f.VE, middle, "ve", percent(middle), source)
	fallback(f, &f.VELow, 0.80, "ve_low", "80 %", source)
	fallback(f, &f.VEHigh, f.usual().veHigh, "ve_high", percent(f.usual().veHigh), source)
}

// fillConsumption brings the specific consumption into the fuel in use.
func (f *filled) fillConsumption() {
	from := f.BSFCFuel
	switch {
	case given(f.BSFC):
		fallback(f, &f.BSFCLow, 0.9*f.BSFC, "bsfc_low", consumptionText(0.9*f.BSFC), "10 % below the figure given, "+practice)
		fallback(f, &f.BSFCHigh, 1.1*f.BSFC, "bsfc_high", consumptionText(1.1*f.BSFC), "10 % above the figure given, "+practice)
	case given(f.BSFCLow) && given(f.BSFCHigh):
		f.BSFC = (f.BSFCLow + f.BSFCHigh) / 2
		f.use("bsfc", consumptionText(f.BSFC), "middle of the range given")
	default:
		f.usualConsumption()
		from = gasoline
	}
	if from.Name != "" && from.Name != f.Fuel.Name {
		f.scaleConsumption(from.Stoich / f.Fuel.Stoich)
		f.notes = append(f.notes, diag.Warn("consumption_scaled",
			"The consumption is known for %s only: it was multiplied by %.3f, the ratio of the air-fuel ratios, which makes %s of %s. Scaling by heating value would give a little less; the larger is the safer.",
			from.Name, from.Stoich/f.Fuel.Stoich, consumptionText(f.BSFC), f.Fuel.Name))
	}
	f.BSFCFuel = f.Fuel
	if eta := BrakeEfficiency(f.BSFC, f.Fuel.Heat); eta > goodEfficiency {
		f.notes = append(f.notes, diag.Warn("consumption_low",
			"%s of %s means that %.0f %% of the fuel's heat becomes power, more than spark-ignition engines reach at full load. If that figure is for gasoline, say so (bsfc_fuel gasoline).",
			consumptionText(f.BSFC), f.Fuel.Name, eta.Pct()))
	}
}

func (f *filled) usualConsumption() {
	l := f.usual()
	f.BSFC = unit.Consumptions.In(l.bsfc, "lb/hph")
	f.BSFCLow = unit.Consumptions.In(l.bsfcLow, "lb/hph")
	f.BSFCHigh = unit.Consumptions.In(l.bsfcHigh, "lb/hph")
	f.use("bsfc", fmt.Sprintf("%s, from %.3g to %.3g g/kWh", consumptionText(f.BSFC), gkWh(f.BSFCLow), gkWh(f.BSFCHigh)),
		practice+", for "+l.words+" on gasoline")
}

func (f *filled) scaleConsumption(factor float64) {
	for _, b := range []*unit.Consumption{&f.BSFC, &f.BSFCLow, &f.BSFCHigh} {
		*b = unit.Consumption(float64(*b) * factor)
	}
}

func (f *filled) fillPower() {
	f.crank = f.Power
	if given(f.Power) && f.PowerAt == "wheels" {
		optional(f, &f.DrivelineLoss, 0.15, "driveline_loss", practice)
		f.crank = CrankPower(f.Power, *f.DrivelineLoss)
	}
}

// fillSets lays out the injectors: as many as cylinders unless said otherwise.
func (f *filled) fillSets() error {
	if f.Injectors == 0 {
		f.Injectors = f.Cylinders
		f.use("injectors", fmt.Sprint(f.Cylinders), "one for each cylinder")
	}
	main, err := f.layOut("primary", f.Injectors, 1-float64(f.SecondaryShare))
	if err != nil {
		return err
	}
	f.PulsesPerCycle = main.pulses
	f.sets = []set{main}
	if f.SecondaryInjectors > 0 {
		second, err := f.layOut("secondary", f.SecondaryInjectors, float64(f.SecondaryShare))
		if err != nil {
			return err
		}
		f.sets = append(f.sets, second)
	}
	return nil
}

// layOut finds how often each injector of a set pulses. Injectors that several
// cylinders share pulse once for each of them.
func (f *filled) layOut(name string, injectors int, share float64) (set, error) {
	s := set{name: name, injectors: injectors, pulses: f.asked.PulsesPerCycle, share: share}
	if s.pulses > 0 {
		return s, nil
	}
	s.pulses = 1
	if injectors < f.Cylinders {
		if f.Cylinders%injectors != 0 {
			return set{}, fmt.Errorf("%d %s injectors for %d cylinders don't share evenly: say how often each one pulses in two turns (pulses_per_cycle)", injectors, name, f.Cylinders)
		}
		s.pulses = f.Cylinders / injectors
		f.use("pulses_per_cycle", fmt.Sprint(s.pulses), fmt.Sprintf("each %s injector pulses once for each of its %d cylinders", name, s.pulses))
	} else if injectors%f.Cylinders != 0 {
		return set{}, fmt.Errorf("%d %s injectors for %d cylinders don't share evenly: correct the count, or say how often each one pulses in two turns (pulses_per_cycle)", injectors, name, f.Cylinders)
	}
	return s, nil
}

// breath is what the flow of air is proportional to, whatever the displacement.
func (f *filled) breath() float64 { return float64(f.manifold) / float64(f.ChargeTemp) * f.RPM }

// window is the time between pulses of a set; 0 where no speed was given.
func (f *filled) window(s set) unit.Time {
	if !given(f.RPM) {
		return 0
	}
	return Window(f.RPM, s.pulses)
}

// A fuelFlow is the engine's fuel at full load with the ends of its range.
type fuelFlow struct{ mid, low, high unit.MassFlow }

func (q fuelFlow) share(x float64) fuelFlow {
	k := unit.MassFlow(x)
	return fuelFlow{k * q.mid, k * q.low, k * q.high}
}

// fuelByPower is the fuel from power and specific consumption.
func (f *filled) fuelByPower() fuelFlow {
	return fuelFlow{FuelFromPower(f.crank, f.BSFC), FuelFromPower(f.crank, f.BSFCLow), FuelFromPower(f.crank, f.BSFCHigh)}
}

// air is what the engine breathes at a volumetric efficiency.
func (f *filled) air(ve unit.Ratio) unit.MassFlow {
	return Air(f.Displacement, f.RPM, ve, f.manifold, f.ChargeTemp)
}

// fuelByAir is the fuel from the air that the engine breathes.
func (f *filled) fuelByAir() fuelFlow {
	fuel := func(ve unit.Ratio) unit.MassFlow { return FuelFromAir(f.air(ve), f.Lambda, f.Fuel.Stoich) }
	return fuelFlow{fuel(f.VE), fuel(f.VELow), fuel(f.VEHigh)}
}

// fuel is the demand that decides: from power where power was given, else from air.
func (f *filled) fuel() fuelFlow {
	if given(f.crank) {
		return f.fuelByPower()
	}
	return f.fuelByAir()
}

// at is the same engine at another speed and boost. Where power is given it
// follows the air: in proportion to speed, manifold pressure and 1/temperature.
func (f *filled) at(rpm float64, boost unit.Pressure) (filled, error) {
	in := f.asked
	in.RPM, in.Boost = rpm, boost
	g, err := complete(in)
	if given(f.crank) && given(f.RPM) {
		g.crank = unit.Power(float64(f.crank) * g.breath() / f.breath())
	}
	return g, err
}
