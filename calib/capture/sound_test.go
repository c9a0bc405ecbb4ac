package capture

import "testing"

// Devices of one name are told apart, each by the same name in whatever order they come.
func TestToldApart(t *testing.T) {
	for _, c := range []struct{ given, want [4]Device }{{
		[4]Device{{ID: "c", Name: "Monitor"}, {ID: "a", Name: "Monitor"}, {ID: "b", Name: "Mic"}, {ID: "d", Name: "Monitor (2)"}},
		[4]Device{{ID: "c", Name: "Monitor (2)"}, {ID: "a", Name: "Monitor"}, {ID: "b", Name: "Mic"}, {ID: "d", Name: "Monitor (2) (2)"}},
	}, {
		[4]Device{{ID: "a", Name: "Monitor"}, {ID: "c", Name: "Monitor"}, {ID: "b", Name: "Monitor"}, {ID: "d", Name: "Mic"}},
		[4]Device{{ID: "a", Name: "Monitor"}, {ID: "c", Name: "Monitor (3)"}, {ID: "b", Name: "Monitor (2)"}, {ID: "d", Name: "Mic"}},
	}} {
		if ToldApart(c.given[:]); c.given != c.want {
			t.Errorf("got %+v, want %+v", c.given, c.want)
		}
	}
}
