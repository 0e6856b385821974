package redis

import (
	"crypto/sha1"
	_ "embed"
	"encoding/hex"
)

//go:embed lua/outbox.lua
var outboxLua string

//go:embed lua/commit.lua
var commitLua string

//go:embed lua/settle.lua
var settleLua string

//go:embed lua/claim.lua
var claimLua string

//go:embed lua/peek.lua
var peekLua string

//go:embed lua/board.lua
var boardLua string

//go:embed lua/handovers.lua
var handoversLua string

// script is a piece of Lua that runs in the server as one step, called by its hash.
type script struct{ text, hash string }

func newScript(text string) *script {
	sum := sha1.Sum([]byte(text)) // Redis names scripts so; nothing rests on it being hard to forge
	return &script{text, hex.EncodeToString(sum[:])}
}

// scripts are all that the store runs.
type scripts struct {
	commit, settle, claim, peek, board, handovers *script
	document, documents, audit, entries           *script
	erase, trim, closed                           *script
	find, fill, tally                             *script
}

func newScripts() scripts {
	return scripts{
		commit: newScript(outboxLua + soughtLua + commitLua), settle: newScript(outboxLua + settleLua),
		claim: newScript(claimLua), peek: newScript(peekLua),
		board: newScript(boardLua), handovers: newScript(handoversLua),
		document: newScript(documentLua), documents: newScript(documentsLua),
		audit: newScript(auditLua), entries: newScript(entriesLua),
		erase: newScript(outboxLua + soughtLua + eraseLua), trim: newScript(outboxLua + trimLua), closed: newScript(closedLua),
		find: newScript(soughtLua + findLua), fill: newScript(soughtLua + fillLua), tally: newScript(tallyLua),
	}
}

// command is the words of a call: by hash, or with the text for a server that does not
// have the script (any more).
func (s *script) command(byHash bool, keys, args []string) []any {
	out := make([]any, 0, 3+len(keys)+len(args))
	if byHash {
		out = append(out, "EVALSHA", s.hash)
	} else {
		out = append(out, "EVAL", s.text)
	}
	out = append(out, len(keys))
	for _, k := range keys {
		out = append(out, k)
	}
	for _, a := range args {
		out = append(out, a)
	}
	return out
}
