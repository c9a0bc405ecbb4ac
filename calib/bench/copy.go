package bench

import (
	"context"
	"io"
	"math"
	"os"

	"lagwright/calib/atomicfile"
	"lagwright/calib/i18n"
)

// part maps the progress of one part of a job onto that of the whole.
func part(progress func(float64), from, to float64) func(float64) {
	if progress == nil {
		return nil
	}
	return func(x float64) { progress(from + (to-from)*math.Min(math.Max(x, 0), 1)) }
}

// copyFile copies from onto to, which holds all of it or is not there.
func copyFile(ctx context.Context, to, from string, progress func(float64)) error {
	in, err := os.Open(from)
	if err != nil {
		return i18n.Errorf("%s cannot be opened: %w", from, err)
	}
	defer in.Close()
	info, err := in.Stat()
	if err != nil {
		return i18n.Errorf("%s cannot be read: %w", from, err)
	}
	err = atomicfile.Write(to, func(w io.WriteSeeker) error {
		for done := int64(0); ; {
			if err := ctx.Err(); err != nil {
				return err
			}
			n, err := io.CopyN(w, in, 1<<20)
			if done += n; progress != nil {
				progress(float64(done) / float64(info.Size()))
			}
			if err == io.EOF {
				return nil
			}
			if err != nil {
				return err
			}
		}
	})
	if err != nil {
		return i18n.Errorf("%s cannot be copied into the session (check that the disk has room): %w", from, err)
	}
	return nil
}
