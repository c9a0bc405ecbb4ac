package plan

// What is known of all parameters together is one normal law. Given the few that all
// voices share (f, the backlash b and the start of the plate), voices have nothing to do
// with each other. So it is kept as the law of the shared parameters and that of each
// voice's D and A given these, and a reading changes just two small laws: a few dozen
// multiplications, where a dense matrix of 20 voices costs thousands. The tests hold the
// two against each other.
//
// Covariances are kept as U·diag(d)·Uᵀ, U with ones on its diagonal and nothing below it:
// so no digits are lost where a reading tells much more than was known before (Bierman
// 1977, Factorization Methods for Discrete Sequential Estimation, from memory).

// Places of the parameters in a row.
const (
	iD = iota // delay of the voice, ms
	iA        // offset of the voice, beats
	iF        // step, beats
	iB        // backlash, beats
	iS        // start: what the plate's place at setting 0 adds to every A, beats
	nRow
	nShared = nRow - iF
)

// row is the gradient of a lag by D, A, f, b and the start, vector one by the shared
// parameters.
type (
	row    [nRow]float64
	vector [nShared]float64
)

// gradient is the row of a lag at a period in ms, at a setting in steps that was
// reached by turning the given way. Turned ahead, the programme stays behind by
// the slack, so the voice is late by b.
func gradient(periodMS float64, setting, came int) *row {
	return &row{1, periodMS, -float64(setting) * periodMS, float64(came) * periodMS, periodMS}
}

// slopeRow is the row of the growth of a lag with the period.
func slopeRow(setting, came int) *row {
	g := gradient(1, setting, came)
	g[iD] = 0
	return g
}

// own is the law of a voice's D and A given the shared parameters x: its mean is
// at − gain·x.
type own struct {
	at   [2]float64
	gain [2]vector
	u    float64 // of the covariance: that of D and A is u·d[iA]
	d    [2]float64
}

// observe narrows the law by an observation with a row of some own part, and returns by
// how much of it D and A go along with what the mean missed, and its whole variance.
func (o *own) observe(gD, gA, variance float64) (kD, kA, all float64) {
	fA := o.u*gD + gA
	vD, vA := o.d[iD]*gD, o.d[iA]*fA
	partly := variance + gD*vD
	all = partly + fA*vA
	kD, kA = (vD+o.u*vA)/all, vA/all
	o.u -= fA * vD / partly
	o.d[iD] *= variance / partly
	o.d[iA] *= partly / all
	return kD, kA, all
}

// cov returns the covariance of two quantities by their gradients.
func (o *own) cov(x, y *[2]float64) float64 {
	return o.d[iD]*x[iD]*y[iD] + o.d[iA]*(o.u*x[iD]+x[iA])*(o.u*y[iD]+y[iA])
}

// blur adds to the variance of D or A, as when gate or pin was changed.
func (o *own) blur(i int, sd float64) {
	more, d := sd*sd, o.d[iA]
	if i == iD {
		o.d[iD] += more
		return
	}
	o.d[iA] += more
	o.d[iD] += o.u * o.u * d * more / o.d[iA]
	o.u *= d / o.d[iA]
}

// shared is the law of the shared parameters. One that is known has a d of 0.
type shared struct {
	x vector // mean
	u [nShared]vector
	d vector
}

// observe learns of an observation that lies some way off its mean, and returns its whole
// variance.
func (s *shared) observe(g *vector, off, variance float64) (all float64) {
	var k vector
	for j := range g {
		f := g[j]
		for i := range j {
			f += s.u[i][j] * g[i]
		}
		v := s.d[j] * f
		if v == 0 {
			continue
		}
		all := variance + f*v
		s.d[j] *= variance / all
		for i := range j {
			u := s.u[i][j]
			s.u[i][j] -= f / variance * k[i]
			k[i] += u * v
		}
		k[j], variance = v, all
	}
	for i := range k {
		s.x[i] += k[i] / variance * off
	}
	return variance
}

// cov returns the covariance of two quantities by their gradients.
func (s *shared) cov(x, y *vector) (sum float64) {
	for j := range x {
		if s.d[j] == 0 {
			continue
		}
		f, g := x[j], y[j]
		for i := range j {
			f, g = f+s.u[i][j]*x[i], g+s.u[i][j]*y[i]
		}
		sum += s.d[j] * f * g
	}
	return sum
}
