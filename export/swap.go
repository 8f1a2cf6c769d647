package export

import "os"

// swapBySteps changes two folders' places by three renames. If the program is
// killed between them, the old folder is whole, but under its temporary name.
func swapBySteps(a, b string) error {
	spare := a + "-old"
	if err := os.Rename(b, spare); err != nil {
		return err
	}
	if err := os.Rename(a, b); err != nil {
		os.Rename(spare, b) // put the old one back; the first error says why
		return err
	}
	return os.Rename(spare, a)
}
