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

// convertMasses turns what was weighed into volumes, with the density at the
// reading's temperature, else at bench temperature.
func (p *parser) convertMasses(s *Sheet) {
	if p.amountField != mass && !p.divisionIsMass {
		return
	}
	f := s.Setup.Fluid
	density := func(t unit.Temperature) unit.Density {
		if t == 0 {
			t = s.Setup.Temp
		}
		if t == 0 {
			return f.Density
		}
		return f.At(t)
	}
	rs := &s.Readings
	if p.amountField == mass {
		for k := range rs.rows {
			rs.rows[k].volume = rs.mass(k).Of(density(rs.common(k).temp))
		}
	}
	if p.divisionIsMass { // no more than a step: the bench's density will do
		for j := range rs.asides {
			a := &rs.asides[j]
			a.division = unit.Mass(a.division).Of(density(0))
		}
		s.Setup.Division = unit.Mass(s.Setup.Division).Of(density(0))
	}
	if s.Setup.Temp == 0 && f.Expansion > 0 {
		p.warn(p.at(p.header.line, ""), "no-temperature", "what was weighed was converted with %.5g kg/m³, the density of %s at %.4g °C, because no temperature is written: add temp_c, a degree makes about %.2g %%",
			f.Density.KgM3(), f.Name, f.RefTemp.C(), 100*f.Expansion)
	}
}

// medianTemp is the bench temperature: the median of those written, 0 if none is.
func (rs *Readings) medianTemp() unit.Temperature {
	all := make([]float64, 0, rs.Len())
	for k := range rs.rows {
		if t := rs.common(k).temp; t > 0 {
			all = append(all, float64(t))
		}
	}
	return unit.Temperature(median(all))
}
