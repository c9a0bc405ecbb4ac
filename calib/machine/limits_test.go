package machine

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"testing"
)

// Each list of the table is read up to its limit and refused beyond it, by itself and
// among others of its name.
func TestLimits(t *testing.T) {
	defer func(was []limit) { limits = was }(limits)
	limits = slices.Clone(limits)
	for i := range limits {
		limits[i].most, limits[i].all = 3+i, 2*(3+i)
	}
	for _, l := range limits {
		lists := func(n, each int) []byte {
			one := `{"` + l.list + `":[` + strings.TrimSuffix(strings.Repeat("0,", each), ",") + `]}`
			return []byte("[" + strings.TrimSuffix(strings.Repeat(one+",", n), ",") + "]")
		}
		if err := survey(lists(l.all/l.most, l.most)); err != nil {
			t.Errorf("%s: as many as may be: %v", l.list, err)
		}
		wantSentence(t, survey(lists(1, l.most+1)), fmt.Sprintf("more than %d %s", l.most, l.list))
		wantSentence(t, survey(lists(l.all/l.most+1, l.most)), fmt.Sprintf("more than %d %s in all", l.all, l.list))
	}
	_, err := decode(make([]byte, mostJSONBytes+1))
	wantSentence(t, err, "128 MB")
	wantSentence(t, survey([]byte(`{"t\u0061kes":[0,0,0,0]}`)), "3 takes")
	wantSentence(t, survey([]byte(strings.Repeat("[", mostDepth+1))), "100 deep")
	if err := survey([]byte(strings.Repeat("[", mostDepth) + strings.Repeat("]", mostDepth))); err != nil {
		t.Errorf("as deep as may be: %v", err)
	}
}

// What a struct has no place for is kept as it was written.
func TestUnknownFieldsAreKeptAsWritten(t *testing.T) {
	data := bytes.Replace(own(t).data, []byte(`"tolerance_ms"`), []byte(`"Mood": {"deep": ["}"]}, "tolerance_ms"`), 1)
	m, err := decode(data)
	if err != nil || string(m.Unknown) != `{"Mood":{"deep": ["}"]}}` {
		t.Errorf("%s, %v", m.Unknown, err)
	}
}
