// Package must ends a test at an error that nobody expects. Tests only.
package must

// Test is what of a testing.TB, or of a rapid.T, it needs.
type Test interface {
	Helper()
	Fatal(...any)
}

// Do fails the test at once where there is an error.
func Do(t Test, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// Get returns what a call gave, or fails the test at once where it gave an error.
func Get[T any](v T, err error) func(Test) T {
	return func(t Test) T {
		t.Helper()
		Do(t, err)
		return v
	}
}
