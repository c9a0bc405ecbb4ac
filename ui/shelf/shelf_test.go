package shelf

import "testing"

func TestIconIsAPicture(t *testing.T) {
	if size := iconPicture().Bounds().Size(); size.X < 256 || size.X != size.Y {
		t.Errorf("the icon is %v", size)
	}
}
