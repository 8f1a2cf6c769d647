package tables

import (
	"slices"

	"injtab/fit/fluid"
	"injtab/fit/unit"
)

// Fuels lists the built-in fuels at 15 °C, the temperature at which fuel is sold; the
// fuel in use stands among them with its own figures, or at the end.
func Fuels(inUse fluid.Fluid) Table {
	list := slices.DeleteFunc(fluid.All(), func(f fluid.Fluid) bool { return !f.Fuel() })
	if i := slices.IndexFunc(list, func(f fluid.Fluid) bool { return f.Name == inUse.Name }); i >= 0 {
		list[i] = inUse
	} else {
		list = append(list, inUse)
	}
	t := Table{
		Name: "fuels", Title: "Fuels to pick from, at 15 °C", Corner: "fuel", Row: textColumn("fuel"),
		Cols: []Column{
			{Name: "density_kg_m3", Title: "Density", Unit: "kg/m³", UCUM: "kg/m3", Decimals: 2},
			{Name: "stoichiometric_ratio", Title: "Air to fuel", UCUM: "1", Decimals: 3},
		},
	}
	for _, f := range list {
		t.RowText = append(t.RowText, f.Name)
		t.Cells = append(t.Cells, []Cell{{Value: round(f.At(unit.Celsius(15)).KgM3(), 2)}, {Value: round(f.Stoich, 3)}})
	}
	return t
}
