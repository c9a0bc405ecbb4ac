package calib

// Material is what a ball may be made of.
type Material struct {
	Name    string
	KGPerM3 float64 // density
}

// Materials are the usual ones for shot, with round densities: those of steel and
// glass as for Shot, the others from handbooks (from memory). For the air's drag a
// tenth more or less is no matter.
var Materials = []Material{
	{"steel", 7800}, {"lead", 11340}, {"brass", 8500}, {"glass", 2500}, {"wood", 700}, {"plastic", 1200},
}
