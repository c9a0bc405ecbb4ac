package session

import (
	"reflect"
	"slices"
	"strings"
	"testing"

	"lagwright/calib"
)

const block = `block <left> & "right"`

func TestTakeAsAnotherVoice(t *testing.T) {
	take := sample().Takes[1]
	if got := take.Voices(); !slices.Equal(got, []string{"drum", block}) {
		t.Fatalf("voices %q", got)
	}
	as, ok := take.As(block)
	if !ok {
		t.Fatal("the take did not hear the block")
	}
	if as.Target.Voice != block || as.Voice != 3 || as.Reading.LagMS != 40.125 || as.Advice.Steps != 6 || as.Changed() != 1 {
		t.Errorf("as the block has it: %+v, %d changed", as, as.Changed())
	}
	if as.ID != take.ID || as.Reference != take.Reference || as.Target.Song != take.Target.Song {
		t.Errorf("another take: %+v", as)
	}
	back, _ := as.As("drum")
	if !reflect.DeepEqual(back, take) {
		t.Errorf("there and back: %+v\nwant %+v", back, take)
	}
	if !reflect.DeepEqual(take, sample().Takes[1]) {
		t.Error("the take itself was changed")
	}
	if _, ok := take.As("bar"); ok {
		t.Error("the take heard a voice that had no microphone")
	}
}

// Points, settings and prior know every voice of a take, at the setting where the
// take found the plate; a take that is left out counts for none of them.
func TestEveryVoiceOfATakeCounts(t *testing.T) {
	s := sample()
	take := &s.Takes[1]
	for i := range 5 { // enough pairs to be read
		at := 3 + float64(i)
		for _, r := range []*calib.Reading{&take.Reading, &take.OtherVoices[0].Reading} {
			r.Pairs = append(slices.Clip(r.Pairs), calib.Pair{ReferenceS: at, VoiceS: at + 0.04, LagMS: 40, Used: true})
		}
	}
	points := s.Points(block)
	if len(points) != 1 || points[0].Setting != 5 || points[0].LagMS != 40.125 {
		t.Errorf("points of the block: %+v", points)
	}
	tight := calib.Advice{Outcome: calib.Converged, At: 5, LagMS: 2, Half: 1}
	take.OtherVoices[0].Advice = tight
	settled := s.Settings()
	if len(settled) != 2 || settled[0].Target.Voice != block || settled[0].Setting != 5 || settled[1].Target.Voice != "drum" {
		t.Errorf("settled: %+v", settled)
	}
	take.LeftOut = true
	if len(s.Points(block)) != 0 || len(s.Settings()) != 0 {
		t.Errorf("left out, it leaves %d points and %d settings", len(s.Points(block)), len(s.Settings()))
	}
}

func TestRefusesVoicesThatCannotBe(t *testing.T) {
	for words, spoil := range map[string]func(*Take){
		"twice":           func(t *Take) { t.OtherVoices[0].Voice = "drum" },
		"without a name":  func(t *Take) { t.OtherVoices[0].Voice = "" },
		"the reference's": func(t *Take) { t.OtherVoices[0].Channel = 1 },
		"the drum's":      func(t *Take) { t.OtherVoices[0].Channel = 2 },
		"below 1":         func(t *Take) { t.OtherVoices[0].Channel = 0 },
		"change 1 by hand": func(t *Take) {
			t.OtherVoices[0].ByHand.Found.VoiceHitsS = nil
			t.OtherVoices[0].ByHand.Found.Pairs = nil
		},
		"lists no change": func(t *Take) { t.OtherVoices[0].ByHand.Edits = nil },
	} {
		s := sample().clone()
		spoil(&s.Takes[1])
		wantSentence(t, s.validate(), "take 2", words)
	}
	if err := sample().validate(); err != nil {
		t.Error(err)
	}
}

// Names of voices with anything in them come back.
func TestOtherVoicesAreReadable(t *testing.T) {
	text, err := encode(sample())
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(text), `"other_voices"`) || !strings.Contains(string(text), `"channels": 4`) {
		t.Errorf("%s", text)
	}
}
