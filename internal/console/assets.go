package console

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"io/fs"
	"mime"
	"net/http"
	"path"

	"github.com/gin-gonic/gin"
)

//go:embed assets
var assetFiles embed.FS

// asset is a small file that pages load from this server.
type asset struct {
	kind string // content type
	mark string // changes with the content, so that browsers may keep the file
	body []byte
}

func loadAssets() (map[string]asset, error) {
	all := map[string]asset{}
	names, err := fs.Glob(assetFiles, "assets/*")
	if err != nil {
		return nil, fmt.Errorf("list assets: %w", err)
	}
	for _, name := range names {
		body, err := assetFiles.ReadFile(name)
		if err != nil {
			return nil, fmt.Errorf("read asset: %w", err)
		}
		sum := sha256.Sum256(body)
		all[path.Base(name)] = asset{kind: contentType(name), mark: hex.EncodeToString(sum[:6]), body: body}
	}
	return all, nil
}

// contentType does not ask the machine's own tables first: some say odd things.
func contentType(name string) string {
	switch path.Ext(name) {
	case ".js":
		return "text/javascript; charset=utf-8"
	case ".css":
		return "text/css; charset=utf-8"
	case ".svg":
		return "image/svg+xml"
	}
	return mime.TypeByExtension(path.Ext(name))
}

func (s *site) asset(g *gin.Context) {
	file, ok := s.assets[g.Param("name")]
	if !ok {
		s.problem(g, http.StatusNotFound, "There is no such file.")
		return
	}
	if g.Query("v") == file.mark {
		g.Header("Cache-Control", "public, max-age=31536000, immutable")
	}
	g.Data(http.StatusOK, file.kind, file.body)
}

// Asset gives the address of one of the console's files under the path where the
// console is mounted (with a slash at its end), for pages beside it: "board.css",
// "live.js", "icon.svg".
func (c *Console) Asset(base, name string) string {
	return base + "assets/" + name + "?v=" + c.assets[name].mark
}
