package calib

import "math"

// root is the triangular root R of the information (inverse covariance) on the
// parameters that are free: RᵀR is the sum of g·gᵀ/sd² over all observations, g
// being their gradients by D, A and f. They join one at a time, each by three plane
// rotations (Givens; Golub and Van Loan, from memory), which keeps as many digits
// as a decomposition of all of them at once. The information itself would lose half
// of them, as D is in ms and A in beats.
type root struct {
	r    [3][3]float64
	free [3]bool    // rows and columns of the others are zero
	mean [3]float64 // of the beliefs; what is not free has this value
	rows int        // observations, and beliefs that are some
}

// sums is what the lags say, as the root needs it: solving R·x = z gives D, A, f.
type sums struct {
	z   [3]float64
	chi float64 // weighted sum of squared residuals
}

// newRoot returns the beliefs of a prior as observations.
func newRoot(prior Prior) (root, sums) {
	var info root
	var s sums
	for i, b := range prior.beliefs() {
		info.mean[i] = b.Mean
		info.free[i] = b.SD != 0
		if b.SD > 0 && !math.IsInf(b.SD, 1) {
			info.r[i][i], s.z[i] = 1/b.SD, b.Mean/b.SD
			info.rows++
		}
	}
	return info, s
}

// entry is how the lag of an observation enters the sums.
type entry struct {
	cos, sin [3]float64
	known    float64 // what the parameters that are known give of the lag, ms
	sd       float64 // ms
}

// join adds an observation to the information; its lag plays no part in that.
func (info *root) join(p Point) entry {
	g := design(p.PeriodMS, float64(p.Setting))
	in := entry{cos: [3]float64{1, 1, 1}, sd: p.SDMS}
	for i := range g {
		if !info.free[i] {
			in.known += g[i] * info.mean[i]
			g[i] = 0
		}
		g[i] /= p.SDMS
	}
	for i := range g {
		if g[i] == 0 {
			continue
		}
		long := math.Hypot(info.r[i][i], g[i])
		cos, sin := info.r[i][i]/long, g[i]/long
		for j := i; j < len(g); j++ {
			info.r[i][j], g[j] = cos*info.r[i][j]+sin*g[j], cos*g[j]-sin*info.r[i][j]
		}
		in.cos[i], in.sin[i] = cos, sin
	}
	info.rows++
	return in
}

// take adds the lag of the observation to sums that hold all before it.
func (in *entry) take(s *sums, lagMS float64) {
	y := (lagMS - in.known) / in.sd
	for i, cos := range in.cos {
		s.z[i], y = cos*s.z[i]+in.sin[i]*y, cos*y-in.sin[i]*s.z[i]
	}
	s.chi += y * y
}

// worstCondition is the condition number of the root with unit columns beyond
// which two parameters count as not told apart.
const worstCondition = 1e9

// inverse returns the inverse of the root; it is not ok where parameters are not
// told apart, or none is free.
func (info *root) inverse() (inv [3][3]float64, ok bool) {
	var scale [3]float64 // unit columns, so that the condition means something
	for j, free := range info.free {
		scale[j] = math.Hypot(math.Hypot(info.r[0][j], info.r[1][j]), info.r[2][j])
		if free && !(info.r[j][j] > 0) {
			return inv, false
		}
	}
	var norm, normInv float64 // the largest sums of a row
	for i := len(inv) - 1; i >= 0; i-- {
		if !info.free[i] {
			continue
		}
		var sum, sumInv float64
		for j := i; j < len(inv); j++ {
			if info.free[j] {
				inv[i][j] = info.inverseAt(i, j, &inv)
				sum += math.Abs(info.r[i][j]) / scale[j]
				sumInv += math.Abs(inv[i][j]) * scale[i]
			}
		}
		norm, normInv = math.Max(norm, sum), math.Max(normInv, sumInv)
	}
	condition := norm * normInv
	return inv, condition > 0 && condition < worstCondition
}

// inverseAt returns the inverse at row i and column j, once the rows below are there.
func (info *root) inverseAt(i, j int, inv *[3][3]float64) float64 {
	var x float64
	if i == j {
		x = 1
	}
	for k := i + 1; k <= j; k++ {
		x -= info.r[i][k] * inv[k][j]
	}
	return x / info.r[i][i]
}

// solve returns D, A and f.
func (info *root) solve(inv *[3][3]float64, s *sums) [3]float64 {
	x := info.mean
	for i, free := range info.free {
		if !free {
			continue
		}
		x[i] = 0
		for j := i; j < len(x); j++ {
			x[i] += inv[i][j] * s.z[j]
		}
	}
	return x
}

// law returns the law with its covariance.
func (info *root) law(inv [3][3]float64, s sums) Law {
	x := info.solve(&inv, &s)
	law := Law{DelayMS: x[0], OffsetBeats: x[1], StepBeats: x[2], ChiSquared: s.chi, DOF: info.dof(), logInfo: info.log()}
	for i := range inv {
		for j := range inv {
			for k := range inv {
				law.Cov[i][j] += inv[i][k] * inv[j][k]
			}
		}
	}
	return law
}

// dof returns the degrees of freedom of chi-squared.
func (info *root) dof() int {
	dof := info.rows
	for _, free := range info.free {
		if free {
			dof--
		}
	}
	return dof
}

// log returns the log-determinant of the information.
func (info *root) log() float64 {
	var log float64
	for i, free := range info.free {
		if free {
			log += 2 * math.Log(info.r[i][i])
		}
	}
	return log
}
