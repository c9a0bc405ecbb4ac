package plan

// Moves returns by how many steps the plate is turned before each song, played in
// this order with the plate at a place before the first: signed steps, positive =
// ahead. Songs are played as settled.
func Moves(songs []Setting, from Place) []int {
	moves := make([]int, len(songs))
	at := from.Setting
	for i, s := range songs {
		moves[i], at = s.Steps-at, s.Steps
	}
	return moves
}
