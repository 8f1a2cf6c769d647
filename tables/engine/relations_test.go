package engine

import (
	"slices"
	"strings"
	"testing"

	"injtab/fit/diag"
	"injtab/fit/unit"
)

func hasNote(notes []diag.Note, code string) bool {
	return slices.ContainsFunc(notes, func(n diag.Note) bool { return n.Code == code })
}

// Computed with pencil and paper from the plain relations.
func TestPencilAndPaper(t *testing.T) {
	// 200 hp, 0.50 lb/(hp·h), four injectors, 80 %: 31.25 lb/h each.
	fuel := FuelFromPower(hp(200), perHph(0.5))
	near(t, "lb/h each", unit.MassFlows.As(fuel, "lb/h")/4/0.8, 31.25, exact)
	near(t, "g/min each", fuel.GMin()/4/0.8, 236.246, 1e-6)
	// 6500 rpm, dead time 0.9 ms.
	w := Window(6500, 1)
	near(t, "window", w.Ms(), 18.4615, 1e-5)
	m := FuelPerPulse(fuel, w, 4)
	near(t, "mg per pulse", m.Mg(), 58.1529, 1e-6)
	static, err := StaticFlow(m, unit.Time(0.8*float64(w)), unit.Ms(0.9))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "static", static.GMin(), 251.577, 1e-5)
	near(t, "and back", PulseFor(m, static, unit.Ms(0.9)).Ms(), 14.7692, 1e-5)
	// 2.0 l, 6500 rpm, 0.95, 200 kPa, 45 °C: 225.386 g/s; lambda 0.80, 14.7.
	air := Air(litres(2), 6500, 0.95, unit.KPa(200), unit.Celsius(45))
	near(t, "air", gps(air), 225.386, 2e-5)
	near(t, "fuel", FuelFromAir(air, 0.8, 14.7).GMin(), 1149.93, 2e-5)
	near(t, "air again", gps(AirFromFuel(FuelFromAir(air, 0.8, 14.7), 0.8, 14.7)), gps(air), exact)
	// 20 °C, pressure ratio 2, efficiency 0.70.
	near(t, "compressor", CompressorOutlet(unit.Celsius(20), 2, 0.7).C(), 111.72, 1e-4)
	// 6500 rpm, 15 ms.
	near(t, "duty", Duty(unit.Ms(15), w).Pct(), 81.25, exact)
	// 300 kW at 340 g/kWh: 102 kg/h; 136.9 l/h at 745 kg/m3; ×1.25 = 171.1.
	pump := PumpFlow(FuelFromPower(kW(300), perKWh(340)), 0.25)
	near(t, "pump", float64(pump)/745*3600e3, 171.1, 1e-3)
}

// Kinematics: 1000, 3000, 6000 and 7500 rpm are windows of 120, 40, 20 and 16 ms;
// once per turn halves them. 18 ms of 20 ms is 90 %, 2 ms is 10 %.
func TestWindow(t *testing.T) {
	for rpm, ms := range map[float64]float64{1000: 120, 3000: 40, 6000: 20, 7500: 16} {
		near(t, "window", Window(rpm, 1).Ms(), ms, exact)
		near(t, "window once per turn", Window(rpm, 2).Ms(), ms/2, exact)
	}
	near(t, "duty", Duty(unit.Ms(18), Window(6000, 1)).Pct(), 90, exact)
	near(t, "duty", Duty(unit.Ms(2), Window(6000, 1)).Pct(), 10, exact)
}

// 43.5 psi is 299.922 kPa; 3 to 4 bar is ×1.154701; a fixed 3 bar rail is ×0.816497
// at 1 bar of boost and ×1.103026 at 0.65 bar of vacuum. Computed.
func TestPressureAcrossInjector(t *testing.T) {
	near(t, "psi", unit.Pressures.In(43.5, "psi").KPa(), 299.922, 1e-6)
	near(t, "3 to 4 bar", float64(FlowAt(1, unit.KPa(300), unit.KPa(400), 0.5)), 1.154701, 1e-6)
	factor := func(r Regulator, boost float64) float64 {
		dp, err := AcrossInjector(unit.KPa(300), r, unit.KPa(boost))
		if err != nil {
			t.Fatal(err)
		}
		return float64(FlowAt(1, unit.KPa(300), dp, 0.5))
	}
	near(t, "fixed, boost", factor(Fixed, 100), 0.816497, 1e-6)
	near(t, "fixed, vacuum", factor(Fixed, -65), 1.103026, 1e-6)
	near(t, "manifold, boost", factor(Manifold, 100), 1, exact)
	if RailPressure(unit.KPa(300), Manifold, unit.KPa(100)).KPa() < 399 || RailPressure(unit.KPa(300), Fixed, unit.KPa(100)).KPa() > 301 {
		t.Error("rail pressures are mixed up")
	}
	for _, boost := range []float64{300, 400} {
		if _, err := AcrossInjector(unit.KPa(300), Fixed, unit.KPa(boost)); err == nil || !strings.Contains(err.Error(), "leaves nothing to push") {
			t.Errorf("boost %g against 300 kPa: %v", boost, err)
		}
	}
}

// Square-root law, computed: 100 at 300 kPa.
func TestFlowOverPressure(t *testing.T) {
	for p, q := range map[float64]float64{200: 81.650, 250: 91.287, 350: 108.012, 400: 115.470, 500: 129.099, 600: 141.421} {
		near(t, "flow", FlowAt(unit.MlMin(100), unit.KPa(300), unit.KPa(p), 0.5).MlMin(), q, 1e-5)
	}
}

func TestStaticFlowNeedsOpenTime(t *testing.T) {
	for _, dead := range []float64{1, 1.5} {
		if _, err := StaticFlow(unit.Grams(0.01), unit.Ms(1), unit.Ms(dead)); err == nil || !strings.Contains(err.Error(), "can't be fuelled") {
			t.Errorf("dead time %g of 1 ms: %v", dead, err)
		}
	}
}

func TestCrankPower(t *testing.T) {
	near(t, "170 at the wheels, 15 % lost", CrankPower(hp(170), 0.15).KW(), hp(200).KW(), exact)
}

func TestPumpFits(t *testing.T) {
	lh := func(x float64) unit.VolumeFlow { return unit.VolumeFlows.In(x, "l/h") }
	if _, _, err := PumpFits(lh(255), 0, lh(170), unit.KPa(400)); err == nil || !strings.Contains(err.Error(), "free flow") {
		t.Errorf("a free flow is compared: %v", err)
	}
	if _, _, err := PumpFits(lh(255), unit.KPa(300), lh(170), unit.KPa(400)); err == nil || !strings.Contains(err.Error(), "400 kPa") {
		t.Errorf("a flow at too low a pressure is compared: %v", err)
	}
	if text, ok, err := PumpFits(lh(150), unit.KPa(400), lh(200), unit.KPa(400)); ok || err != nil || !strings.Contains(text, "25 % less") {
		t.Errorf("%q, %v, %v", text, ok, err)
	}
	if _, ok, err := PumpFits(lh(170), unit.KPa(450), lh(170), unit.KPa(400)); !ok || err != nil {
		t.Errorf("a pump that is enough is refused: %v", err)
	}
}

// From gasoline at the same air and lambda, computed: E10 1.042, E85 1.493 to
// 1.503 by the base ratio, E100 1.633 with 14.7 and 9.0.
func TestScaleConsumption(t *testing.T) {
	for name, want := range map[string]float64{"E10": 1.042, "E85": 1.498, "ethanol": 1.6333, "methanol": 2.272} {
		got := gkWh(ScaleConsumption(perKWh(300), gasoline, fuelNamed(t, name))) / 300
		near(t, name, got, want, 2e-3)
		// Equal efficiency would ask for less: the larger figure is used.
		if byHeat := float64(gasoline.Heat / fuelNamed(t, name).Heat); byHeat > got*1.005 {
			t.Errorf("%s: %g by heating value is larger than %g", name, byHeat, got)
		}
	}
}
