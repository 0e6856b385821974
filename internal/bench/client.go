// Package bench puts load on a server of this machine and measures how it answers. Two
// kinds: closed, where each connection sends its next text when the last is answered,
// which tells how much is possible at most; and open, where texts come at their times
// whatever the server does, which tells how long people wait. In the open kind a text's
// time runs from when it should have been sent: a server that stalls cannot hide it.
package bench

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"net"
	"strconv"
)

// client is one connection that posts forms. It is as plain as can be, since it shares
// the machine with what it measures.
type client struct {
	conn net.Conn
	in   *bufio.Reader
	head []byte // of each request, up to the length of its body
	out  []byte
}

func dial(address, path string) (*client, error) {
	conn, err := net.Dial("tcp", address)
	if err != nil {
		return nil, err
	}
	head := "POST " + path + " HTTP/1.1\r\nHost: " + address +
		"\r\nContent-Type: application/x-www-form-urlencoded\r\nContent-Length: "
	return &client{conn: conn, in: bufio.NewReader(conn), head: []byte(head)}, nil
}

// post sends a form and gives the status of the answer.
func (c *client) post(form string) (int, error) {
	c.out = append(c.out[:0], c.head...)
	c.out = strconv.AppendInt(c.out, int64(len(form)), 10)
	c.out = append(c.out, "\r\n\r\n"...)
	c.out = append(c.out, form...)
	if _, err := c.conn.Write(c.out); err != nil {
		return 0, err
	}
	return c.answer()
}

// answer reads a status line, the headers and as much body as they say.
func (c *client) answer() (status int, err error) {
	line, err := c.in.ReadSlice('\n')
	if err != nil {
		return 0, err
	}
	words := bytes.Fields(line)
	if len(words) < 2 {
		return 0, fmt.Errorf("the answer begins with %q", line)
	}
	if status, err = strconv.Atoi(string(words[1])); err != nil {
		return 0, fmt.Errorf("the answer begins with %q", line)
	}
	length := 0
	for {
		line, err := c.in.ReadSlice('\n')
		if err != nil {
			return 0, err
		}
		name, value, ok := bytes.Cut(bytes.TrimSpace(line), []byte(":"))
		if !ok {
			break // the empty line
		}
		if bytes.EqualFold(name, []byte("Content-Length")) {
			if length, err = strconv.Atoi(string(bytes.TrimSpace(value))); err != nil {
				return 0, fmt.Errorf("length of the answer: %w", err)
			}
		}
	}
	_, err = io.CopyN(io.Discard, c.in, int64(length))
	return status, err
}
