package main

import (
	"fmt"
	"os"
	"strings"
	"testing"
)

// What was asked of memory is a flag of it, "hg", and its size stands in a line above (Linux,
// Documentation/filesystems/proc.rst, from memory).
func TestMemoryIsAskedForInLargePages(t *testing.T) {
	if _, err := os.Stat("/sys/kernel/mm/transparent_hugepage"); err != nil {
		t.Skip("the system has no large pages: ", err)
	}
	const asked = 64 << 20
	inLargePages(asked)
	maps, err := os.ReadFile("/proc/self/smaps")
	if err != nil {
		t.Skip("the system does not show how memory is used: ", err)
	}
	size, flagged := 0, 0 // kB
	for line := range strings.Lines(string(maps)) {
		switch {
		case strings.HasPrefix(line, "Size:"):
			if _, err := fmt.Sscanf(line, "Size: %d kB", &size); err != nil {
				t.Fatalf("%q: %v", line, err)
			}
		case strings.HasPrefix(line, "VmFlags:") && strings.Contains(line, " hg"):
			flagged += size
		}
	}
	if flagged < asked>>10 {
		t.Errorf("%d kB are in large pages, want %d or more", flagged, asked>>10)
	}
}
