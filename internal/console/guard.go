package console

import (
	"net"
	"net/http"
	"net/netip"
	"strings"

	"github.com/gin-gonic/gin"
)

// policy allows a page nothing but what this server serves as files of its own: no
// inline script or style, no outside request, no form to another place.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; " +
	"form-action 'self'; base-uri 'none'; frame-ancestors "

// mostForm bounds the body of a form, in bytes.
const mostForm = 32 << 10

// guard turns away what must not be answered at all: other machines where only this
// one is served, and changes asked for by a page of another origin.
func (s *site) guard(g *gin.Context) {
	if s.LoopbackOnly && !ThisMachine(g.Request) {
		s.problem(g, http.StatusForbidden, "This page is only for the machine that it runs on. Open it there, or through an SSH tunnel.")
		return
	}
	if err := s.cross.Check(g.Request); err != nil {
		s.problem(g, http.StatusForbidden, "That was asked for by a page of another site, so nothing was done.")
		return
	}
	g.Request.Body = http.MaxBytesReader(g.Writer, g.Request.Body, mostBody(g))
}

// headers sets what every answer carries.
func (s *site) headers(g *gin.Context) {
	SecurityHeaders(g.Writer.Header(), s.Framed)
	if s.Secure {
		g.Header("Strict-Transport-Security", "max-age=31536000")
	}
}

// SecurityHeaders sets the headers that hold a page to this server's own files: the
// content policy, who may frame it (framed: pages of the same origin; else nobody), and
// that it is neither sniffed nor kept.
func SecurityHeaders(h http.Header, framed bool) {
	ancestors, options := "'none'", "DENY"
	if framed {
		ancestors, options = "'self'", "SAMEORIGIN"
	}
	h.Set("Content-Security-Policy", policy+ancestors+frames(framed))
	h.Set("X-Frame-Options", options)
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Referrer-Policy", "same-origin")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	h.Set("Cross-Origin-Opener-Policy", "same-origin")
	h.Set("Cache-Control", "no-store")
}

func frames(framed bool) string {
	if framed {
		return "; frame-src 'self'"
	}
	return ""
}

// ThisMachine tells whether a request comes from this machine, names it by a loopback
// name or address, and was not passed on by a proxy that says so. A proxy that says
// nothing and names the loopback address itself cannot be told from a browser here:
// keep what is only for this machine on a listener that no proxy passes on to.
func ThisMachine(r *http.Request) bool {
	return fromLoopback(r) && forLoopback(r) && !passedOn(r)
}

// passedOn: a proxy left its mark.
func passedOn(r *http.Request) bool {
	for _, mark := range []string{"Forwarded", "X-Forwarded-For", "X-Forwarded-Host", "X-Real-Ip", "Via"} {
		if r.Header.Get(mark) != "" {
			return true
		}
	}
	return false
}

// fromLoopback: the peer is on this machine.
func fromLoopback(r *http.Request) bool {
	at, err := netip.ParseAddrPort(r.RemoteAddr)
	return err == nil && at.Addr().Unmap().IsLoopback()
}

// forLoopback: the request names this machine by a loopback name. A site elsewhere that
// points its own name at 127.0.0.1 is turned away by this.
func forLoopback(r *http.Request) bool {
	host := r.Host
	if h, _, err := net.SplitHostPort(host); err == nil {
		host = h
	}
	host = strings.Trim(host, "[]")
	if strings.EqualFold(host, "localhost") {
		return true
	}
	ip, err := netip.ParseAddr(host)
	return err == nil && ip.IsLoopback()
}
