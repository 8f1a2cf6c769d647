//go:build linux || darwin

package export

import "golang.org/x/sys/unix"

// swap makes two folders change places in one step of the file system, and by
// steps where the file system can't.
func swap(a, b string) error { return orBySteps(a, b, exchange, swapBySteps) }

// renameNew gives a file or folder its name unless something has it: another run
// may have been quicker.
func renameNew(a, b string) error { return orBySteps(a, b, noReplace, renameNewBySteps) }

func orBySteps(a, b string, how uint, bySteps func(a, b string) error) error {
	err := renameAs(a, b, how)
	if err == unix.EINVAL || err == unix.ENOSYS || err == unix.ENOTSUP {
		return bySteps(a, b)
	}
	return err
}
