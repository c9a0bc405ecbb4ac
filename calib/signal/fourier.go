package signal

import (
	"sync"

	"gonum.org/v1/gonum/dsp/fourier"
)

var transforms sync.Map // of *sync.Pool, by size

// transform lends a Fourier transform of a size to use: making one costs half as
// much as using it, and it serves one goroutine at a time.
func transform(size int, use func(*fourier.FFT)) {
	made, _ := transforms.LoadOrStore(size, &sync.Pool{New: func() any { return fourier.NewFFT(size) }})
	pool := made.(*sync.Pool)
	fft := pool.Get().(*fourier.FFT)
	defer pool.Put(fft)
	use(fft)
}
