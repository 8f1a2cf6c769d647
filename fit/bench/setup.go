package bench

import (
	"slices"
	"strings"

	"injtab/fit/diag"
	"injtab/fit/fluid"
	"injtab/fit/unit"
)

// A setting is one key with its value, from a line "# key = value" or a row of the
// sheet setup.
type setting struct {
	key, value string
	at         diag.Place
}

// setupReader gathers the settings of a file and fills a Setup.
type setupReader struct {
	settings    []setting
	setup       Setup
	injectors   []string // of a wide table, as listed
	injectorsAt diag.Place
	reads       string // header of the amounts of a wide table
	readsAt     diag.Place
	fluidAt     diag.Place
	weighed     bool // a density was given
}

// isSetup tells whether a line is a setting and not a remark.
func isSetup(line string) bool {
	return strings.HasPrefix(line, "#") && strings.Contains(line, "=")
}

// addLine takes "key = value"; a line without = is a remark, but for one that has a
// colon in its place.
func (s *setupReader) addLine(p *parser, text string, line int) {
	if key, value, ok := strings.Cut(text, "="); ok {
		key = strings.TrimSpace(key)
		s.settings = append(s.settings, setting{key, strings.TrimSpace(value), p.at(line, key)})
		return
	}
	if key, _, ok := strings.Cut(text, ":"); ok {
		p.refuseUnlike(strings.TrimSpace(key), line, "a setup line has = between name and value: write it in place of the colon")
	}
}

// refuseUnlike refuses a line that names a setting but is not written as one, which
// would be lost silently. What it would have set is not missed again.
func (p *parser) refuseUnlike(key string, line int, problem string) bool {
	if !knownKey(key) {
		return false
	}
	at := p.at(line, key)
	if m, ok := lookup(key); ok {
		p.placed[m.field] = at
	}
	p.fail(at, "setup-form", "%s", problem)
	return true
}

// apply gives every setting to the field that it fills.
func (s *setupReader) apply(p *parser) {
	s.setup = Setup{RatedPressure: unit.KPa(300), PressureLimit: 0.005, VoltageLimit: 0.004, TimerLimit: unit.Ms(0.005)}
	first := map[string]int{}
	for _, set := range s.settings {
		key := strings.ToLower(set.key)
		if line, twice := first[key]; twice {
			p.fail(set.at, "duplicate-setup", "%s was already given in line %d: keep one of the two", set.key, line)
			continue
		}
		first[key] = set.at.Line
		if set.value != "" {
			s.applyOne(p, key, set)
		}
	}
	s.settleFluid(p)
	s.settleReading(p)
}

func (s *setupReader) applyOne(p *parser, key string, set setting) {
	if fill, ok := textKeys[key]; ok {
		fill(s, set)
		return
	}
	if q, ok := quantityKey(key); ok {
		if x, ok := p.setupNumber(set, match{field: fields, scale: q.scale}); ok {
			p.fillQuantity(s, q, x, set)
		}
		return
	}
	if m, ok := lookup(key); ok {
		p.fillBase(m, set)
		return
	}
	p.unknownKey(set)
}

var textKeys = map[string]func(*setupReader, setting){
	"title":     func(s *setupReader, set setting) { s.setup.Title = unprotect(set.value) },
	"driver":    func(s *setupReader, set setting) { s.setup.Driver = unprotect(set.value) },
	"fluid":     func(s *setupReader, set setting) { s.setup.Fluid.Name, s.fluidAt = set.value, set.at },
	"reading":   func(s *setupReader, set setting) { s.reads, s.readsAt = set.value, set.at },
	"injectors": func(s *setupReader, set setting) { s.injectors, s.injectorsAt = splitList(set.value), set.at },
}

// A quantity is a key of the setup that is no column, in one of its units.
type quantity struct {
	name   string
	scale  scale
	lo, hi float64 // SI, what is believed
	fill   func(*Setup, float64)
}

var quantities = slices.Concat(
	several("density", scales(unit.Densities, "_kg_m3"), 550, 1300, func(s *Setup, x float64) { s.Fluid.Density = unit.Density(x) }),
	several("rated_pressure", kinds[pressure].scales, 10e3, 1500e3, func(s *Setup, x float64) { s.RatedPressure = unit.Pressure(x) }),
	several("vessel_tolerance", kinds[volume].scales, 0, 100e-6, func(s *Setup, x float64) { s.VesselLimit = unit.Volume(x) }),
	several("pressure_uncertainty", scales(unit.Ratios, "_pct"), 0, 0.2, func(s *Setup, x float64) { s.PressureLimit = unit.Ratio(x) }),
	several("voltage_uncertainty", scales(unit.Ratios, "_pct"), 0, 0.2, func(s *Setup, x float64) { s.VoltageLimit = unit.Ratio(x) }),
	several("timer_uncertainty", kinds[pulse].scales, 0, 1e-3, func(s *Setup, x float64) { s.TimerLimit = unit.Time(x) }),
	several("clamp", kinds[voltage].scales, 0, 500, func(s *Setup, x float64) { s.Clamp = unit.Voltage(x) }),
	several("wiring_drop", kinds[voltage].scales, 0, 5, func(s *Setup, x float64) { s.WiringDrop = unit.Voltage(x) }),
)

func several(name string, units []scale, lo, hi float64, fill func(*Setup, float64)) []quantity {
	list := make([]quantity, len(units))
	for i, u := range units {
		list[i] = quantity{name + u.suffix, u, lo, hi, fill}
	}
	return list
}

func quantityKey(key string) (quantity, bool) {
	i := slices.IndexFunc(quantities, func(q quantity) bool { return q.name == key })
	if i < 0 {
		return quantity{}, false
	}
	return quantities[i], true
}

func (p *parser) fillQuantity(s *setupReader, q quantity, x float64, set setting) {
	if x < q.lo || x > q.hi {
		p.fail(set.at, "absurd", "%s = %s is not believable: expected %s to %s; check the number and its unit", set.key, set.value, q.scale.write(q.lo), q.scale.write(q.hi))
		return
	}
	q.fill(&s.setup, x)
}

// fillBase takes a setting that stands for a column which is the same for all
// readings.
func (p *parser) fillBase(m match, set setting) {
	f := m.field
	others := []field{f}
	if other, ok := insteadOf[f]; ok {
		others = append(others, other)
	}
	for _, o := range others {
		if p.base.has(o) {
			p.fail(set.at, "duplicate-setup", "%s says the same as %s in line %d: keep one of the two", set.key, p.placed[o].Column, p.placed[o].Line)
			return
		}
	}
	p.placed[f] = set.at
	if kinds[f].text {
		p.base.setText(f, unprotect(set.value))
		return
	}
	if x, ok := p.setupNumber(set, m); ok {
		p.base.set(f, x)
	}
	if f == division {
		p.divisionIsMass = m.mass
	}
}

// setupNumber reads the number of a setup line. Its decimal sign binds no cell of the
// table, so it has to be clear by itself.
func (p *parser) setupNumber(set setting, m match) (float64, bool) {
	d, ok := parseDecimal(set.value)
	if ok && d.sign == ',' && d.likeThousands() {
		p.fail(set.at, "decimal-sign", "%q may have a decimal comma or a separator of thousands: write a decimal point", set.value)
		return 0, false
	}
	seen := p.signs
	p.inSetup = true
	defer func() { p.signs, p.inSetup = seen, false }()
	return p.number(d, ok, m, set.at)
}

// knownKey tells whether a key is one that a setup line may have.
func knownKey(key string) bool {
	_, isColumn := lookup(key)
	return isColumn || slices.Contains(setupNames, strings.ToLower(key))
}

func (p *parser) unknownKey(set setting) {
	names := slices.Concat(setupNames, columnNames)
	key := strings.ToLower(set.key)
	if i := slices.IndexFunc(quantities, func(q quantity) bool { return withoutUnit(q.name) == withoutUnit(key) }); i >= 0 {
		p.fail(set.at, "unit", "%q: a unit is missing or does not fit: write %s", set.key, quantities[i].name)
	} else if f, ok := bare(key); ok {
		p.placed[f] = set.at
		p.fail(set.at, "unit", "%s has no unit: write %s", set.key, kinds[f].choice())
	} else if name, ok := nearestOf(key, names, 2); ok {
		if m, ok := lookup(name); ok {
			p.placed[m.field] = set.at
		}
		p.fail(set.at, "unknown-setup", "%q is no setup line: did you mean %s?", set.key, name)
	} else if f, ok := stem(key); ok {
		p.placed[f] = set.at
		p.fail(set.at, "unit", "%q: this unit does not fit: write %s", set.key, kinds[f].choice())
	} else {
		p.fail(set.at, "unknown-setup", "%q is no setup line: known are %s and every column's name; for a remark leave the = out", set.key, strings.Join(setupNames, ", "))
	}
}

func withoutUnit(name string) string {
	if suffix, ok := unitSuffix(name); ok {
		return strings.TrimSuffix(name, suffix)
	}
	return name
}

var setupNames = func() []string {
	names := []string{"title", "driver", "fluid", "reading", "injectors"}
	for _, q := range quantities {
		names = append(names, q.name)
	}
	return names
}()

// settleFluid finds the fluid that was named, and lets a density that was given
// override the one known: it is that of the bench fluid at bench temperature.
func (s *setupReader) settleFluid(p *parser) {
	name, density := s.setup.Fluid.Name, s.setup.Fluid.Density
	s.setup.HasFluid, s.weighed = name != "" || density > 0, density > 0
	if name == "" {
		if density > 0 {
			s.setup.Fluid, _ = fluid.Custom(density) // the range was checked
		}
		return
	}
	f, err := fluid.Lookup(unprotect(name))
	switch {
	case err == nil && density > 0:
		f.Density = density
	case density > 0: // not known by name, which the density makes up for
		f, _ = fluid.Custom(density)
		f.Name, f.Title = unprotect(name), unprotect(name)
	case err != nil:
		p.fail(s.fluidAt, "fluid", "%v in a setup line: # density_kg_m3 = 780", err)
	}
	s.setup.Fluid = f
}

// reading is what the cells of a wide table hold: volume_ml unless told.
func (s *setupReader) reading() (match, bool) {
	header := s.reads
	if header == "" {
		header = "volume_ml"
	}
	m, ok := lookup(header)
	return m, ok && (m.field == volume || m.field == mass)
}

func (s *setupReader) settleReading(p *parser) {
	if _, ok := s.reading(); !ok {
		p.fail(s.readsAt, "unit", "%q is nothing that a cell of a wide table can hold: write %s or %s", s.reads, kinds[volume].choice(), kinds[mass].choice())
	}
}

// lists tells whether a setup line names this column as an injector.
func (s *setupReader) lists(header string) bool { return slices.Contains(s.injectors, header) }

// splitList cuts a list at commas or semicolons outside quotation marks.
func splitList(text string) []string {
	var list []string
	quoted, start := false, 0
	add := func(end int) {
		item := strings.TrimSpace(text[start:end])
		if n := len(item); n > 1 && item[0] == '"' && item[n-1] == '"' {
			item = strings.ReplaceAll(item[1:n-1], `""`, `"`)
		}
		if item != "" {
			list = append(list, unprotect(item))
		}
	}
	for i, r := range text {
		switch {
		case r == '"':
			quoted = !quoted
		case (r == ',' || r == ';') && !quoted:
			add(i)
			start = i + 1
		}
	}
	add(len(text))
	return list
}
