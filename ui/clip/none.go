//go:build !(linux || freebsd || netbsd || openbsd)

package clip

import "lagwright/calib/i18n"

func own([]byte) error { return i18n.Errorf("on this system only text can be copied") }
