package bench

import (
	"slices"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/calib/session"
)

// retell finds the pieces of advice that an earlier Lagwright kept as English words
// alone, so that they can be told in another language: it gives the advice again,
// and where that comes out in the same words, its pieces are theirs. Other words
// stay as they are.
func (b *Bench) retell() {
	if i18n.Tag() == "en" {
		return
	}
	b.folder.Recall(func(s *session.Session) {
		for i := range s.Takes {
			t := &s.Takes[i]
			if !t.Advice.ToldWhy.IsZero() || t.Advice.Why == "" {
				continue
			}
			before := *s
			before.Takes = slices.Clone(s.Takes[:i+1])
			before.Takes[i].OtherVoices = slices.Clone(t.OtherVoices)
			advise(&before, i)
			again := before.Takes[i]
			inPieces(&t.Advice, again.Advice)
			for v := range t.OtherVoices {
				inPieces(&t.OtherVoices[v].Advice, again.OtherVoices[v].Advice)
			}
		}
	})
}

func inPieces(kept *calib.Advice, again calib.Advice) {
	if kept.Do == again.Do && kept.Why == again.Why {
		kept.ToldDo, kept.ToldWhy, kept.PlateDoubt = again.ToldDo, again.ToldWhy, again.PlateDoubt
	}
}
