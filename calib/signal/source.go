package signal

// Options says what a take holds and where.
type Options struct {
	Reference, Voice int                    // channels, from 1; zero values mean 1 and 2
	Every            int                    // beats from one voice hit to the next; 0 = any
	PerBeat          int                    // reference hits in a beat; 0 means 1
	Progress         func(fraction float64) // from 0 to 1; may be nil
}

func (o Options) filled() Options {
	if o.Reference == 0 {
		o.Reference = 1
	}
	if o.Voice == 0 {
		o.Voice = 2
	}
	o.Every = max(o.Every, 0)
	o.PerBeat = max(o.PerBeat, 1)
	if o.Progress == nil {
		o.Progress = func(float64) {}
	}
	return o
}

// part returns a progress function that fills the span from one fraction to
// another of report.
func part(report func(float64), from, to float64) func(float64) {
	return func(f float64) { report(from + f*(to-from)) }
}
