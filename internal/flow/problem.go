package flow

import (
	"errors"
	"fmt"
)

// Problem is one thing wrong in a flow file: where it stands, what is wrong and what
// to do about it. Line and Column start at 1; 0 means that the whole file is meant.
// Parse and Load return Problems joined with errors.Join, so errors.As finds the first
// and Problems finds all of them.
type Problem struct {
	File   string
	Line   int
	Column int
	Where  string // "state \"refill\"", or empty for the file's head
	What   string // what is wrong
	Do     string // what to do about it
}

// Error is the problem on one line, as compilers write it: file:line:column: where: what; do.
func (p *Problem) Error() string {
	place := p.File
	if p.Line > 0 {
		place = fmt.Sprintf("%s:%d:%d", p.File, p.Line, p.Column)
	}
	if p.Where != "" {
		place += ": " + p.Where
	}
	return place + ": " + p.What + "; " + p.Do
}

// Problems lists every Problem inside an error of Parse or Load, in the order found.
func Problems(err error) []*Problem {
	if several, ok := err.(interface{ Unwrap() []error }); ok {
		var found []*Problem
		for _, one := range several.Unwrap() {
			found = append(found, Problems(one)...)
		}
		return found
	}
	if problem, ok := errors.AsType[*Problem](err); ok {
		return []*Problem{problem}
	}
	return nil
}
