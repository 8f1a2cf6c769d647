package bench_test

import (
	"bytes"
	"fmt"
	"testing"

	"injtab/fit/bench"
)

// million makes a bench file of n readings of 100 injectors that part by 2 % at most and
// scatter by half a per cent, invented.
func million(n int, quoted bool) []byte {
	var b bytes.Buffer
	b.WriteString("# fluid = n-heptane\ninjector,run,pulse_ms,period_ms,shots,volume_ml,pressure_kpa,voltage_v,temp_c\n")
	q := ""
	if quoted {
		q = `"`
	}
	for i := range n {
		pulse := 1.5 + 0.25*float64(i/1000%40)
		ml := 4 * (pulse - 0.9) * (1 + 0.0004*float64(i%100-50)) * (1 + 0.0001*float64(i*7919%101-50))
		fmt.Fprintf(&b, "%s%d%s,%d,%.2f,20,%d,%.1f,%.1f,%.2f,%.1f\n", q, 1+i%100, q, 1+i/4, pulse, 500+i%7, ml, 298+float64(i%40)/10, 13.4+float64(i%20)/100, 20.5+float64(i%30)/10)
	}
	return b.Bytes()
}

func BenchmarkReadMillion(b *testing.B) {
	for _, quoted := range []bool{false, true} {
		data := million(1_000_000, quoted)
		b.Run(map[bool]string{false: "plain", true: "quoted"}[quoted], func(b *testing.B) {
			b.SetBytes(int64(len(data)))
			b.ReportAllocs()
			for b.Loop() {
				s, err := bench.Read(bytes.NewReader(data), "b.csv")
				if err != nil || s.Readings.Len() != 1_000_000 {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkCheckMillion(b *testing.B) {
	s, err := bench.Read(bytes.NewReader(million(1_000_000, false)), "b.csv")
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, _, err := bench.Check(s); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkGrowth reads and checks ever more readings: the time of one stays the same.
func BenchmarkGrowth(b *testing.B) {
	for _, n := range []int{1_000, 10_000, 100_000, 1_000_000} {
		data := million(n, false)
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				s, err := bench.Read(bytes.NewReader(data), "b.csv")
				if err != nil {
					b.Fatal(err)
				}
				if _, _, err := bench.Check(s); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*n), "ns/reading")
		})
	}
}
