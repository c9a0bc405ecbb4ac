//go:build !(linux || freebsd || netbsd || openbsd)

package clip

import "lagwright/calib/phrase"

func own([]byte) error { return phrase.Errorf("on this system only text can be copied") }
