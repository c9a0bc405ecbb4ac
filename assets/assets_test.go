package assets

import (
	"bytes"
	"image/png"
	"testing"
)

func TestIcon(t *testing.T) {
	config, err := png.DecodeConfig(bytes.NewReader(Icon))
	if err != nil || config.Width != 512 || config.Height != 512 {
		t.Errorf("the icon is %d by %d, error %v, want a PNG of 512 by 512", config.Width, config.Height, err)
	}
}
