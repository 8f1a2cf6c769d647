package tables

import (
	"fmt"
)

// NewECU takes tables that were just made, or read back from files in which a person
// may have edited anything: what can't be looked up is refused in a sentence that
// names table, place and what was expected.
func NewECU(ts []Table) (*ECU, error) {
	e := &ECU{trims: map[string]*Trim{}, VolumeFactor: 1}
	by := map[string]Table{}
	for _, t := range ts {
		by[t.Name] = t
	}
	for _, name := range []string{"flow", "dead_time", "short_pulse", "trims"} {
		if t, ok := by[name]; !ok || t.Rows() == 0 {
			return nil, fmt.Errorf("the table %s is missing or empty: build the tables again", name)
		}
	}
	var err error
	if e.flow, err = readList(by["flow"], "flow_ml_min", leastFlow, mostFlow); err != nil {
		return nil, err
	}
	if e.dead, err = readGrid(by["dead_time"], leastTime, mostTime); err != nil {
		return nil, err
	}
	if e.short, err = readList(by["short_pulse"], "correction_ms", leastTime, mostTime); err != nil {
		return nil, err
	}
	if err := rises("short_pulse", e.short.at, e.short.values); err != nil {
		return nil, err
	}
	if t, ok := by["short_pulse_by_voltage"]; ok {
		if err := e.readByVoltage(t); err != nil {
			return nil, err
		}
	}
	if err := e.readTrims(by["trims"]); err != nil {
		return nil, err
	}
	if t, ok := by["trims_by_pulse"]; ok {
		if err := e.readPulseTrims(t); err != nil {
			return nil, err
		}
	}
	return e, e.readOwn(by)
}

func (e *ECU) readByVoltage(t Table) error {
	g, err := readGrid(t, leastTime, mostTime)
	if err != nil {
		return err
	}
	for _, row := range g.cells {
		var at, values []float64
		for c, x := range row {
			if x.Status.HasValue() {
				at, values = append(at, g.cols[c]), append(values, x.Value)
			}
		}
		if err := rises(t.Name, at, values); err != nil {
			return err
		}
	}
	e.byVoltage = &g
	return nil
}

// trimColumns are the columns of the trims with what is physical.
var trimColumns = []struct {
	name        string
	least, most float64
}{
	{"flow_only_trim_pct", leastPct, mostPct},
	{"flow_trim_pct", leastPct, mostPct},
	{"dead_time_trim_ms", -mostAddedTime, mostAddedTime},
	{"factor_flow_trim_pct", leastPct, mostPct},
	{"dead_time_factor", 1 / mostFactor, mostFactor},
}

func (e *ECU) readTrims(t Table) error {
	if err := shaped(t); err != nil {
		return err
	}
	name := columnIndex(t, "injector")
	if name < 0 || !t.Row.Text {
		return fmt.Errorf("the table trims has no column injector: build the tables again")
	}
	cylinders := map[string]string{}
	for r, row := range t.Cells {
		x := &Trim{Injector: row[name].Text, Cylinder: t.RowText[r]}
		for i, to := range []*float64{&x.FlowOnlyPct, &x.FlowPct, &x.TimeMs, &x.FactorPct, &x.DeadFactor} {
			value, err := trimCell(t, r, i)
			if err != nil {
				return err
			}
			*to = value
		}
		if _, twice := e.trims[x.Injector]; twice {
			return fmt.Errorf("the table trims has injector %s twice: keep one row of it", x.Injector)
		}
		if other, taken := cylinders[x.Cylinder]; taken && x.Cylinder != "" {
			return fmt.Errorf("the table trims gives cylinder %s to injectors %s and %s: each cylinder has one", x.Cylinder, other, x.Injector)
		}
		cylinders[x.Cylinder] = x.Injector
		e.trims[x.Injector] = x
		e.order = append(e.order, x.Injector)
	}
	return nil
}

// trimCell reads the i-th of the trim columns in row r.
func trimCell(t Table, r, i int) (float64, error) {
	want := trimColumns[i]
	c := columnIndex(t, want.name)
	if c < 0 {
		return 0, fmt.Errorf("the table trims has no column %s: build the tables again", want.name)
	}
	x := t.Cells[r][c]
	injector := t.Cells[r][columnIndex(t, "injector")].Text
	if !x.Status.HasValue() {
		return 0, fmt.Errorf("the table trims: %s of injector %s is empty: write the trim that means none, 0 or a factor of 1", want.name, injector)
	}
	if !finite(x.Value) || x.Value < want.least || x.Value > want.most {
		return 0, fmt.Errorf("the table trims: %s of injector %s is %s, which no injector needs: expected %s to %s", want.name, injector, number(x.Value), number(want.least), number(want.most))
	}
	return x.Value, nil
}

func (e *ECU) readPulseTrims(t Table) error {
	g, err := readPercents(t)
	if err != nil {
		return err
	}
	e.pulseAt = g.cols
	for r, row := range g.cells {
		x, ok := e.trims[t.RowText[r]]
		if !ok {
			return fmt.Errorf("the table trims_by_pulse has injector %s, which the table trims has not: build the tables again", t.RowText[r])
		}
		x.ByPulsePct = nil
		for c := range row {
			if !row[c].Status.HasValue() {
				return fmt.Errorf("the table trims_by_pulse: injector %s at %s ms is empty: write 0 for no trim", t.RowText[r], number(g.cols[c]))
			}
			x.ByPulsePct = append(x.ByPulsePct, row[c].Value)
		}
	}
	return nil
}

// readPercents reads the trims by pulse, whose rows are injectors.
func readPercents(t Table) (g gridTable, err error) {
	if err := shaped(t); err != nil {
		return g, err
	}
	for r, row := range t.Cells {
		for c := range row {
			if err := inRange(t, r, c, leastPct, mostPct); err != nil {
				return g, err
			}
		}
	}
	return gridTable{cols: columnsAt(t), cells: t.Cells}, nil
}

// readOwn takes the tables of each injector's own, where they are: numbered like the
// rows of the trims.
func (e *ECU) readOwn(by map[string]Table) error {
	for i, id := range e.order {
		flow, hasFlow := by[ownName("flow", i)]
		dead, hasDead := by[ownName("dead_time", i)]
		if !hasFlow && !hasDead && i == 0 {
			return nil
		}
		if !hasFlow || !hasDead {
			return fmt.Errorf("the tables %s and %s of injector %s are not both there: build the tables again", ownName("flow", i), ownName("dead_time", i), id)
		}
		var own ownTables
		var err error
		if own.flow, err = readList(flow, "flow_ml_min", leastFlow, mostFlow); err != nil {
			return err
		}
		if own.dead, err = readGrid(dead, leastTime, mostTime); err != nil {
			return err
		}
		e.trims[id].own = &own
	}
	return nil
}
