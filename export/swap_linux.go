package export

import "golang.org/x/sys/unix"

const exchange, noReplace = unix.RENAME_EXCHANGE, unix.RENAME_NOREPLACE

func renameAs(a, b string, how uint) error {
	return unix.Renameat2(unix.AT_FDCWD, a, unix.AT_FDCWD, b, how)
}
