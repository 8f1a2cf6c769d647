package lsq

import (
	"errors"
	"fmt"
)

var (
	// ErrTooFew reports fewer data (with weight above zero) than coefficients.
	ErrTooFew = errors.New("fewer readings than unknowns")
	// ErrRank reports unknowns that the data cannot tell apart; see RankError.
	ErrRank = errors.New("the readings cannot tell the unknowns apart")
	// ErrNotFinite reports data, weights or residuals that are no finite numbers.
	ErrNotFinite = errors.New("a value is not a finite number")
	// ErrNotConverged reports a nonlinear fit that did not settle from its start.
	ErrNotConverged = errors.New("the fit did not settle")
)

// RankError says which unknown the data do not determine. It is an ErrRank.
type RankError struct {
	Column int // column of a linear fit, or index of the shared or local parameter
	Group  int // group of the local parameter, -1 for a shared one or a column
}

func (e *RankError) Error() string {
	if e.Group >= 0 {
		return fmt.Sprintf("%v: unknown %d of group %d", ErrRank, e.Column+1, e.Group+1)
	}
	return fmt.Sprintf("%v: unknown %d", ErrRank, e.Column+1)
}

func (e *RankError) Unwrap() error { return ErrRank }
