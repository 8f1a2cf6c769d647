package export

import (
	"os"
	"os/signal"
	"syscall"
)

// hold keeps a request to end waiting until release, which lets it through: an
// output is written in a moment, and half of it would stay behind under a temporary
// name.
func hold() (release func()) {
	c := make(chan os.Signal, 1)
	signal.Notify(c, os.Interrupt, syscall.SIGTERM, syscall.SIGHUP)
	return func() {
		signal.Stop(c)
		select {
		case s := <-c:
			if self, err := os.FindProcess(os.Getpid()); err == nil {
				self.Signal(s)
			}
		default:
		}
	}
}
