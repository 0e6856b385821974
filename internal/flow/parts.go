package flow

import (
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"path"
	"slices"
)

// part is a stretch that several flows share, a file in parts/: testing until the tub
// may be used, the refill, what is done about faults. A flow that names it under parts
// gets a copy of its facts, transitions and states, after its own; a state that the flow
// has itself stays as the flow has it. Checks see the whole.
type part struct {
	Part   string              `yaml:"part"`
	Facts  map[string][]string `yaml:"facts"`
	Always []Transition        `yaml:"always"`
	States []*State            `yaml:"states"`
}

// assemble adds a flow's parts. A nil file system has none.
func (f *Flow) assemble(fsys fs.FS) error {
	var problems []error
	for i, name := range f.Parts {
		if err := f.take(fsys, name, f.at.key("parts").item(i)); err != nil {
			problems = append(problems, err)
		}
	}
	return errors.Join(problems...)
}

func (f *Flow) take(fsys fs.FS, name string, at *place) error {
	missing := &Problem{File: f.file, Line: at.line, Column: at.column,
		What: fmt.Sprintf("no part %q", name), Do: "name a file of the folder parts, without .yaml"}
	if fsys == nil || !isName(name) {
		return missing
	}
	src, err := fs.ReadFile(fsys, path.Join("parts", name+".yaml"))
	if errors.Is(err, fs.ErrNotExist) {
		return missing
	}
	if err != nil {
		return fmt.Errorf("read flow part %s: %w", name, err)
	}
	file := path.Join("flows", "parts", name+".yaml")
	p := &part{}
	top, err := read(file, src, p)
	if err != nil {
		return err
	}
	top.in(file)
	f.add(p, top)
	return nil
}

// add takes a part in, with the places of what it brings.
func (f *Flow) add(p *part, top *place) {
	for _, name := range slices.Sorted(maps.Keys(p.Facts)) {
		if _, own := f.Facts[name]; !own {
			f.Facts = maps.Clone(f.Facts)
			if f.Facts == nil {
				f.Facts = map[string][]string{}
			}
			f.Facts[name] = p.Facts[name]
		}
	}
	for i := range p.Always {
		f.Always = append(f.Always, p.Always[i])
		f.at.list("always").grow(top.key("always").item(i))
	}
	for i, s := range p.States {
		own := slices.ContainsFunc(f.States, func(mine *State) bool { return s != nil && mine != nil && mine.Name == s.Name })
		if !own {
			f.States = append(f.States, s)
			f.at.list("states").grow(top.key("states").item(i))
		}
	}
}

// in notes the file that a place is in, where it is not the flow's own.
func (p *place) in(file string) {
	p.file = file
	for _, e := range p.keys {
		e.name.in(file)
		e.value.in(file)
	}
	for _, item := range p.items {
		item.in(file)
	}
}

// list is the place of a list under a key, made where the file has none.
func (p *place) list(key string) *place {
	if !p.has(key) {
		here := &place{line: p.line, column: p.column}
		p.keys[key] = entry{name: here, value: here}
	}
	return p.keys[key].value
}

func (p *place) grow(item *place) { p.items = append(p.items, item) }
