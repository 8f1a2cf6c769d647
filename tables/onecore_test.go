package tables

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"runtime"
	"testing"

	"injtab/fit/sim"
)

// archive is a bench file of many injectors with repeats, invented.
func archive(injectors, repeats int) []byte {
	rng := rand.New(rand.NewPCG(3, 1))
	var b bytes.Buffer
	fmt.Fprintln(&b, "injector,run,pulse_ms,period_ms,shots,volume_ml,pressure_kpa,voltage_v")
	flow, dead := make([]float64, injectors), make([]float64, injectors)
	for i := range injectors {
		flow[i], dead[i] = 240*(1+0.02*rng.NormFloat64()), 1+0.03*rng.NormFloat64()
	}
	for run := range repeats {
		for i := range injectors {
			for _, volts := range []float64{11, 13.5} {
				for _, pulse := range []float64{2, 3, 5, 8, 12} {
					open := pulse - dead[i]*(0.35+6.5/volts)
					fmt.Fprintf(&b, "%d,%d,%g,20,1000,%.1f,%.1f,%g\n", i+1, run+1, pulse,
						1000*flow[i]/60000*open*(1+0.003*rng.NormFloat64()), 300+0.5*rng.NormFloat64(), volts)
				}
			}
		}
	}
	return b.Bytes()
}

// onCores is all that is made of a bench file by so many processors.
func onCores(t *testing.T, cores int, csv []byte) []byte {
	t.Helper()
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(cores))
	m, notes := fittedCSV(t, csv)
	set, err := Build(m, Options{})
	if err != nil {
		t.Fatal(err)
	}
	out, err := json.Marshal([]any{notes, NewCheck(m.Checked, notes), NewFit(m, notes), set.Tables, set.Notes, set.Facts, set.Gains})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// TestOneCore: results have the same bits on any number of processors, of a session as
// of an archive whose injectors are shared out to them.
func TestOneCore(t *testing.T) {
	for name, csv := range map[string][]byte{
		"session": sim.MappedPlan(6).Run(sim.ByName("A"), 5).CSV,
		"archive": archive(420, 5), // more readings than are fitted one by one, and injectors than make up the family
	} {
		t.Run(name, func(t *testing.T) {
			one := onCores(t, 1, csv)
			for _, cores := range []int{2, 3} {
				if !bytes.Equal(one, onCores(t, cores, csv)) {
					t.Errorf("%d processors give another result than one", cores)
				}
			}
		})
	}
}
