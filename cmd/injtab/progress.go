package main

import (
	"os"
	"sync"
	"time"

	"github.com/schollz/progressbar/v3"
	"golang.org/x/term"
)

// patience is how long work goes on before a sign of it is shown.
const patience = 500 * time.Millisecond

// working shows on a terminal that the program is at work, once it takes longer than
// a moment; the function that it gives ends that.
func (a *app) working(what string) (done func()) {
	f, ok := a.err.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return func() {}
	}
	stop, ended := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(ended)
		select {
		case <-stop:
			return
		case <-time.After(patience):
		}
		bar := progressbar.NewOptions(-1, progressbar.OptionSetWriter(f), progressbar.OptionSetDescription("injtab: "+what),
			progressbar.OptionSpinnerType(14), progressbar.OptionClearOnFinish())
		tick := time.NewTicker(100 * time.Millisecond)
		defer tick.Stop()
		for {
			select {
			case <-stop:
				_ = bar.Finish()
				return
			case <-tick.C:
				_ = bar.Add(1)
			}
		}
	}()
	var once sync.Once
	return func() { once.Do(func() { close(stop); <-ended }) }
}
