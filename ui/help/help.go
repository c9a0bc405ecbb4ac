// Package help says how the loop works, the words and the cautions.
package help

import (
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/i18n"
	"lagwright/ui/desk"
	"lagwright/ui/lesson"
)

// Text is what Help > How it works says, in the toolkit's Markdown: a phrase a
// paragraph, or an item of a list.
func Text() string {
	return strings.Join([]string{
		"## " + i18n.L("The loop"),
		"1. " + i18n.L("**Play a take.** One contact microphone on something locked to the crank (the **reference**), one on the **voice**; both into one recording, reference on channel 1, voice on channel 2. Eight strikes or more at the song's tempo."),
		"2. " + i18n.L("**Read.** The mirror trace shows both, with a pin on every hit and a bracket over every **lag**. The fan lays all hits over each other: late to the right, early to the left."),
		"3. " + i18n.L("**Turn** the plate as the window says, and tell it what you really did."),
		"4. " + i18n.L("**Take it again.** Tight means the lag with its 95 % interval lies within half a step or the tolerance, whichever is larger."),
		"",
		i18n.L("Before the first move of a session Lagwright asks you to agree to the caution; it stays in sight before every other one."),
		"",
		"## " + i18n.L("Hands on the crank"),
		i18n.L("**Record > Microphones…** chooses the recording device, and which of its channels hears the reference and which a voice. All channels come from one device, for two have two clocks that drift apart, which would read as lag. Each ball should roll between the two posts when you play. **Find them by tapping** asks you to tap each microphone; the **zero check** finds by a few knocks, the microphones lying side by side, by how much one channel hears later, and takes that off every lag."),
		"",
		i18n.L("**Record a take**, or the space bar, enter, or a foot switch that acts as one of them, arms. From then on the machine leads: it waits for the crank, says whether you are too slow or too fast, counts the hits that are good, and stops by itself once it is sure enough. Then stop the crank, and look or listen. The same key stops it sooner. What goes wrong with a cable is said while you play, with a picture of the moment. The sound is on the disk as it comes: after a crash the next start offers the take."),
		"",
		i18n.L("**Record > Tones and guide click…** lets you hear each tone and what it means. The guide click is off unless you ask for it; use headphones, or the microphones hear it too."),
		"",
		i18n.L("To try all of it without a machine, press the space bar with the simulated one."),
		"",
		i18n.L("**Listen** plays the take in sight, the reference on the left, the voice on the right; round one hit, at half or a quarter of the speed, and against the first take at this tempo by the key **B**. It starts quiet."),
		"",
		"## " + i18n.L("How near is near enough?"),
		i18n.L("The tolerance is 5 ms unless you choose another. What is known of the ear:"),
		"- " + i18n.L("In an even row of tones, one that is out of place is noticed from about **6 ms** on, or 2.5 % of the time from tone to tone where that is more than 240 ms (Friberg and Sundberg 1995, J. Acoust. Soc. Am. 98:2524; their report of 1992, by another definition, gives about 10 ms and 5 %)."),
		"- " + i18n.L("Two short sounds are heard as two from 2 to 3 ms apart; which came first is told from about **20 ms** on (Hirsh 1959, J. Acoust. Soc. Am. 31:759, as quoted by Watson 2004)."),
		"",
		i18n.L("So a voice within 5 ms is nearer than the ear asks for; where half a step is more than that, the plate cannot do better."),
		"",
		"## " + i18n.L("From one tempo to the next"),
		i18n.L("After the first tempo the **law** says where to turn for the next one before you play, and how sure it is; two tempos make it sure."),
		"",
		i18n.L("When a take went wrong, leave it out: Take > Leave this take out."),
		"",
		i18n.L("**Take > Save a report…** puts the take in sight on one page to keep or to show; **Session > Save all readings…** makes a table of all takes; **Copy** in both menus takes pictures and words to other programs."),
		"",
		"## " + i18n.L("Several voices in one take"),
		i18n.L("With a microphone on each voice, record all of them into one file. Opening it asks which channel is which and remembers it for the next. The take then tells of every voice: choose above the trace which one is in sight, and **Aim at it** to tune that one, without another take. They all hang on one plate: where no setting suits all, the set list says so."),
		"",
		"## " + i18n.L("The set list"),
		i18n.L("**Set list > Show the set list** takes all songs and all takes together. Type over a name or a tempo, or import the list from a spreadsheet as CSV with the columns song, tempo_bpm, voices and importance. Each song gets its setting, the move from the song before, the **tempo window** in which it stays tight there, what lag to expect, and whether that is sure. Below the list stands the take that tells most; when no song needs another, it says so."),
		"",
		"## " + i18n.L("What looks wrong"),
		i18n.L("Where the takes show a mistake, such as a miscounted step, it is said below the loop or in the set list, with its odds. **What the takes show…** lists all of them. Agree by the button beside one, such as *It was turned 5 ahead*, and the move is corrected, with all settings after it. Nothing is changed before, and Undo takes it back. If you know better yourself, **Take > Correct this take…** says where the plate stood at a take, what it was played for and which voices it heard."),
		"",
		"## " + i18n.L("The machine"),
		i18n.L("**Session > The machine…** changes names, plate, tolerance and voices. Enter how high each voice's drop is, what falls, the beats in a turn of the wheel and the radius of the circle of pins, as far as you know them: where no setting brings a song's voices together, the set list then says in mm what to change. Agreed to **end every move ahead**, a plate with play always takes it up on the same side."),
		"",
		"## " + i18n.L("Sessions"),
		i18n.L("Each session is a folder with its takes. The list you begin with shows how far each has come; type to search, arrows and Enter open, the menu key or the three dots have more. **Session > This session** renames, duplicates, keeps notes, and exports session and takes as **one zip**, which **Session > Import a zip…** brings back as a new session. **Undo and Redo** in the Change menu name what they take back or make again: any change of hits, moves, songs, words or the machine since the session was opened."),
		"",
		"## " + i18n.L("In the trace"),
		i18n.L("Wheel, + and – zoom; drag or arrows move; Home and End go to the ends; 0 shows the whole take; N and P, or Page Down and Page Up, go from pair to pair; a double click shows one pair from near."),
		"",
		"## " + i18n.L("Hits by hand"),
		i18n.L("Click near a pin to select that hit; R and V select the reference and the voice hit of the selected pair, H and Shift H go from hit to hit. **Delete** strikes the selected hit out, or puts it back. **Comma and full stop** move it by 0.1 ms, with Shift by 1 ms; zoomed in to less than 2 seconds you can drag it. Click beside the pins to set the cursor, in the reference's half or the voice's; **Insert** adds a hit there. Reading and advice follow at once. What was found is kept."),
		"",
		i18n.L("Where the gate's clunk was taken for the strike, or a rebound, **Change > Use the other sound** takes the sound that comes with most strikes at one distance instead; the command says which. The same command goes back."),
		"",
		i18n.L("A ring marks the selected hit, a hollow crossed pin one that was struck out, a small square one that you added or moved."),
		"",
		"## " + i18n.L("Text, theme and keys"),
		i18n.L("**Session > Preferences…** (Ctrl and comma) has theme, text size, mm or inches, tones, hints, the tolerance of new sessions and where sessions live. Every command is in a menu with its key beside it. Tab goes from part to part; Escape takes a dialog away, and so does Ctrl+W; F1 shows this. Where the window is divided, it stays so the next time."),
		"",
		"## " + i18n.L("Cautions"),
		"- " + i18n.L("A crank with a flywheel is stored energy. **Stop the crank, wait until everything is at rest, only then reach in.**"),
		"- " + i18n.L("Guards (ISO 14120, ISO 13857) and lockout (29 CFR 1910.147) are good practice; local codes and licensed practice come first."),
		"- " + i18n.L("Wear eye protection near shot, and ear protection near loud voices."),
		"- " + i18n.L("Start headphones quiet."),
		"",
	}, "\n")
}

// Show shows how the loop works, the words and the cautions.
func Show(d *desk.Desk) {
	if !d.Free() {
		return
	}
	body := widget.NewRichTextFromMarkdown(Text())
	body.Wrapping = fyne.TextWrapWord
	scroll := container.NewVScroll(container.NewVBox(lesson.Body(d.Prefs.Unit().Words), body))
	shown, _ := d.Closable(i18n.L("How it works"), scroll)
	shown.Resize(d.Room(720, 560))
	shown.Show()
}
