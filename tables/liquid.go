package tables

import (
	"injtab/fit/fluid"
	"injtab/fit/unit"
)

// liquid is what flows and volumes of the tables are of, and its density there: the
// fuel asked for, else the bench fluid; nothing where that is not known.
func (b *builder) liquid() (fluid.Fluid, unit.Density) {
	if b.o.Fuel != nil {
		return *b.o.Fuel, b.o.Fuel.At(b.fuelTemp())
	}
	setup := b.m.Checked.Setup()
	if !setup.HasFluid {
		return fluid.Fluid{}, 0
	}
	return setup.Fluid, setup.Fluid.At(benchTemp(setup))
}
