package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"strings"
	"sync"

	"tubhand/internal/console"
	"tubhand/internal/flow"
	"tubhand/internal/rehearse"
	"tubhand/internal/shop"
	"tubhand/internal/wording"
	"tubhand/templates"
	"tubhand/testdata/rehearsals"
)

// library plays the rehearsals that the program carries, one at a time, since each keeps a
// core busy. It is a console.Rehearser.
type library struct {
	flows *flow.Set
	words func() (*wording.Set, error)
	all   func() []console.Rehearsal
	turn  chan struct{}
}

func newLibrary(flows *flow.Set) *library {
	return &library{
		flows: flows, turn: make(chan struct{}, 1), all: sync.OnceValue(listRehearsals),
		words: sync.OnceValues(func() (*wording.Set, error) { return wording.Load(templates.FS) }),
	}
}

// listRehearsals lists the scripts that are played with the demo shop, English first. One
// that does not parse is left out: a test holds that there is none.
func listRehearsals() []console.Rehearsal {
	files, err := fs.Glob(rehearsals.FS, "*.yaml")
	if err != nil {
		return nil
	}
	var english, spanish []console.Rehearsal
	for _, file := range files {
		script, err := readHead(file)
		if err != nil || script.Shop != "" && script.Shop != "demo" {
			continue
		}
		r := describe(strings.TrimSuffix(file, ".yaml"), script)
		if r.Lang == "es" {
			spanish = append(spanish, r)
		} else {
			english = append(english, r)
		}
	}
	return append(english, spanish...)
}

func describe(name string, s *rehearse.Script) console.Rehearsal {
	r := console.Rehearsal{Name: name, About: strings.TrimSpace(s.About), Lang: "en"}
	if strings.HasPrefix(name, "es-") || s.Owner.Language == "es" {
		r.Lang = "es"
	}
	if r.About == "" {
		r.About = strings.ReplaceAll(name, "-", " ")
	}
	return r
}

func readRehearsal(file string) (*rehearse.Script, error) {
	src, err := rehearsals.FS.ReadFile(file)
	if err != nil {
		return nil, fmt.Errorf("read rehearsal: %w", err)
	}
	return rehearse.Parse(file, src)
}

// readHead reads what a script says before its turns, which take far longer to read.
func readHead(file string) (*rehearse.Script, error) {
	src, err := rehearsals.FS.ReadFile(file)
	if err != nil {
		return nil, fmt.Errorf("read rehearsal: %w", err)
	}
	if i := bytes.Index(src, []byte("\nturns:")); i >= 0 {
		src = append(src[:i:i], "\nturns:\n  - wait: 1m\n"...)
	}
	return rehearse.Parse(file, src)
}

// Rehearsals implements console.Rehearser.
func (l *library) Rehearsals() []console.Rehearsal { return l.all() }

// Play implements console.Rehearser.
func (l *library) Play(ctx context.Context, name string) (console.Played, error) {
	var out console.Played
	for _, r := range l.all() {
		if r.Name == name {
			out.Rehearsal = r
		}
	}
	if out.Name == "" {
		return out, console.ErrNoRehearsal
	}
	select {
	case l.turn <- struct{}{}:
		defer func() { <-l.turn }()
	case <-ctx.Done():
		return out, fmt.Errorf("wait to play: %w", ctx.Err())
	}
	words, err := l.words()
	if err != nil {
		return out, fmt.Errorf("load templates: %w", err)
	}
	return l.play(ctx, out, words)
}

func (l *library) play(ctx context.Context, out console.Played, words *wording.Set) (console.Played, error) {
	script, err := readRehearsal(out.Name + ".yaml")
	if err != nil {
		return out, err
	}
	at := script.Start
	player, err := rehearse.New(script, shop.Demo().Shop, l.flows, words, func(e rehearse.Event) {
		at = e.At
		if scene, ok := sceneOf(e); ok {
			out.Scenes = append(out.Scenes, scene)
		}
	})
	if err != nil {
		return out, err
	}
	player.OnExpect(func(c rehearse.Checked) {
		out.Scenes = append(out.Scenes, console.Scene{At: at, Kind: console.SceneExpect, Texts: c.What, Found: c.Found})
	})
	err = player.Play(ctx)
	var failure *rehearse.Failure
	if err != nil && !errors.As(err, &failure) {
		out.Trouble = err.Error()
	}
	return out, nil
}

// sceneOf tells of an event what a reader wants to see.
func sceneOf(e rehearse.Event) (console.Scene, bool) {
	s := console.Scene{At: e.At, Who: e.By, Texts: []string{e.Text}}
	switch e.Kind {
	case rehearse.KindIn:
		s.Kind = console.SceneOwner
	case rehearse.KindOut:
		s.Kind = console.SceneAssistant
		if e.By != "" {
			s.Kind = console.SceneStaff
		}
		if e.Page {
			s.Kind = console.ScenePage
		}
	case rehearse.KindHandover:
		s.Kind = console.SceneCase
		s.Texts[0] = fmt.Sprintf("%s, %s: %s", strings.ReplaceAll(e.Severity, "_", " "), strings.ReplaceAll(e.Cause, "_", " "), e.Text)
	case rehearse.KindDose:
		s.Kind, s.Texts[0] = console.SceneLog, e.State+" "+e.Measure+" of "+e.Text
	case rehearse.KindReading:
		s.Kind, s.Texts[0] = console.SceneLog, "read "+e.Text
	case rehearse.KindNote:
		s.Kind = console.SceneLog
	default:
		return s, false
	}
	return s, true
}
