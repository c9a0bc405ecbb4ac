package plotting

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"hash/crc32"
)

// iendBytes is the length of a PNG's last chunk, IEND, which holds nothing.
const iendBytes = 12

// mark returns what tells a further page that Lagwright wrote from any other
// picture: its page number and the SHA-256 of everything else in the file, as a
// comment of an SVG or a text chunk of a PNG ("Software" is a keyword of the PNG
// specification, 11.3.3.2). A page that somebody drew on no longer bears it out.
func mark(format string, page int, picture []byte) []byte {
	words := fmt.Sprintf("Lagwright page %d %x", page, sha256.Sum256(picture))
	if format == "svg" {
		return fmt.Appendf(nil, "<!-- %s -->\n", words)
	}
	body := "tEXtSoftware\x00" + words
	chunk := binary.BigEndian.AppendUint32(nil, uint32(len(body)-len("tEXt")))
	chunk = append(chunk, body...)
	return binary.BigEndian.AppendUint32(chunk, crc32.ChecksumIEEE([]byte(body)))
}

// markEnd is how far from the end of a file the mark ends.
func markEnd(format string) int {
	if format == "png" {
		return iendBytes
	}
	return 0
}

// marked returns the picture with its mark.
func marked(format string, page int, picture []byte) []byte {
	at := len(picture) - markEnd(format)
	return bytes.Join([][]byte{picture[:at], mark(format, page, picture), picture[at:]}, nil)
}

// isOurs reports whether a file is a further page just as Lagwright wrote it.
func isOurs(format string, page int, file []byte) bool {
	to := len(file) - markEnd(format)
	from := to - len(mark(format, page, nil))
	if from < 0 {
		return false
	}
	picture := bytes.Join([][]byte{file[:from], file[to:]}, nil)
	return bytes.Equal(file, marked(format, page, picture))
}
