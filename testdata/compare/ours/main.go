// Command ours makes the files of the comparison and times our side of it:
//
//	ours make DIR
//	ours [-n TIMES] read|iterate|fit|job|match FILE
//
// A timing prints the least wall time and the least processor time of some runs, in
// seconds; the file is read anew each time.
package main

import (
	"context"
	"flag"
	"fmt"
	"os"
	"runtime"
	"runtime/debug"
	"syscall"
	"time"

	"github.com/xuri/excelize/v2"

	"injtab/fit"
	"injtab/fit/bench"
	"injtab/tables"
	"injtab/tables/match"
)

var works = map[string]func(file string) (func() error, error){
	"read":    func(file string) (func() error, error) { return func() error { return second(read(file)) }, nil },
	"iterate": func(file string) (func() error, error) { return func() error { return iterate(file) }, nil },
	"job":     func(file string) (func() error, error) { return func() error { return job(file) }, nil },
	"fit":     fitting,
	"match":   matching,
}

func main() {
	times := flag.Int("n", 1, "runs, of which the fastest counts")
	flag.Parse()
	if err := run(*times, flag.Arg(0), flag.Arg(1)); err != nil {
		fmt.Fprintln(os.Stderr, "ours:", err)
		os.Exit(1)
	}
}

func run(times int, verb, path string) error {
	if verb == "make" {
		return makeAll(path)
	}
	prepare, known := works[verb]
	if !known {
		return fmt.Errorf("%q is none of make, read, iterate, fit, job, match", verb)
	}
	work, err := prepare(path)
	if err != nil {
		return err
	}
	wall, cpu, err := least(times, work)
	fmt.Printf("%.6f %.6f\n", wall.Seconds(), cpu.Seconds())
	return err
}

// least is the least time that some runs took.
func least(times int, work func() error) (wall, cpu time.Duration, err error) {
	for n := range times {
		runtime.GC() // each run pays for its own garbage alone
		start, used := time.Now(), processor()
		if err := work(); err != nil {
			return 0, 0, err
		}
		w, c := time.Since(start), processor()-used
		if n == 0 || w < wall {
			wall = w
		}
		if n == 0 || c < cpu {
			cpu = c
		}
	}
	return wall, cpu, nil
}

// processor is the processor time that this process has used.
func processor() time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		panic(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

func read(path string) (bench.Checked, error) {
	f, err := os.Open(path)
	if err != nil {
		return bench.Checked{}, err
	}
	defer f.Close()
	debug.SetGCPercent(100) // here and below as injtab does
	if info, err := f.Stat(); err == nil && info.Size() > 64<<20 {
		debug.SetGCPercent(50)
	}
	sheet, err := bench.ReadUpTo(f, path, 1<<30)
	if err != nil {
		return bench.Checked{}, err
	}
	if sheet.Readings.Len() > 300_000 {
		debug.SetGCPercent(15)
	}
	checked, _, err := bench.Check(sheet)
	return checked, err
}

// iterate goes through the rows of a workbook with the library alone.
func iterate(path string) error {
	book, err := excelize.OpenFile(path, excelize.Options{RawCellValue: true})
	if err != nil {
		return err
	}
	defer book.Close()
	rows, err := book.Rows(book.GetSheetName(0))
	if err != nil {
		return err
	}
	for rows.Next() {
		if _, err := rows.Columns(); err != nil {
			return err
		}
	}
	return rows.Close()
}

func job(path string) error {
	checked, err := read(path)
	if err != nil {
		return err
	}
	model, err := fit.Injectors(checked, fit.Options{})
	if err != nil {
		return err
	}
	return second(tables.Build(model, tables.Options{}))
}

// fitting is the fit of a file that was read before.
func fitting(path string) (func() error, error) {
	checked, err := read(path)
	return func() error { return second(fit.Injectors(checked, fit.Options{})) }, err
}

// matching is the choice of eight injectors of a file that was read before.
func matching(path string) (func() error, error) {
	checked, err := read(path)
	return func() error { return second(match.Choose(context.Background(), checked, match.Options{Of: 8})) }, err
}

func second[T any](_ T, err error) error { return err }
