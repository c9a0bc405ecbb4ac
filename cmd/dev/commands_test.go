package main

import (
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// Every command that README and DEVELOPERS show is known here, with what holds it:
// tests by name, or "by hand" with what was looked at. A command that is not known
// fails, so that none is shown that nobody ever ran.
var held = map[string]string{
	"go run ./cmd/dev run":                          "TestRunPicksWindowOrDemo",
	"go run ./cmd/dev test":                         "TestTestEndsWithItsSummary",
	"go run ./cmd/dev test ./calib/...":             "TestTestHandsOnArguments",
	"go run ./cmd/dev study":                        "TestPlanBeatsTheRule",
	"go run ./cmd/dev study -seed 31337":            "TestStudyIsTheSameEachTime",
	"go run ./cmd/dev study -stress":                "TestStudyPlaysTheLaw",
	"go run ./cmd/dev study -anywhere":              "TestStudyFromAnywhere",
	"go run ./cmd/dev documents":                    "TestDocumentsAreMade",
	"go run ./cmd/dev shots DIR":                    "TestShotsFlags",
	"go run ./cmd/dev shots -text 200 DIR":          "TestShotsFlags",
	"go run ./cmd/dev faults":                       "TestFaultsTableAndFigures",
	"go run ./cmd/dev faults -seed 7":               "TestFaultsTableAndFigures",
	"go run ./cmd/dev faults -long":                 "TestFaultsTableAndFigures",
	"go run ./cmd/dev accuracy":                     "TestAccuracyMeasuresFiveHundredTakes",
	"go run ./cmd/dev accuracy -trap clunk -v":      "TestAccuracyIsTheSameEachTime",
	"go run ./cmd/dev accuracy -pictures DIR":       "TestDocumentsAreMade", // the same drawing
	"go run ./cmd/dev accuracy -trap NAME -n 12 -v": "TestAccuracyIsTheSameEachTime",
	"go test ./ui -run EverythingHasRoom":           "TestEverythingHasRoom",
	"go run ./cmd/dev bench":                        "TestBenchEndsWithItsFigures",

	"CGO_ENABLED=0 go test ./calib/... ./plotting ./ui/...":                                     "TestQuickTestsNeedNoC",
	"go build ./cmd/lagwright":                                                                  "TestWindowPlaysTheLoop",
	"go test ./plotting -regen":                                                                 "by hand: it leaves the golden images as they are",
	"LOOK_AT=/tmp/x go test -run Pictures ./ui/trace ./ui/dial ./ui/fan":                        "TestPictures",
	"Xvfb :9 -screen 0 1280x800x24 &":                                                           "TestWindowPlaysTheLoop",
	"DISPLAY=:9 import -window root shot.png":                                                   "TestWindowPlaysTheLoop",
	"DISPLAY=:9 FYNE_PLATFORM=x11 FYNE_SCALE=1 LANG=C.UTF-8 go run ./cmd/lagwright -practice &": "TestWindowPlaysTheLoop",

	"lagwright measure [-json] [-reference N] [-voice N] [-every N] [-per-beat N] FILE...":                                   "TestReadmeUsage",
	"lagwright record [-device NAME|N] [-rate HZ] [-channels N] [-seconds S] [-reference N] [-voice N] [-measure] [-o FILE]": "TestReadmeUsage",
	"lagwright record -list [-json]":                                                   "TestReadmeUsage",
	"lagwright demo [-out DIR] [-seed N]":                                              "TestReadmeUsage",
	"lagwright curve [-paper A5|A4|Letter] SESSION [-o FILE]":                          "TestReadmeUsage",
	"lagwright card [-paper A5|A4|Letter] SESSION [-o FILE]":                           "TestReadmeUsage",
	"lagwright report [-take N] [-voice NAME] [-paper A5|A4|Letter] SESSION [-o FILE]": "TestReadmeUsage",
	"lagwright readings SESSION [-o FILE]":                                             "TestReadmeUsage",
	"lagwright version":                                                                "TestReadmeUsage",
	"lagwright manual":                                                                 "TestReadmeUsage",
	"lagwright completions bash|zsh|fish":                                              "TestReadmeUsage",
	"lagwright completions bash":                                                       "TestBashCompletes",
	"lagwright measure take-001.wav":                                                   "TestReadmeExample",
}

// Those of releases, and some more.
func init() {
	maps.Copy(held, map[string]string{
		"go run ./cmd/dev release":                                 "TestReleaseIsOfOneCommit",
		"go run ./cmd/dev release -try":                            "by hand: it needs root and a mirror of Debian; the picture it leaves was looked at",
		"go run ./cmd/dev release -once -o DIR":                    "TestReleaseAsks",
		"go run ./cmd/dev soak":                                    "TestSoakSaysItsFigures",
		"go run ./cmd/dev soak -loops 1000":                        "TestSoakSaysItsFigures",
		"go mod tidy -diff":                                        "TestModulesAreTidy",
		"go run ./cmd/dev fuzz":                                    "TestFuzzSaysHowEachTargetFared",
		"go test ./ui -run TestCatalogues -skeleton FILE":          "TestCatalogues",
		"go mod verify":                                            "TestModulesAreTidy",
		"sudo apt install ./lagwright_VERSION_amd64.deb":           "by hand: release -try does it",
		"sha256sum -c SHA256SUMS":                                  "TestSumsOfARelease",
		"kill -ABRT":                                               "TestLogOfTheWindow",
		"codesign --options runtime --timestamp":                   "by hand: not tried by us, as the page says",
		"xcrun notarytool submit --wait":                           "by hand: not tried by us, as the page says",
		"xcrun stapler staple":                                     "by hand: not tried by us, as the page says",
		"signtool sign /fd SHA256 /tr TIMESTAMP-SERVER /td SHA256": "by hand: not tried by us, as the page says",
		"tar -xzf lagwright-VERSION-linux-amd64.tar.gz":            "TestTarball",
		"cp -r lagwright-VERSION-linux-amd64/bin lagwright-VERSION-linux-amd64/share ~/.local/":                                                               "TestTarball",
		"go run golang.org/x/vuln/cmd/govulncheck@latest ./...":                                                                                               "by hand: it starts, and its database was out of reach",
		`go build -trimpath -buildvcs=false -tags=release,migrated_fynedo -ldflags="-s -w -X main.version=0.1.0 -X main.released=2026-11-26" ./cmd/lagwright`: "by hand: on Linux only",
	})
}

// runnable begin a command; plans begin a block of a page that is none.
var (
	runnable = []string{"go", "lagwright", "git", "Xvfb", "import", "xdotool", "sudo", "apt-get", "cd", "export", "tar", "cp", "mv", "chmod",
		"sha256sum", "kill", "codesign", "xcrun", "signtool", "debootstrap", "dpkg", "lintian", "sox"}
	plans = []string{"cmd/lagwright ", "samples → hits", "lag = D + A·P", "device's thread", "plan.Hear(voice"}
)

func TestCommandsOfThePages(t *testing.T) {
	shown := map[string]string{}
	for _, page := range []string{"README.md", "DEVELOPERS.md"} {
		text, err := os.ReadFile(filepath.Join(houseRoot(t), page))
		if err != nil {
			t.Fatal(err)
		}
		commands, strange := commandsOf(string(text))
		for _, c := range commands {
			shown[c] = page
		}
		for _, line := range strange {
			t.Errorf("%s: %q is neither a command nor one of the plans: what is it?", page, line)
		}
	}
	tests := testsOfTheHouse(t)
	for _, command := range slices.Sorted(maps.Keys(shown)) {
		by, known := held[command]
		switch {
		case !known:
			t.Errorf("%s shows %q, which nothing holds: run it, test it, and name the test here", shown[command], command)
		case !strings.HasPrefix(by, "by hand: ") && !tests[by]:
			t.Errorf("%q is said to be held by %s, which is no test", command, by)
		}
	}
	for command := range held {
		if shown[command] == "" {
			t.Errorf("no page shows %q any more: take it out here", command)
		}
	}
}

var ticked = regexp.MustCompile("`([^`\n]+)`")

// commandsOf returns the commands that a page shows, in blocks and within lines,
// and the beginnings of blocks that are neither commands nor plans.
func commandsOf(page string) (commands, strange []string) {
	for _, block := range blocksOf(page) {
		if slices.ContainsFunc(plans, func(p string) bool { return strings.HasPrefix(block[0], p) }) {
			continue
		}
		output := false
		for _, line := range block {
			c := commandIn(line)
			if c == "" && !output {
				strange = append(strange, line)
			}
			if c != "" {
				commands, output = append(commands, c), strings.HasPrefix(line, "$ ")
			}
		}
	}
	for _, m := range ticked.FindAllStringSubmatch(page, -1) {
		if c := commandIn(m[1]); strings.Contains(c, " ") {
			commands = append(commands, c)
		}
	}
	return commands, strange
}

// blocksOf returns the blocks of a page, indented or fenced, as lines.
func blocksOf(page string) (blocks [][]string) {
	var block []string
	fenced, before := false, ""
	for line := range strings.Lines(page + "\n\n") {
		line = strings.TrimRight(line, "\n")
		fence := strings.HasPrefix(line, "```")
		inside := fenced && !fence || !fenced && strings.HasPrefix(line, "    ") && (block != nil || before == "")
		switch {
		case inside && strings.TrimSpace(line) != "":
			block = append(block, strings.TrimPrefix(line, "    "))
		case block != nil && !fenced || fence:
			if block != nil {
				blocks = append(blocks, block)
			}
			block = nil
		}
		if fence {
			fenced = !fenced
		}
		before = line
	}
	return blocks
}

var (
	aside  = regexp.MustCompile(`(  +|\s+#).*$`) // what a line says of its command
	setsIt = regexp.MustCompile(`^[A-Z_]+=\S+$`)
)

// commandIn returns the command in a line, without what is said of it; "" where
// there is none.
func commandIn(line string) string {
	c := aside.ReplaceAllString(strings.TrimPrefix(line, "$ "), "")
	words := strings.Fields(c)
	for len(words) > 0 && setsIt.MatchString(words[0]) {
		words = words[1:]
	}
	if len(words) == 0 || !slices.Contains(runnable, words[0]) {
		return ""
	}
	return c
}

func TestCommandsOf(t *testing.T) {
	const page = "Words `go vet ./x` and `lagwright`.\n\n    go run ./a -b   # says what\n    $ lagwright measure f\n    f: 3 ms late\n\n- a list\n    goes on\n\n```\nX=1 go test ./y\n\nmake all\n```\n\n    samples → hits → pairs\n    (take)\n\n    rm it\n"
	commands, strange := commandsOf(page)
	if want := []string{"go run ./a -b", "lagwright measure f", "X=1 go test ./y", "go vet ./x"}; !slices.Equal(commands, want) {
		t.Errorf("%q, want %q", commands, want)
	}
	if want := []string{"make all", "rm it"}; !slices.Equal(strange, want) {
		t.Errorf("strange %q, want %q", strange, want)
	}
}

var declared = regexp.MustCompile(`(?m)^func ((?:Test|Fuzz)\w+)\(`)

// testsOfTheHouse returns the names of all tests.
func testsOfTheHouse(t *testing.T) map[string]bool {
	t.Helper()
	names := map[string]bool{}
	err := filepath.WalkDir(houseRoot(t), func(path string, d os.DirEntry, err error) error {
		if err != nil || !strings.HasSuffix(path, "_test.go") {
			return err
		}
		source, err := os.ReadFile(path)
		for _, m := range declared.FindAllStringSubmatch(string(source), -1) {
			names[m[1]] = true
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return names
}

// The verbs of cmd/dev that the pages show are there and take what is shown.
func TestVerbsOfThePages(t *testing.T) {
	takes := map[string]func([]string) error{
		"accuracy": func(a []string) error { _, err := parseAccuracy(a); return err },
		"bench":    func(a []string) error { _, err := parseBench(a); return err },
		"faults":   func(a []string) error { _, err := parseFaults(a); return err },
		"fuzz":     func(a []string) error { _, err := parseFuzz(a); return err },
		"study":    func(a []string) error { _, err := parseStudy(a); return err },
	}
	for command := range held {
		args, ours := strings.CutPrefix(command, "go run ./cmd/dev ")
		if !ours {
			continue
		}
		words := strings.Fields(args)
		if !slices.ContainsFunc(verbs, func(v verb) bool { return v.name == words[0] }) {
			t.Errorf("%q: there is no such verb", command)
		}
		if parse := takes[words[0]]; parse != nil {
			if err := parse(words[1:]); err != nil {
				t.Errorf("%q: %v", command, err)
			}
		}
	}
}

// TestQuickTestsNeedNoC: what the pages call quick is all there without C; go list
// fails on a package none of whose files is left.
func TestQuickTestsNeedNoC(t *testing.T) {
	rooms := goList(t, []string{"CGO_ENABLED=0"}, "-deps", "-test", "./calib/...", "./plotting", "./ui/...")
	for _, r := range rooms {
		if len(r.CgoFiles) > 0 {
			t.Errorf("%s still has C in it", r.ImportPath)
		}
	}
	if len(rooms) < 100 {
		t.Errorf("only %d packages", len(rooms))
	}
}
