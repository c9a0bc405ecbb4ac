//go:build !(linux || freebsd || netbsd || openbsd)

package clip

import "errors"

func own([]byte) error { return errors.New("on this system only text can be copied") }
