package main

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"maps"
	"math"
	"os"
	"path/filepath"
	"slices"

	"lagwright/calib/atomicfile"
	"lagwright/calib/practice"
	"lagwright/calib/signal"
	"lagwright/plotting"
)

// hardTake is a take that shows what measuring is up against.
type hardTake struct {
	trap       string
	seed       uint64
	fromS, toS float64 // what is shown from near
}

var hardTakes = []hardTake{
	{"clatter", 5, 10.7, 13.7},
	{"loud-shop", 4, 8.2, 11.2},
	{"converged", 6, 5.8, 6.0},
}

// writePictures measures the hard takes and writes a picture of each into a
// folder.
func writePictures(ctx context.Context, h *host, dir string) error {
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return err
	}
	for _, hard := range hardTakes {
		figure, err := hard.figure(ctx)
		if err != nil {
			return fmt.Errorf("drawing %s with seed %d: %w", hard.trap, hard.seed, err)
		}
		path := filepath.Join(dir, "hard-"+hard.trap+".png")
		if err := writeSmall(path, figure); err != nil {
			return err
		}
		h.say("%s", path)
	}
	return nil
}

func (hard hardTake) figure(ctx context.Context) (*plotting.Figure, error) {
	traps, err := chosenTraps(hard.trap)
	if err != nil {
		return nil, err
	}
	m, p := traps[0].Make(hard.seed)
	rec, truth := m.Play(p)
	r, err := signal.Measure(ctx, rec, signal.Options{PerBeat: p.PerBeat})
	if err != nil {
		return nil, err
	}
	lag := truth.Heard().MeanLagMS
	return plotting.Picture{
		Title:          fmt.Sprintf("%s, seed %d: %.2f ms from the true lag", hard.trap, hard.seed, math.Abs(r.LagMS+wholeBeatsMS(r, lag)-lag)),
		Whole:          stretchOf(rec, 0, float64(rec.Frames())/rec.Rate()),
		Near:           stretchOf(rec, hard.fromS, hard.toS),
		ReferenceHitsS: r.ReferenceHitsS,
		Pairs:          r.Pairs,
	}.Figure(plotting.Light())
}

// writeSmall writes a figure as a picture for a page on screen.
func writeSmall(path string, f *plotting.Figure) error {
	data, err := small(f, nil)
	if err != nil {
		return err
	}
	return atomicfile.Write(path, atomicfile.Bytes(data))
}

// small returns a figure as a PNG for a page on screen, in few colours so that it
// is small. It hands on the error that drawing the figure gave.
func small(f *plotting.Figure, err error) ([]byte, error) {
	if err != nil {
		return nil, err
	}
	const width, height, scale = 1240, 694, 1.75
	drawn := f.Image(width, height, scale)
	few := image.NewPaletted(drawn.Bounds(), commonest(drawn, 64))
	draw.Draw(few, few.Bounds(), drawn, image.Point{}, draw.Src)
	var b bytes.Buffer
	err = (&png.Encoder{CompressionLevel: png.BestCompression}).Encode(&b, few)
	return b.Bytes(), err
}

// commonest returns the colours that most pixels have, at most so many; close
// shades count as one.
func commonest(m image.Image, most int) color.Palette {
	count := map[color.RGBA]int{}
	b := m.Bounds()
	for y := b.Min.Y; y < b.Max.Y; y++ {
		for x := b.Min.X; x < b.Max.X; x++ {
			r, g, b, _ := m.At(x, y).RGBA()
			near := func(v uint32) uint8 { return uint8(min(v>>8+2, 255)) &^ 3 }
			c := color.RGBA{near(r), near(g), near(b), 255}
			if c == (color.RGBA{252, 252, 252, 255}) {
				c = color.RGBA{255, 255, 255, 255} // paper stays white
			}
			count[c]++
		}
	}
	colours := slices.SortedFunc(maps.Keys(count), func(a, b color.RGBA) int {
		return cmp.Or(count[b]-count[a], cmp.Compare(a.R, b.R), cmp.Compare(a.G, b.G), cmp.Compare(a.B, b.B))
	})
	var p color.Palette
	for _, c := range colours[:min(len(colours), most)] {
		p = append(p, c)
	}
	return p
}

// columnsAcross is how many columns a picture is drawn with.
const columnsAcross = 1400

// stretchOf reads a stretch of a practice take as columns.
func stretchOf(rec *practice.Recording, fromS, toS float64) plotting.Stretch {
	first := int64(fromS * rec.Rate())
	n := min(int64(toS*rec.Rate()), rec.Frames()) - first
	s := plotting.Stretch{FromS: fromS, ToS: fromS + float64(n)/rec.Rate()}
	for channel, into := range map[int]*[]plotting.Column{1: &s.Reference, 2: &s.Voice} {
		x := make([]float32, n)
		rec.ReadAt(x, channel, first) // in memory, and cut to its length: it cannot fail
		for i := range int64(columnsAcross) {
			var c plotting.Column
			for _, v := range x[i*n/columnsAcross : (i+1)*n/columnsAcross] {
				c = plotting.Column{Min: min(c.Min, v), Max: max(c.Max, v)}
			}
			*into = append(*into, c)
		}
	}
	return s
}
