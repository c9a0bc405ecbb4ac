package session

// Recall lets change work on the session in memory alone, and keeps what it says
// with the next save: for what follows from the rest, and would not be worth one.
func (f *Folder) Recall(change func(*Session)) {
	f.mu.Lock()
	defer f.mu.Unlock()
	s := f.current.clone()
	change(&s)
	f.current = s
}
