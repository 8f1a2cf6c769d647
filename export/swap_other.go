//go:build !linux && !darwin

package export

func swap(a, b string) error      { return swapBySteps(a, b) }
func renameNew(a, b string) error { return renameNewBySteps(a, b) }
