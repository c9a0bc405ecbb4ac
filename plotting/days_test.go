package plotting

import (
	"bytes"
	"os"
	"strings"
	"testing"
	"time"

	"lagwright/calib/loop"
	"lagwright/calib/machine"
	"lagwright/internal/must"
)

// someDays are four days of a drum and two of a bar, with a changed gate between.
func someDays() Days {
	at := func(month time.Month, day int) time.Time { return time.Date(2026, month, day, 12, 0, 0, 0, time.UTC) }
	one := func(voice string, by float64) loop.Change {
		return loop.Change{Voice: voice, ByMS: by, HalfMS: 1.2, TempoBPM: 96}
	}
	return Days{Title: "Barn machine", TempoBPM: 96, ToleranceMS: 5, Days: []loop.Day{
		{At: at(time.March, 1), Voices: []loop.Change{one("drum", 0)}, Air: &machine.Conditions{TemperatureC: new(4.0), HumidityPercent: 80}},
		{At: at(time.March, 2), Voices: []loop.Change{one("drum", 0.4), one("bar", 0)}},
		{At: at(time.May, 3), Voices: []loop.Change{one("drum", 2.1), one("bar", 0.2)}, Air: &machine.Conditions{TemperatureC: new(19.0)}},
		{At: at(time.August, 9), Voices: []loop.Change{one("drum", -9.3), one("bar", 0.1)}, Work: []machine.LogEntry{{At: at(time.July, 1), Part: machine.Gate, Voices: []string{"drum"}, Words: "new spring steel"}}},
	}}
}

func TestDaysFigure(t *testing.T) {
	f := someDays().Figure(A5)
	if n := f.Pages(); n != 2 {
		t.Errorf("%d pages for two voices", n)
	}
	if dir := os.Getenv("LAGWRIGHT_FIGURES"); dir != "" {
		must.Do(t, f.Save(dir+"/days.png"))
	}
	var csv, svg bytes.Buffer
	must.Do(t, f.WriteTo(&csv, "csv"))
	if rows := strings.Count(csv.String(), "\n"); rows != 8 || !strings.Contains(csv.String(), "2026-08-09,drum,-9.30,-10.50,-8.10,,") || !strings.Contains(csv.String(), ",4.0,80\r\n") {
		t.Errorf("%d rows:\n%s", rows, csv.String())
	}
	must.Do(t, f.WriteTo(&svg, "svg"))
	for _, words := range []string{"gate: new spring steel", "1 Mar 26", "19 °C", "between the dashes ± 5.0 ms"} {
		if !strings.Contains(svg.String(), words) {
			t.Errorf("the figure does not say %q", words)
		}
	}
	if empty := (Days{}).Figure(A5); empty.Pages() != 1 {
		t.Errorf("without takes: %d pages", empty.Pages())
	}
}
