package flow

import (
	"fmt"

	"github.com/goccy/go-yaml/ast"
)

// place remembers where a part of a flow file stands, so that checks made long after
// decoding can still point at the exact node. A nil place points at the file.
type place struct {
	file         string // where it is not the flow's own: a part's
	line, column int
	keys         map[string]entry
	items        []*place
}

// entry is where a mapping's key and its value stand.
type entry struct{ name, value *place }

// deepest is how far a flow file may nest. The format itself needs about ten levels;
// guards within guards take the rest.
const deepest = 40

// key is the place of the value under a key; of the mapping itself where the key is
// missing, so that a problem still points somewhere near.
func (p *place) key(name string) *place {
	if p == nil {
		return nil
	}
	if found, ok := p.keys[name]; ok {
		return found.value
	}
	return p
}

// name is the place of the key itself.
func (p *place) name(key string) *place {
	if p == nil {
		return nil
	}
	if found, ok := p.keys[key]; ok {
		return found.name
	}
	return p
}

// has tells whether the file gives the key.
func (p *place) has(key string) bool {
	if p == nil {
		return false
	}
	_, ok := p.keys[key]
	return ok
}

// item is the place of a list's element.
func (p *place) item(index int) *place {
	if p == nil || index >= len(p.items) {
		return p
	}
	return p.items[index]
}

// surveyor turns the syntax tree into places and notes what flow files may not use.
type surveyor struct {
	file     string
	problems []error
}

func (s *surveyor) refuse(node ast.Node, what, do string) {
	at := at(node)
	s.problems = append(s.problems, &Problem{File: s.file, Line: at.line, Column: at.column, What: what, Do: do})
}

func at(node ast.Node) *place {
	if token := node.GetToken(); token != nil && token.Position != nil {
		return &place{line: token.Position.Line, column: token.Position.Column}
	}
	return &place{}
}

// survey walks one node. Anchors, aliases, merges and tags are refused: they make a
// file say in one place what counts in another. So is a key without a value, which is
// nearly always a slip of the pen.
func (s *surveyor) survey(node ast.Node, depth int) *place {
	if depth > deepest {
		s.refuse(node, fmt.Sprintf("nested more than %d levels deep", deepest), "split it into states or simpler guards")
		return at(node)
	}
	switch n := node.(type) {
	case *ast.MappingNode:
		return s.surveyMapping(n.Values, depth)
	case *ast.MappingValueNode:
		return s.surveyMapping([]*ast.MappingValueNode{n}, depth)
	case *ast.SequenceNode:
		p := at(n)
		for _, value := range n.Values {
			p.items = append(p.items, s.survey(value, depth+1))
		}
		return p
	case *ast.NullNode:
		s.refuse(n, "a key or list item has no value", "give it one or take it out")
	case *ast.AnchorNode, *ast.AliasNode, *ast.TagNode, *ast.MergeKeyNode:
		s.refuse(node, "anchors, aliases, merges and tags are not used in flow files", "write the value out")
	}
	return at(node)
}

func (s *surveyor) surveyMapping(values []*ast.MappingValueNode, depth int) *place {
	p := &place{keys: make(map[string]entry, len(values))}
	for i, value := range values {
		name := at(value.Key)
		if i == 0 {
			p.line, p.column = name.line, name.column
		}
		if value.Key.IsMergeKey() {
			s.refuse(value.Key, "merges are not used in flow files", "write the keys out")
			continue
		}
		text, ok := value.Key.(*ast.StringNode)
		if !ok {
			s.refuse(value.Key, "a key that is not a plain word", "write it as a word")
			continue
		}
		p.keys[text.Value] = entry{name: name, value: s.survey(value.Value, depth+1)}
	}
	return p
}
