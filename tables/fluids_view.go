package tables

import (
	"fmt"

	"injtab/fit/fluid"
)

// A FluidsResult lists the built-in fluids.
type FluidsResult struct {
	Fluids []FluidResult `json:"fluids"`
}

// A FluidResult is one fluid; null where a figure is not known or does not apply.
type FluidResult struct {
	Name          string   `json:"name"`
	Title         string   `json:"title"`
	Density       float64  `json:"density_kg_m3"`
	DensityTemp   float64  `json:"density_temp_c"`
	Expansion     float64  `json:"expansion_per_k"`
	Stoich        *float64 `json:"stoichiometric_ratio"`
	Heat          *float64 `json:"heating_value_mj_kg"`
	Viscosity     *float64 `json:"viscosity_mm2_s"`
	ViscosityTemp *float64 `json:"viscosity_temp_c"`
	Note          string   `json:"note"`
	Source        string   `json:"source"`
}

// NewFluids lists the built-in fluids.
func NewFluids() FluidsResult {
	r := FluidsResult{Fluids: []FluidResult{}}
	for _, f := range fluid.All() {
		x := FluidResult{
			Name: f.Name, Title: f.Title, Density: round(f.Density.KgM3(), 2), DensityTemp: round(f.RefTemp.C(), 2),
			Expansion: f.Expansion, Stoich: ifAbove(round(f.Stoich, 3)), Heat: ifAbove(round(float64(f.Heat)/1e6, 3)),
			Viscosity: ifAbove(round(f.Viscosity, 3)), Note: f.Note, Source: f.Source,
		}
		if x.Viscosity != nil {
			x.ViscosityTemp = ifAbove(round(f.ViscosityTemp.C(), 2))
		}
		r.Fluids = append(r.Fluids, x)
	}
	return r
}

// Report lays the fluids out for people.
func (r FluidsResult) Report() Report {
	s := Section{Name: "sources", Heading: "Sources and what to mind"}
	for _, f := range r.Fluids {
		text := f.Name + ": " + f.Source + "."
		if f.Note != "" {
			text += " Mind: " + f.Note + "."
		}
		s.Text = append(s.Text, text)
	}
	return Report{
		Title: "Fluids and fuels", Answer: []string{fmt.Sprintf("%s are built in; blends such as E60 and M50 are computed.", counted(len(r.Fluids), "fluid"))},
		Sections: []Section{{Name: "fluids", Heading: "Properties", Tables: []Table{r.Table()}}, s},
	}
}

// Table is one row a fluid.
func (r FluidsResult) Table() Table {
	t := Table{
		Name: "fluids", Title: "Properties", Corner: "name", Row: textColumn("fluid"),
		About: "Density at the temperature beside it; expansion of the volume; air for a complete burn and lower heating value of fuels.",
		Cols: []Column{
			{Name: "density_kg_m3", Title: "Density", Unit: "kg/m³", UCUM: "kg/m3", Decimals: 1},
			{Name: "density_temp_c", Title: "At", Unit: "°C", UCUM: "Cel", Decimals: 1},
			{Name: "expansion_per_k", Title: "Expansion", Unit: "1/K", UCUM: "K-1", Decimals: 5},
			{Name: "stoichiometric_ratio", Title: "Air to fuel", UCUM: "1", Decimals: 2},
			{Name: "heating_value_mj_kg", Title: "Heating value", Unit: "MJ/kg", UCUM: "MJ/kg", Decimals: 2},
			{Name: "viscosity_mm2_s", Title: "Viscosity", Unit: "mm²/s", UCUM: "mm2/s", Decimals: 2},
		},
	}
	for _, f := range r.Fluids {
		t.RowText = append(t.RowText, f.Name)
		t.Cells = append(t.Cells, []Cell{{Value: f.Density}, {Value: f.DensityTemp}, {Value: f.Expansion}, orEmpty(f.Stoich), orEmpty(f.Heat), orEmpty(f.Viscosity)})
	}
	return t
}
