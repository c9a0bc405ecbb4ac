package main

import (
	"bytes"
	"context"
	bin "encoding/binary"
	"fmt"
	"io"
	"io/fs"
	"path"
	"strings"
)

// recording is one sound of a file that may hold many.
type recording struct {
	name string
	x    []float64
}

// recordingsIn reads the sounds of a file whose names are wanted: one of a file that
// sox knows, all of a bank.
func recordingsIn(ctx context.Context, h *host, file string, wanted func(name string) bool) ([]recording, error) {
	base := strings.TrimSuffix(path.Base(file), path.Ext(file))
	var read func([]byte) ([]banked, error)
	switch path.Ext(file) {
	case ".pat":
		read = func(b []byte) ([]banked, error) { return patch(base, b) }
	case ".sf2":
		read = soundfont
	default:
		if !wanted(base) {
			return nil, nil
		}
		x, err := decoded(ctx, h, nil, "/"+file)
		return []recording{{base, x}}, err
	}
	b, err := fs.ReadFile(h.files, file)
	if err != nil {
		return nil, err
	}
	all, err := read(b)
	if err != nil {
		return nil, fmt.Errorf("/%s: %w", file, err)
	}
	var found []recording
	for _, s := range all {
		if !wanted(s.name) {
			continue
		}
		x, err := decoded(ctx, h, bytes.NewReader(s.data), "-t", "s16", "-L", "-c", "1", "-r", fmt.Sprint(s.rate), "-")
		if err != nil {
			return nil, err
		}
		found = append(found, recording{s.name, x})
	}
	return found, nil
}

// decoded reads the first channel of what sox is told to read.
func decoded(ctx context.Context, h *host, in io.Reader, from ...string) ([]float64, error) {
	var out bytes.Buffer
	args := append(append([]string{"sox"}, from...), "-t", "f32", "-L", "-r", fmt.Sprint(layRate), "-", "remix", "1")
	if err := h.runner.run(ctx, command{args: args, stdin: in, stdout: &out}); err != nil {
		return nil, fmt.Errorf("sox cannot read %s: %w", strings.Join(from, " "), err)
	}
	raw := make([]float32, out.Len()/4)
	if err := bin.Read(&out, bin.LittleEndian, raw); err != nil {
		return nil, err
	}
	x := make([]float64, len(raw))
	for i, v := range raw {
		x[i] = float64(v)
	}
	return x, nil
}

// banked is a sound as a bank holds it: 16 bits a sample, little-endian.
type banked struct {
	name string
	rate int
	data []byte
}

// patch reads the samples of a patch file ("Gravis UltraSound Low-Level Toolkit",
// 1994, appendix on patch files): headers of 239 bytes together, then for each sample
// 96 bytes and its data.
func patch(name string, b []byte) ([]banked, error) {
	const header, head, sixteen, unsigned = 239, 96, 1, 2
	if len(b) < header || !bytes.HasPrefix(b, []byte("GF1PATCH110")) {
		return nil, fmt.Errorf("this is no patch file")
	}
	var found []banked
	for i, at := 0, header; i < int(b[198]) && at+head <= len(b); i++ {
		size, rate, mode := int(bin.LittleEndian.Uint32(b[at+8:])), int(bin.LittleEndian.Uint16(b[at+20:])), b[at+55]
		from := at + head
		at = min(from+size, len(b))
		if mode&sixteen == 0 || rate == 0 {
			continue
		}
		data := bytes.Clone(b[from:at])
		for k := 1; k < len(data) && mode&unsigned != 0; k += 2 {
			data[k] ^= 0x80
		}
		found = append(found, banked{fmt.Sprintf("%s %c", name, rune('a'+i)), rate, data})
	}
	return found, nil
}

// soundfont reads the samples of a bank (SoundFont Technical Specification 2.04, E-mu
// Systems 2006, sections 6 and 7.10): all lie in its smpl chunk, and shdr has 46 bytes
// on each.
func soundfont(b []byte) ([]banked, error) {
	chunk := func(id string) []byte {
		i := bytes.Index(b, []byte(id))
		if i < 0 || i+8 > len(b) {
			return nil
		}
		return b[i+8:][:min(int(bin.LittleEndian.Uint32(b[i+4:])), len(b)-i-8)]
	}
	const each = 46
	samples, heads := chunk("smpl"), chunk("shdr")
	if samples == nil || heads == nil {
		return nil, fmt.Errorf("this is no bank of sounds")
	}
	var found []banked
	for ; len(heads) >= each; heads = heads[each:] {
		name, _, _ := bytes.Cut(heads[:20], []byte{0})
		from, to, rate := bin.LittleEndian.Uint32(heads[20:]), bin.LittleEndian.Uint32(heads[24:]), bin.LittleEndian.Uint32(heads[36:])
		if from < to && 2*int(to) <= len(samples) && rate > 0 {
			found = append(found, banked{string(name), int(rate), samples[2*from : 2*to]})
		}
	}
	return found, nil
}
