package plan

import "lagwright/calib/i18n"

// Ahead returns by how many steps the plate stood further ahead at a take than told.
func (m Machine) Ahead(take int) (steps int) {
	for f := m.ways[0].faults; f != nil; f = f.before {
		if f.take <= take {
			steps += f.steps
		}
	}
	return steps
}

// AheadNow is Ahead of the last take.
func (m Machine) AheadNow() int { return m.ways[0].offset }

// Fits reports whether a take's reading of a voice counts.
func (m Machine) Fits(take, voice int) bool { return !m.ways[0].bad(take, voice) }

// ErrUndetermined: the takes leave a combination of delay, offset and step open.
var ErrUndetermined = i18n.Fixed(i18n.Say("the readings cannot tell step size and delay apart: record a take at another setting, and one at another tempo"))
