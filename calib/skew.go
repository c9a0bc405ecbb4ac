package calib

// Skew is by how much one channel of a recorder hears later than another, as a
// zero check found it: both microphones side by side, hearing the same knocks.
// Its zero value is a recorder that was never checked.
type Skew struct {
	MS            float64 `json:"ms"`             // voice's channel less the reference's; positive = the voice's channel hears later
	UncertaintyMS float64 `json:"uncertainty_ms"` // standard uncertainty of MS
	Knocks        int     `json:"knocks"`         // that it was found from
}

// Known reports whether a zero check was made at all.
func (s Skew) Known() bool { return s.Knocks > 0 }

// WithoutSkew returns the reading freed from a skew between its channels: the voice's
// hits lie earlier by it, every lag is smaller by it, and in the budget its
// uncertainty takes the place of what an unchecked recorder is allowed. A skew
// that is not known changes nothing. Call it last, after Widen, and once: what is kept is
// the reading as found in the sound.
func (r Reading) WithoutSkew(s Skew) Reading {
	if !s.Known() {
		return r
	}
	r.VoiceHitsS = append([]float64{}, r.VoiceHitsS...)
	for i := range r.VoiceHitsS {
		r.VoiceHitsS[i] -= s.MS / 1000
	}
	r.Pairs = append([]Pair{}, r.Pairs...)
	for i := range r.Pairs {
		r.Pairs[i].VoiceS -= s.MS / 1000
		r.Pairs[i].LagMS -= s.MS
	}
	if r.Used() == 0 {
		return r
	}
	r.LagMS -= s.MS
	if r.Law.DOF > 0 {
		r.Law.DelayMS -= s.MS
		r.Law = r.Law.shared(square(s.UncertaintyMS) - square(r.Budget.SkewMS))
	}
	r.Budget.SkewMS = s.UncertaintyMS
	return r.withInterval()
}
