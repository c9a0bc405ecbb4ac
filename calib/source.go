package calib

// Source is a recording that can be read anywhere. Channels and full scale are as
// everywhere: channels count from 1, frames from 0, full scale is ±1.
type Source interface {
	Rate() float64 // frames per second in Hz
	Channels() int
	Frames() int64 // samples a channel
	// ReadAt fills dst with samples of a channel from a frame on. Like io.ReaderAt it
	// returns io.EOF when it reads fewer than len(dst), and several goroutines may call
	// it at once.
	ReadAt(dst []float32, channel int, frame int64) (int, error)
}
