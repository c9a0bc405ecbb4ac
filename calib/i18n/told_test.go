package i18n

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"lagwright/internal/boundedtest"
	"lagwright/internal/deeptest"
)

func TestToldAgainInAnotherLanguage(t *testing.T) {
	late := Say("%.1f ms late", 12.0)
	told := Say("The voice is %s (± %.1f) at %.4g BPM, %s, %d of %d, <%s>", late, 0.75, 84.5, SayN(1, "one step", "%d steps", 1), 3, 4, "tub & drum")
	english := "The voice is 12.0 ms late (± 0.8) at 84.5 BPM, one step, 3 of 4, <tub & drum>"
	b, err := json.Marshal(told)
	var read Message
	if err != nil || json.Unmarshal(b, &read) != nil || read != told {
		t.Fatalf("%v: %s came back as %v", err, b, read)
	}
	if got := read.String(); got != english {
		t.Errorf("got %q", got)
	}
	words := map[string]string{
		"The voice is %s (± %.1f) at %.4g BPM, %s, %d of %d, <%s>": "Bei %[3]v BPM ist die Stimme %[1]s (± %[2]v), %[4]s, %[5]d von %[6]d, <%[7]s>",
		"%.1f ms late": "%.1f ms zu spät",
		"one step":     "ein Schritt",
	}
	Use(&Language{Tag: "de", Comma: true, Look: func(s string) string {
		if w, ok := words[s]; ok {
			return w
		}
		return s
	}})
	t.Cleanup(func() { Use(nil) })
	if got, want := read.String(), "Bei 84,5 BPM ist die Stimme 12,0 ms zu spät (± 0,75), ein Schritt, 3 von 4, <tub & drum>"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if got := read.English(); got != english {
		t.Errorf("in English %q", got)
	}
}

func TestToldNumbersKeepTheirKind(t *testing.T) {
	for _, c := range []struct {
		told Message
		want string
	}{
		{Say("%d %.1f", 5, 5.0), "5 5.0"},
		{Say("%g %g", 1e300, 1e-7), "1e+300 1e-07"},
		{Say("%.1f %.1f %.1f", math.Inf(1), math.Inf(-1), math.NaN()), "+Inf -Inf NaN"},
		{Say("%v", errors.New("no room")), "no room"},
		{Message{}, ""},
	} {
		b, err := json.Marshal(c.told)
		var read Message
		if err != nil || json.Unmarshal(b, &read) != nil || read != c.told || read.String() != c.want {
			t.Errorf("%v: %s came back as %q, want %q", err, b, read, c.want)
		}
	}
}

// TestFixedErrorsFollowTheLanguage: an error made before a language was chosen,
// and one that was told in it, speak whichever is in use.
func TestFixedErrorsFollowTheLanguage(t *testing.T) {
	err := Fixed(Say("ahead"))
	told := Say("%s, so far", err)
	german(t)
	if err.Error() != "vor" || told.String() != "vor, so far" || told.English() != "ahead, so far" {
		t.Errorf("%q, %q, %q", err, told, told.English())
	}
	if wrapped := fmt.Errorf("here: %w", err); !errors.Is(wrapped, err) || Say("%s", wrapped).English() != "here: vor" {
		t.Errorf("%q", wrapped)
	}
}

// What is told costs as much as it is long, and is read as it was said.
func TestMuchIsTold(t *testing.T) {
	told := Say("{{{{{{{{{{{{ [[[[ \"%s", "{[\\")
	if got := again(t, told); got != told || got.String() != `{{{{{{{{{{{{ [[[[ "{[\` {
		t.Errorf("%q came back as %q", told, got)
	}
	boundedtest.Linear(t, deeptest.Of(1e5, 1e6), func(bytes int) {
		const one = `,"x"`
		fillers := bytes / len(one)
		many := []byte(`{"say":"` + strings.Repeat("%s", fillers+1) + `","with":["x"` + strings.Repeat(one, fillers) + `]}`)
		var told Message
		if err := json.Unmarshal(many, &told); err != nil || len(told.English()) != fillers+1 {
			t.Errorf("%v, %d bytes of English", err, len(told.English()))
		}
	})
}

func again(t *testing.T, told Message) (read Message) {
	t.Helper()
	b, err := json.Marshal(told)
	if err != nil || json.Unmarshal(b, &read) != nil {
		t.Fatalf("%v: %s", err, b)
	}
	return read
}

func TestNonsenseIsNotTold(t *testing.T) {
	doubled := strings.Repeat(`{"say":"%x","with":[`, 5) + `"` + strings.Repeat("ahead", 100) + `"` + strings.Repeat(`]}`, 5)
	quoted := strings.NewReplacer("%x", "%q", "ahead", `\\\\`).Replace(doubled)
	deep := strings.Repeat(`{"say":"%s","with":[`, 200) + strings.Repeat(`]}`, 200)
	many := `{"say":"%s","with":[` + strings.Repeat(`{"say":"x"},`, 60) + `1]}`
	for _, s := range []string{deep, many, doubled, quoted, `[]`, `{}`, `"x"`, `{"with":[true]}`, `{"say":"x","with":[[]]}`, `[1]`, `true`, `{"say":"%s late","with":[{"say":"%*d"}]}`, `{"say":"%999d","with":[1]}`, `{"say":"%[1]s%[1]s","with":["x"]}`, `{"say":"x","one":"%*d"}`} {
		told := Say("ahead")
		if err := json.Unmarshal([]byte(s), &told); err != nil || !told.IsZero() {
			t.Errorf("%s was taken for %q, %v", s, told, err)
		}
	}
}
