//go:build !linux

package main

// inLargePages does nothing where a program has no say in it.
func inLargePages(int64) {}
