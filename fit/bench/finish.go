package bench

import (
	"injtab/fit/unit"
)

// finish gives the sheet of a file without errors.
func (p *parser) finish() Sheet {
	s := p.out
	s.File, s.Sheet = p.file, p.sheet
	s.Wide, s.Amounts = p.wide, p.shown[p.amountField]
	if p.wide {
		s.Headers = p.headers()
	}
	s.Setup = p.setup.setup
	s.Readings = p.readings.readings()
	s.Setup.Temp = s.Readings.medianTemp()
	s.Setup.Division = unit.Volume(p.base.numOf(division))
	if p.setup.weighed && s.Setup.Temp > 0 { // a density that was given is that at bench temperature
		s.Setup.Fluid.RefTemp = s.Setup.Temp
	}
	p.convertMasses(&s)
	s.Notes = p.notes
	return s
}

// headers are those of the injectors' columns that are not their names.
func (p *parser) headers() map[string]string {
	headers := map[string]string{}
	for _, c := range p.cols {
		if c.wide && !c.skip && c.shown != c.header {
			headers[c.header] = c.shown
		}
	}
	return headers
}

// convertMasses turns what was weighed into volumes.
func (p *parser) convertMasses(s *Sheet) {
	if p.amountField != mass && !p.divisionIsMass {
		return
	}
	p.convert(&s.Readings, s.Setup)
	if p.divisionIsMass {
		s.Setup.Division = unit.Mass(s.Setup.Division).Of(s.Setup.density(0))
	}
	if f := s.Setup.Fluid; s.Setup.Temp == 0 && f.Expansion > 0 {
		p.warn(p.at(p.header.line, ""), "no-temperature", "what was weighed was converted with %.5g kg/m³, the density of %s at %.4g °C, because no temperature is written: add temp_c, a degree makes about %.2g %%",
			f.Density.KgM3(), f.Name, f.RefTemp.C(), 100*f.Expansion)
	}
}

// convert turns what was weighed of readings into volumes, under a setup.
func (p *parser) convert(rs *Readings, setup Setup) {
	if p.amountField == mass {
		for k := range rs.rows {
			rs.rows[k].volume = rs.mass(k).Of(setup.density(rs.common(k).temp))
		}
	}
	if p.divisionIsMass { // no more than a step: the bench's density will do
		for j := range rs.asides {
			a := &rs.asides[j]
			a.division = unit.Mass(a.division).Of(setup.density(0))
		}
	}
}

// density is that of the bench fluid at the temperature of a reading, else of the bench.
func (s Setup) density(t unit.Temperature) unit.Density {
	if t == 0 {
		t = s.Temp
	}
	if t == 0 {
		return s.Fluid.Density
	}
	return s.Fluid.At(t)
}

// medianTemp is the bench temperature: the median of those written, 0 if none is.
func (rs *Readings) medianTemp() unit.Temperature {
	readings := rs.inCommon()
	return unit.Temperature(sharedMedian(len(readings), func(j int) (int32, float64) {
		if t := rs.commons[j].temp; t > 0 {
			return readings[j], float64(t)
		}
		return 0, 0
	}))
}
