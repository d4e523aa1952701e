package buildfile

import (
	"bytes"
	"strings"
)

// quotedEnd is the byte after the closing quote of the scalar that begins at start.
func quotedEnd(src []byte, start int, quote byte) int {
	for i := start + 1; i < len(src); i++ {
		switch {
		case quote == '"' && src[i] == '\\':
			i++
		case src[i] != quote:
		case quote == '\'' && i+1 < len(src) && src[i+1] == quote:
			i++
		default:
			return i + 1
		}
	}
	return len(src)
}

// plainEnd is the byte after a plain scalar of the given value; a value of
// several lines was folded by the reader.
func plainEnd(src []byte, start int, value string) int {
	if end := start + len(value); end <= len(src) && string(src[start:end]) == value {
		return end
	}
	i, text := start, string(src[start:min(len(src), start+8*len(value)+4096)])
	end := len(text)
	for j := 0; value != "" && j < end; {
		if run, breaks := lineBreak(text[j:]); breaks > 0 {
			j += run
			if rest := strings.TrimLeft(value, "\n"); len(rest) < len(value) {
				value = rest
			} else {
				value = strings.TrimPrefix(value, " ")
			}
			continue
		}
		if text[j] != value[0] {
			break
		}
		j++
		value = value[1:]
		i = start + j
	}
	return i
}

// blockEnd is the byte after the last line of a block of text.
func (p *parser) blockEnd(n *Node) int {
	head := lineEnd(p.src, n.Start)
	keep := bytes.ContainsRune(bytes.SplitN(p.src[n.Start:head], []byte("#"), 2)[0], '+')
	col := 0
	if n.Parent != nil {
		col = n.Parent.Pos.Col
	}
	end := head
	for i := nextLine(p.src, head); i < len(p.src); i = nextLine(p.src, lineEnd(p.src, i)) {
		e := lineEnd(p.src, i)
		line := p.src[i:e]
		blank := len(bytes.TrimSpace(line)) == 0
		indent := len(line) - len(bytes.TrimLeft(line, " "))
		if !blank && indent < col {
			break
		}
		if !blank || keep || indent > col {
			end = e
		}
	}
	return end
}

// collectionEnd is the byte after a mapping or a list: after its closing
// bracket, or after its last item.
func (p *parser) collectionEnd(n *Node) int {
	i := n.Start
	if len(n.Items) > 0 {
		i = n.Items[len(n.Items)-1].End
	}
	if n.Style != Flow || n.Start >= len(p.src) || p.src[n.Start] != '{' && p.src[n.Start] != '[' {
		return i
	}
	closing := byte('}')
	if n.Kind == List {
		closing = ']'
	}
	if len(n.Items) == 0 {
		i++
	}
	for i < len(p.src) && p.src[i] != closing {
		if p.src[i] == '#' {
			i = lineEnd(p.src, i)
			continue
		}
		i++
	}
	return min(i+1, len(p.src))
}

// lineEnd is the offset of the line end at or after i, before its \r\n or \n.
func lineEnd(src []byte, i int) int {
	j := bytes.IndexByte(src[i:], '\n')
	if j < 0 {
		return len(src)
	}
	if e := i + j; e > i && src[e-1] == '\r' {
		return e - 1
	}
	return i + j
}

// nextLine is the offset after the line end at or after i.
func nextLine(src []byte, i int) int {
	j := bytes.IndexByte(src[i:], '\n')
	if j < 0 {
		return len(src)
	}
	return i + j + 1
}

// lineStart is the offset of the line that holds i.
func lineStart(src []byte, i int) int { return bytes.LastIndexByte(src[:i], '\n') + 1 }
