//go:build !linux

package export

func swap(a, b string) error { return swapBySteps(a, b) }
