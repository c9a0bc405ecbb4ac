package kit

import "testing"

func TestWords(t *testing.T) {
	for in, want := range map[string]string{"": "", "x.wav is gone": "x.wav is gone.", "there is no room": "There is no room.", "Done.": "Done.", "is it? Yes!": "Is it? Yes!"} {
		if got := AsSentence(in); got != want {
			t.Errorf("asSentence(%q) = %q, want %q", in, got, want)
		}
	}
	for in, want := range map[string]float64{"92": 92, " 92,5 ": 92.5, "0.6": 0.6, "1/8": 0.125, " 5 / 8": 0.625, "３／４": 0.75} {
		if got, err := ParseNumber(in); err != nil || got != want {
			t.Errorf("parseNumber(%q) = %g, %v", in, got, err)
		}
	}
	steps := NewCount("", 0, 100, false)
	for in, ok := range map[string]bool{"": false, "2.5": false, "2.0": true, "101": false, "7": true} {
		if err := steps.Validator(in); (err == nil) != ok {
			t.Errorf("steps %q: %v", in, err)
		}
	}
	tempo := NewNumber("", 20, 400, false)
	for in, ok := range map[string]bool{"": false, "abc": false, "19": false, "20": true, "400": true, "1e9": false, "NaN": false, "800/10": true, "1/0": false, "80/": false} {
		if err := tempo.Validator(in); (err == nil) != ok {
			t.Errorf("tempo %q: %v", in, err)
		}
	}
}
