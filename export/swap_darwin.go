package export

import "golang.org/x/sys/unix"

const exchange, noReplace = unix.RENAME_SWAP, unix.RENAME_EXCL

func renameAs(a, b string, how uint) error { return unix.RenamexNp(a, b, uint32(how)) }
