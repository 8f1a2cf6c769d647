package export

import (
	"fmt"
	"io/fs"
	"os"
)

// swapBySteps changes two folders' places by three renames. If the program is
// killed between them, the old folder is whole beside its place, under a name that
// its owner recognises.
func swapBySteps(a, b string) error {
	spare := fmt.Sprintf("%s-before-%d", b, os.Getpid())
	if err := os.Rename(b, spare); err != nil {
		return err
	}
	if err := os.Rename(a, b); err != nil {
		os.Rename(spare, b) // put the old one back; the first error says why
		return err
	}
	return os.Rename(spare, a)
}

// renameNewBySteps looks whether a name is free before it gives it.
func renameNewBySteps(a, b string) error {
	if _, err := os.Lstat(b); err == nil {
		return fs.ErrExist
	}
	return os.Rename(a, b)
}
