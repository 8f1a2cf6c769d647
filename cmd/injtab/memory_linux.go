package main

import "syscall"

// inLargePages asks the system for large pages where the next so many bytes of memory will be.
// The piece is let go at once and nothing is written to it; its addresses are what the heap
// grows into, and keep what was asked for them. A system without large pages refuses, and all
// is as before.
func inLargePages(bytes int64) {
	piece := make([]byte, bytes)
	_ = syscall.Madvise(piece, syscall.MADV_HUGEPAGE)
}
