package plan

import (
	"fmt"
	"slices"
)

// A seating is which injector sits in which slot for some runs; "" is an empty slot.
type seating []string

func (s seating) ids() []string {
	return slices.DeleteFunc(slices.Clone([]string(s)), func(id string) bool { return id == "" })
}

// A rota is the order in which injectors come to the rail.
type rota struct {
	main      []seating // every injector is seen, the mapped ones in the first
	tie       []seating // seated otherwise for one point, to tell slots from injectors
	reference string    // takes part in every seating of main; "": none needed
	reasons   []string
}

// newRota seats the injectors. With a slot for each there is one seating; else the
// reference takes part in every one, because no two others ever meet.
func (j *job) newRota() rota {
	n, slots := j.Number, j.Slots
	rest := slices.DeleteFunc(slices.Clone(j.IDs), func(id string) bool { return id == j.Reference })
	var r rota
	switch {
	case n == 1:
		r.main = []seating{seat(slots, 0, j.IDs)}
		r.reasons = []string{"There is one injector, so there is nothing to tell it from."}
	case n <= slots:
		r.main = []seating{seat(slots, 0, j.IDs)}
		r.tie = []seating{seat(slots, 0, append(slices.Clone(j.IDs[n-1:]), j.IDs[:n-1]...))}
		r.reasons = []string{"All injectors run together, so what changes from run to run is the same for all and no reference injector is needed.",
			"One point is repeated with every injector one slot further and the last in the first, so that what a slot and its vessel do can be told from the injectors."}
	case slots == 1:
		r.main, r.reference = alone(j.Reference, rest), j.Reference
		r.reasons = []string{fmt.Sprintf("On a rail of one slot every injector runs alone, so a drift from run to run looks like a difference between injectors; injector %s comes back after every %d others and shows it.", j.Reference, aloneBetween)}
	default:
		r.reference = j.Reference
		r.main = withReference(slots, 0, j.Reference, rest)
		r.tie = withReference(slots, 1, j.Reference, interleave(rest, len(r.main)))
		r.reasons = []string{fmt.Sprintf("%d injectors do not fit on %d slots, so two seatings have none of the others in common; injector %s takes part in every seating and shows what changed between them.", n, slots, j.Reference),
			"One point is repeated with other companions and other slots, so that what a slot and its vessel do can be told from the injectors."}
	}
	return r
}

// seat puts injectors into slots, so many slots further on.
func seat(slots, shift int, ids []string) seating {
	s := make(seating, slots)
	for i, id := range ids {
		s[(i+shift)%slots] = id
	}
	return s
}

// withReference parts the others into seatings of nearly equal size; the reference
// sits one slot further each time. The first seating is the fullest.
func withReference(slots, shift int, reference string, others []string) []seating {
	n := (len(others) + slots - 2) / (slots - 1)
	var list []seating
	for i := range n {
		from, to := (i*len(others)+n-1)/n, ((i+1)*len(others)+n-1)/n
		list = append(list, seat(slots, i+shift, append([]string{reference}, others[from:to]...)))
	}
	return list
}

// interleave reorders so that those who sat together part.
func interleave(ids []string, seatings int) []string {
	var out []string
	for k := range seatings {
		for i := k; i < len(ids); i += seatings {
			out = append(out, ids[i])
		}
	}
	return out
}

// aloneBetween is how many others run between two turns of the reference.
const aloneBetween = 4

func alone(reference string, others []string) []seating {
	var list []seating
	for chunk := range slices.Chunk(others, aloneBetween) {
		list = append(list, seating{reference})
		for _, id := range chunk {
			list = append(list, seating{id})
		}
	}
	return append(list, seating{reference})
}
