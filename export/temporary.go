package export

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"syscall"
)

// createTemp makes a new file with the permissions that the user's mask gives,
// which os.CreateTemp does not.
func createTemp(dir string) (*os.File, error) {
	return unused(dir, func(path string) (*os.File, error) {
		return os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	})
}

func createTempDir(dir string) (string, error) {
	return unused(dir, func(path string) (string, error) { return path, os.Mkdir(path, 0o777) })
}

// unused calls create with names that no file of the folder is likely to have,
// until one does not exist. A name tells which process of which machine writes
// there, so that what was left by one that was killed can be told and removed.
func unused[T any](dir string, create func(path string) (T, error)) (T, error) {
	prefix := temporaryPrefix()
	sweep(dir, prefix)
	for n := 0; ; n++ {
		made, err := create(filepath.Join(dir, fmt.Sprintf("%s%d-%d", prefix, os.Getpid(), n)))
		if !errors.Is(err, fs.ErrExist) || n > 9999 {
			return made, err
		}
	}
}

var notOfName = regexp.MustCompile(`[^A-Za-z0-9]+`)

// temporaryPrefix begins the names of this machine's temporaries.
func temporaryPrefix() string {
	host, err := os.Hostname()
	if err != nil {
		host = "unknown"
	}
	return fmt.Sprintf(".%s-%s-", Tool, notOfName.ReplaceAllString(host, "_"))
}

// sweep removes the temporaries of processes that have ended. Those of other
// machines, which may share the folder, stay. So does what can't be removed: it is
// in nobody's way.
func sweep(dir, prefix string) {
	entries, _ := os.ReadDir(dir) // sorted out when the output is made
	for _, e := range entries {
		if pid, ok := writer(e.Name(), prefix); ok && ended(pid) {
			os.RemoveAll(filepath.Join(dir, e.Name()))
		}
	}
}

// writer is the process that a temporary's name tells of.
func writer(name, prefix string) (pid int, ok bool) {
	rest, ours := strings.CutPrefix(name, prefix)
	id, number, two := strings.Cut(rest, "-")
	pid, err := strconv.Atoi(id)
	_, err2 := strconv.ParseUint(number, 10, 16)
	return pid, ours && two && err == nil && err2 == nil && pid > 0
}

// ended tells whether no process has this number; where that can't be told it is
// taken to live.
func ended(pid int) bool {
	p, err := os.FindProcess(pid)
	if err != nil {
		return true // only where the system looks it up at once
	}
	defer p.Release()
	return errors.Is(p.Signal(syscall.Signal(0)), os.ErrProcessDone)
}
