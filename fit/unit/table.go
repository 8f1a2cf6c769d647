package unit

// Definitions of the units that are not powers of ten of an SI unit. All are
// exact by definition; source: NIST Special Publication 811 (2008), appendix B
// (from memory; cross-checked in the tests by the numbers of other handbooks).
const (
	pound      = 0.45359237 // kg
	gravity    = 9.80665    // m/s², standard acceleration of free fall
	inch       = 0.0254     // m
	foot       = 12 * inch  // m
	hour       = 3600       // s
	psi        = pound * gravity / (inch * inch)
	horsepower = 550 * foot * pound * gravity // W, 550 foot-pound-force per second
	metricHP   = 75 * gravity                 // W, 75 kilogram-force metres per second
	celsius0   = 273.15                       // K
	fahrenheit = 459.67 * 5 / 9               // K at 0 °F
)

// The kinds. The first unit of each is the one used in messages and examples.
var (
	Times = Kind[Time]{"a time", []Unit{
		{"ms", "_ms", "ms", 1, 1e3, 0}, {"us", "_us", "us", 1, 1e6, 0}, {"µs", "", "us", 1, 1e6, 0},
		{"s", "_s", "s", 1, 1, 0}, {"min", "_min", "min", 60, 1, 0}, {"h", "", "h", hour, 1, 0}}}
	Pressures = Kind[Pressure]{"a pressure", []Unit{
		{"kPa", "_kpa", "kPa", 1e3, 1, 0}, {"bar", "_bar", "bar", 1e5, 1, 0},
		{"psi", "_psi", "[psi]", psi, 1, 0}, {"Pa", "", "Pa", 1, 1, 0}, {"mbar", "", "mbar", 100, 1, 0}}}
	Voltages = Kind[Voltage]{"a voltage", []Unit{
		{"V", "_v", "V", 1, 1, 0}, {"mV", "", "mV", 1, 1e3, 0}}}
	Resistances = Kind[Resistance]{"a resistance", []Unit{{"ohm", "_ohm", "Ohm", 1, 1, 0}}}
	Volumes     = Kind[Volume]{"a volume", []Unit{
		{"ml", "_ml", "mL", 1, 1e6, 0}, {"cc", "_cc", "cm3", 1, 1e6, 0},
		{"l", "_l", "L", 1, 1e3, 0}, {"cm3", "", "cm3", 1, 1e6, 0}, {"ul", "", "uL", 1, 1e9, 0}}}
	Masses = Kind[Mass]{"a mass", []Unit{
		{"g", "_g", "g", 1, 1e3, 0}, {"mg", "_mg", "mg", 1, 1e6, 0},
		{"kg", "", "kg", 1, 1, 0}, {"lb", "", "[lb_av]", pound, 1, 0}}}
	Densities = Kind[Density]{"a density", []Unit{
		{"kg/m3", "_kg_m3", "kg/m3", 1, 1, 0}, {"g/ml", "", "g/mL", 1e3, 1, 0},
		{"g/cc", "", "g/cm3", 1e3, 1, 0}, {"kg/l", "", "kg/L", 1e3, 1, 0}}}
	Temperatures = Kind[Temperature]{"a temperature", []Unit{
		{"C", "_c", "Cel", 1, 1, celsius0}, {"F", "_f", "[degF]", 5, 9, fahrenheit},
		{"K", "", "K", 1, 1, 0}}}
	VolumeFlows = Kind[VolumeFlow]{"a volume flow", []Unit{
		{"ml/min", "_ml_min", "mL/min", 1, 60e6, 0}, {"cc/min", "", "cm3/min", 1, 60e6, 0},
		{"l/h", "_l_h", "L/h", 1, 3600e3, 0}, {"l/min", "", "L/min", 1, 60e3, 0}}}
	MassFlows = Kind[MassFlow]{"a mass flow", []Unit{
		{"g/min", "_g_min", "g/min", 1, 60e3, 0}, {"lb/h", "", "[lb_av]/h", pound, hour, 0},
		{"g/s", "", "g/s", 1, 1e3, 0}, {"kg/h", "", "kg/h", 1, hour, 0}, {"kg/s", "", "kg/s", 1, 1, 0}}}
	Powers = Kind[Power]{"a power", []Unit{
		{"kW", "_kw", "kW", 1e3, 1, 0}, {"hp", "", "[HP]", horsepower, 1, 0},
		{"ps", "", "", metricHP, 1, 0}, {"W", "", "W", 1, 1, 0}}}
	Consumptions = Kind[Consumption]{"a specific fuel consumption", []Unit{
		{"g/kWh", "", "g/kW/h", 1, 3600e6, 0}, {"lb/hph", "", "", pound, horsepower * hour, 0},
		{"kg/kWh", "", "kg/kW/h", 1, 3600e3, 0}}}
	Heats = Kind[Heat]{"a heating value", []Unit{
		{"MJ/kg", "", "MJ/kg", 1e6, 1, 0}, {"kJ/kg", "", "kJ/kg", 1e3, 1, 0}}}
	Lengths = Kind[Length]{"a length", []Unit{
		{"m", "", "m", 1, 1, 0}, {"ft", "", "[ft_i]", foot, 1, 0}, {"mm", "", "mm", 1, 1e3, 0}}}
	Frequencies = Kind[Frequency]{"a frequency", []Unit{{"Hz", "_hz", "Hz", 1, 1, 0}}}
	Ratios      = Kind[Ratio]{"a ratio", []Unit{{"%", "_pct", "%", 1, 100, 0}}}
)

// Makers and readers of the units that the program works in, so that a formula
// says its units in its names.

func Ms(x float64) Time             { return Time(x / 1e3) }
func KPa(x float64) Pressure        { return Pressure(x * 1e3) }
func Volts(x float64) Voltage       { return Voltage(x) }
func Ml(x float64) Volume           { return Volume(x / 1e6) }
func Grams(x float64) Mass          { return Mass(x / 1e3) }
func Celsius(x float64) Temperature { return Temperature(x + celsius0) }
func MlMin(x float64) VolumeFlow    { return VolumeFlow(x / 60e6) }
func (t Time) Ms() float64          { return float64(t) * 1e3 }
func (t Time) Seconds() float64     { return float64(t) }
func (p Pressure) KPa() float64     { return float64(p) / 1e3 }
func (v Voltage) V() float64        { return float64(v) }
func (v Volume) Ml() float64        { return float64(v) * 1e6 }
func (m Mass) Grams() float64       { return float64(m) * 1e3 }
func (m Mass) Mg() float64          { return float64(m) * 1e6 }
func (d Density) KgM3() float64     { return float64(d) }
func (t Temperature) C() float64    { return float64(t) - celsius0 }
func (f VolumeFlow) MlMin() float64 { return float64(f) * 60e6 }
func (f VolumeFlow) LH() float64    { return float64(f) * 3600e3 }
func (f MassFlow) GMin() float64    { return float64(f) * 60e3 }
func (p Power) KW() float64         { return float64(p) / 1e3 }
func (r Ratio) Pct() float64        { return float64(r) * 100 }
func (m Mass) Of(d Density) Volume  { return Volume(float64(m) / float64(d)) }
func (v Volume) Of(d Density) Mass  { return Mass(float64(v) * float64(d)) }
