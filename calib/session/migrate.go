package session

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"

	"lagwright/calib/atomicfile"
	"lagwright/calib/i18n"
)

// steps bring session.json from one version to the next: the first from 1 to 2, and
// so on. Each changes the fields of the outermost object. There has been one version
// so far; a change that an earlier Lagwright would read wrongly makes a second.
var steps []func(top map[string]json.RawMessage) error

// version is that of what is written now.
func version() int { return 1 + len(steps) }

// versionOf returns the version of a session.json that could be read.
func versionOf(data []byte) int {
	var header struct {
		Version int `json:"version"`
	}
	json.Unmarshal(data, &header)
	return header.Version
}

// migrate brings session.json from an earlier version to this one, in memory.
func migrate(data []byte, from int) ([]byte, error) {
	var top map[string]json.RawMessage
	if err := json.Unmarshal(data, &top); err != nil {
		return nil, err
	}
	for v := from; v < version(); v++ {
		if err := steps[v-1](top); err != nil {
			return nil, i18n.Errorf("it could not be brought from version %d to %d: %w", v, v+1, err)
		}
	}
	top["version"] = json.RawMessage(fmt.Sprint(version()))
	return json.Marshal(top)
}

// keepOriginal keeps a session.json of an earlier version beside that of this one,
// before the first save in its place.
func (f *Folder) keepOriginal() error {
	v := versionOf(f.saved)
	if v >= version() {
		return nil
	}
	name := fmt.Sprintf("session.version-%d.json", v)
	for n := 2; exists(f.dir, name); n++ {
		if kept, err := os.ReadFile(filepath.Join(f.dir, name)); err == nil && bytes.Equal(kept, f.saved) {
			return nil // by a save that failed then
		}
		name = fmt.Sprintf("session.version-%d-%d.json", v, n)
	}
	if err := atomicfile.Write(filepath.Join(f.dir, name), atomicfile.Bytes(f.saved)); err != nil {
		return saveError(f.dir, err)
	}
	return nil
}
