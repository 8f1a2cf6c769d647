package engine

import (
	"fmt"

	"injtab/fit/unit"
)

// PumpFlow is what the pump must deliver: the engine's fuel plus a margin for a
// worn pump, low voltage, a loaded filter and the surplus that a bypass regulator
// needs. Common practice 10 to 25 %, no source; the one published figure found is
// for aircraft, 14 CFR 23.955(c) of 2014: 125 % of the flow at take-off.
func PumpFlow(fuel unit.MassFlow, margin unit.Ratio) unit.MassFlow {
	return unit.MassFlow(float64(fuel) * (1 + float64(margin)))
}

// PumpFits says, in a sentence, whether a pump that delivers flow at a pressure
// is enough for need at another, and whether it is. A flow without a pressure, or
// at less pressure than needed, is refused: a pump delivers least where the
// pressure is highest, and its free flow says nothing of that.
func PumpFits(flow unit.VolumeFlow, at unit.Pressure, need unit.VolumeFlow, needAt unit.Pressure) (string, bool, error) {
	switch {
	case at <= 0:
		return "", false, fmt.Errorf("a pump flow of %.4g l/h without its pressure is a free flow and can't be compared: look up what the pump delivers at %.4g kPa and the lowest supply voltage", flow.LH(), needAt.KPa())
	case at < needAt:
		return "", false, fmt.Errorf("a pump flow of %.4g l/h at %.4g kPa can't be compared with a need at %.4g kPa: flow falls as pressure rises, so look up what the pump delivers at %.4g kPa", flow.LH(), at.KPa(), needAt.KPa(), needAt.KPa())
	case flow < need:
		return fmt.Sprintf("The pump delivers %.4g l/h at %.4g kPa, %.0f %% less than needed.", flow.LH(), at.KPa(), 100*(1-float64(flow/need))), false, nil
	}
	return fmt.Sprintf("The pump delivers %.4g l/h at %.4g kPa, which is enough.", flow.LH(), at.KPa()), true, nil
}
