package plan

import (
	"fmt"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

func rotaOf(n, slots int) (*job, rota) {
	j := &job{Inputs: Inputs{Number: n, Slots: slots}}
	for i := range n {
		j.IDs = append(j.IDs, fmt.Sprint(i+1))
	}
	j.Reference = j.IDs[0]
	return j, j.newRota()
}

// Every injector is seen once in the main seatings, the reference in all of them;
// nobody sits in two slots, and all slots exist.
func TestEveryInjectorHasASeat(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n, slots := rapid.IntRange(1, 40).Draw(t, "injectors"), rapid.IntRange(1, 12).Draw(t, "slots")
		j, r := rotaOf(n, slots)
		for _, list := range [][]seating{r.main, r.tie} {
			seen := map[string]int{}
			for _, s := range list {
				if len(s) != slots {
					t.Fatalf("a seating of %d slots on a rail of %d", len(s), slots)
				}
				for _, id := range s.ids() {
					seen[id]++
				}
				if r.reference != "" && slots > 1 && !slices.Contains(s, r.reference) {
					t.Fatalf("the reference is missing in %v", s)
				}
			}
			if len(list) == 0 {
				continue
			}
			for _, id := range j.IDs {
				if want := 1; seen[id] != want && id != r.reference {
					t.Fatalf("injector %s sits %d times", id, seen[id])
				}
			}
		}
	})
}

// With the tie runs, injectors, slots and runs can be told apart, however many there
// are; without them slots can't. On a rail of one slot there is only one.
func TestRotationTellsSlotsFromInjectors(t *testing.T) {
	for n := 2; n <= 24; n++ {
		for slots := 2; slots <= 9; slots++ {
			_, r := rotaOf(n, slots)
			turns := turnsOf(r.main)
			if n >= 2 && separates(turns) && n <= slots {
				t.Errorf("%d injectors on %d slots: one seating can't tell slots from injectors", n, slots)
			}
			if !separates(append(turns, turnsOf(r.tie)...)) {
				t.Errorf("%d injectors on %d slots: not told apart by %v and %v", n, slots, r.main, r.tie)
			}
		}
	}
}

func turnsOf(list []seating) []turn {
	var turns []turn
	for i, s := range list {
		turns = append(turns, turn{task: task{kind: pulsed}, seats: s, seating: i})
	}
	return turns
}

// One slot: the reference comes first, last, and after every four others.
func TestOneSlotReturnsToTheReference(t *testing.T) {
	_, r := rotaOf(10, 1)
	var order []string
	for _, s := range r.main {
		order = append(order, s...)
	}
	if want := []string{"1", "2", "3", "4", "5", "1", "6", "7", "8", "9", "1", "10", "1"}; !slices.Equal(order, want) {
		t.Errorf("order %v, want %v", order, want)
	}
}

func TestReferenceIsExplained(t *testing.T) {
	for _, c := range []struct {
		n, slots int
		needed   bool
	}{{1, 4, false}, {4, 4, false}, {3, 4, false}, {5, 4, true}, {3, 1, true}} {
		_, r := rotaOf(c.n, c.slots)
		if (r.reference != "") != c.needed || len(r.reasons) == 0 {
			t.Errorf("%d on %d: reference %q, %v", c.n, c.slots, r.reference, r.reasons)
		}
	}
}
