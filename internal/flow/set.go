package flow

import (
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"path"
	"slices"
)

// Set is all the flows of a shop, checked against each other. It does not change.
type Set struct {
	flows map[string]*Flow
}

// Load reads every *.yaml in the root of a file system, which is the folder flows: in
// problems its files are named flows/NAME.yaml. All problems of all files are joined,
// those of what the files need from each other too; see Problems.
func Load(fsys fs.FS) (*Set, error) {
	files, err := fs.Glob(fsys, "*.yaml")
	if err != nil {
		return nil, fmt.Errorf("list flow files: %w", err)
	}
	set := &Set{flows: make(map[string]*Flow, len(files))}
	var problems []error
	for _, file := range files {
		f, err := readFlow(fsys, file)
		if err != nil {
			problems = append(problems, err)
		}
		if f == nil {
			continue
		}
		if twin, twice := set.flows[f.Name]; twice {
			problems = append(problems, &Problem{File: f.file, Line: f.at.key("flow").line, Column: f.at.key("flow").column,
				What: fmt.Sprintf("the flow %q is also in %s", f.Name, twin.file), Do: "give one of them another name"})
			continue
		}
		set.flows[f.Name] = f
	}
	if len(files) == 0 {
		problems = append(problems, &Problem{File: ".", What: "no *.yaml files", Do: "put the flow files there"})
	}
	if err := errors.Join(append(problems, set.together()...)...); err != nil {
		return nil, err
	}
	return set, nil
}

// readFlow parses one file. Where the file is well-formed the flow is returned along
// with its problems, so that the others can be checked against it.
func readFlow(fsys fs.FS, file string) (*Flow, error) {
	src, err := fs.ReadFile(fsys, file)
	if err != nil {
		return nil, fmt.Errorf("read flow file %s: %w", file, err)
	}
	return parse(path.Join("flows", file), src, fsys)
}

// Flow finds a flow by its name.
func (s *Set) Flow(name string) (*Flow, bool) {
	f, ok := s.flows[name]
	return f, ok
}

// Names lists the flows, sorted.
func (s *Set) Names() []string { return slices.Sorted(maps.Keys(s.flows)) }

// callers lists the flows that call a trouble, by name.
func (s *Set) callers(trouble string) []*Flow {
	var found []*Flow
	for _, name := range s.Names() {
		if slices.Contains(s.flows[name].calls(), trouble) {
			found = append(found, s.flows[name])
		}
	}
	return found
}
