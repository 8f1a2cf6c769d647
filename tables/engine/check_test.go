package engine

import (
	"math"
	"strings"
	"testing"

	"injtab/fit/unit"
)

// Each bad input gets a sentence that names it and the likely slip.
func TestBadInputs(t *testing.T) {
	for name, c := range map[string]struct {
		spoil func(*Inputs)
		want  []string
	}{
		"no cylinders":        {func(in *Inputs) { in.Cylinders = 0 }, []string{"cylinders", "needed"}},
		"negative cylinders":  {func(in *Inputs) { in.Cylinders = -4 }, []string{"cylinders"}},
		"nothing to go by":    {func(in *Inputs) { in.Power, in.Displacement = 0, 0 }, []string{"power", "displacement and rpm"}},
		"air without speed":   {func(in *Inputs) { in.Power, in.RPM = 0, 0 }, []string{"rpm", "needed"}},
		"negative power":      {func(in *Inputs) { in.Power = kW(-3) }, []string{"power"}},
		"power in W":          {func(in *Inputs) { in.Power = kW(300e3) }, []string{"power", "mixed up"}},
		"consumption in lb":   {func(in *Inputs) { in.BSFC = perKWh(0.5) }, []string{"bsfc", "lb/hph"}},
		"consumption in g":    {func(in *Inputs) { in.BSFC = perHph(300) }, []string{"bsfc", "mixed up"}},
		"perfect consumption": {func(in *Inputs) { in.BSFC = perKWh(130) }, []string{"bsfc", "64 % of the fuel's heat"}},
		"filling of nine":     {func(in *Inputs) { in.VE = 9 }, []string{"ve", "0.9, not 9"}},
		"filling of ninety":   {func(in *Inputs) { in.VE = 90 }, []string{"ve", "0.9"}},
		"ratio as lambda":     {func(in *Inputs) { in.Lambda = 12.5 }, []string{"lambda", "air-fuel ratio"}},
		"lambda as ratio":     {func(in *Inputs) { in.Lambda, in.AFR = 0, 0.85 }, []string{"afr", "is a lambda"}},
		"lambda and ratio":    {func(in *Inputs) { in.AFR = 12.5 }, []string{"both lambda and afr"}},
		"gasoline ratio":      {func(in *Inputs) { in.Lambda, in.AFR, in.Fuel = 0, 14.5, mustFluid("methanol") }, []string{"afr", "gasoline scale"}},
		"absolute boost":      {func(in *Inputs) { in.Boost = unit.KPa(600) }, []string{"boost", "from the surrounding air"}},
		"vacuum":              {func(in *Inputs) { in.Boost, in.Altitude = unit.KPa(-80), 3000 }, []string{"boost", "no air"}},
		"rail in bar":         {func(in *Inputs) { in.Pressure = unit.KPa(3) }, []string{"pressure", "3bar"}},
		"rail of a diesel":    {func(in *Inputs) { in.Pressure = unit.KPa(20000) }, []string{"pressure", "1000"}},
		"rated pressure":      {func(in *Inputs) { in.RatedPressure = unit.KPa(-300) }, []string{"rated_pressure"}},
		"duty of 85":          {func(in *Inputs) { in.Duty = 85 }, []string{"duty", "85%"}},
		"negative dead time":  {func(in *Inputs) { in.DeadTime = -1e-3 }, []string{"dead_time"}},
		"dead time in us":     {func(in *Inputs) { in.DeadTime = 0.9 }, []string{"dead_time", "us and ms"}},
		"margin of 20":        {func(in *Inputs) { in.Margin = part(20) }, []string{"margin"}},
		"hot charge":          {func(in *Inputs) { in.ChargeTemp = unit.Celsius(400) }, []string{"charge_temp"}},
		"displacement in cc":  {func(in *Inputs) { in.Displacement = litres(2000) }, []string{"displacement", "2000cc"}},
		"high mountain":       {func(in *Inputs) { in.Altitude = 9000 }, []string{"altitude"}},
		"regulator":           {func(in *Inputs) { in.Regulator = "broken" }, []string{"regulator", "manifold or fixed"}},
		"bench fluid":         {func(in *Inputs) { in.Fuel = mustFluid("mineral spirits") }, []string{"fuel", "bench fluid"}},
		"consumption of oil":  {func(in *Inputs) { in.BSFCFuel = mustFluid("calibration oil") }, []string{"bsfc_fuel"}},
		"exponent":            {func(in *Inputs) { in.Exponent = 2 }, []string{"flow_exponent", "0.5"}},
		"range upside down":   {func(in *Inputs) { in.BSFCLow = perKWh(310) }, []string{"bsfc", "wrong order"}},
		"lonely end":          {func(in *Inputs) { in.VE, in.VELow = 0, 0.8 }, []string{"ve", "both ends"}},
		"share alone":         {func(in *Inputs) { in.SecondaryShare = 0.3 }, []string{"secondary_injectors"}},
		"second set alone":    {func(in *Inputs) { in.SecondaryInjectors = 3 }, []string{"secondary_share"}},
		"pump pressure alone": {func(in *Inputs) { in.PumpPressure = unit.KPa(300) }, []string{"pump_flow"}},
		"dead time eats all":  {func(in *Inputs) { in.DeadTime, in.RPM = unit.Ms(4.5), 24000 }, []string{"can't be fuelled at this speed"}},
		"nothing flows":       {func(in *Inputs) { in.Boost, in.Regulator = unit.KPa(300), Fixed }, []string{"leaves nothing to push"}},
	} {
		in := smallEngine()
		c.spoil(&in)
		_, err := Size(in)
		if err == nil {
			t.Errorf("%s: no error", name)
			continue
		}
		for _, want := range c.want {
			if !strings.Contains(err.Error(), want) {
				t.Errorf("%s: %q does not say %q", name, err, want)
			}
		}
	}
}

// No field lets a number pass that is none.
func TestNoNumber(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, x := range []float64{nan, inf, -inf} {
		for _, spoil := range []func(*Inputs){
			func(in *Inputs) { in.RPM = x }, func(in *Inputs) { in.Power = unit.Power(x) },
			func(in *Inputs) { in.VE = unit.Ratio(x) }, func(in *Inputs) { in.Margin = part(x) },
			func(in *Inputs) { in.Boost = unit.Pressure(x) }, func(in *Inputs) { in.Flow = unit.VolumeFlow(x) },
			func(in *Inputs) { in.FuelDensity = unit.Density(x) }, func(in *Inputs) { in.Altitude = unit.Length(x) },
		} {
			in := smallEngine()
			spoil(&in)
			if _, err := Size(in); err == nil {
				t.Errorf("%g passes", x)
			}
		}
	}
}

// All that is wrong is said at once.
func TestEveryMistakeIsListed(t *testing.T) {
	in := smallEngine()
	in.VE, in.Duty, in.Lambda = 9, 85, 14.7
	_, err := Size(in)
	if err == nil || strings.Count(err.Error(), "\n") != 2 {
		t.Errorf("three mistakes give %v", err)
	}
}
