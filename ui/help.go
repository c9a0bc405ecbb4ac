package ui

const helpText = `## The loop
1. **Play a take.** One contact microphone on something locked to the crank (the **reference**), one on the **voice**; both into one recording, reference on channel 1, voice on channel 2. Eight strikes or more at the song's tempo.
2. **Read.** The mirror trace shows both, with a pin on every hit and a bracket over every **lag**. The fan lays all hits over each other: late to the right, early to the left.
3. **Turn** the plate as the window says, and tell it what you really did.
4. **Take it again.** Tight means the lag with its 95 % interval lies within half a step or the tolerance, whichever is larger.

Before the first move of a session Lagwright asks you to agree to the caution; it stays in sight before every other one.

## Hands on the crank
**Record > Microphones…** chooses the recording device, and which of its channels hears the reference and which a voice. All channels come from one device, for two have two clocks that drift apart, which would read as lag. Each ball should roll between the two posts when you play. **Find them by tapping** asks you to tap each microphone; the **zero check** finds by a few knocks, the microphones lying side by side, by how much one channel hears later, and takes that off every lag.

**Record a take**, or the space bar, enter, or a foot switch that acts as one of them, arms. From then on the machine leads: it waits for the crank, says whether you are too slow or too fast, counts the hits that are good, and stops by itself once it is sure enough. Then stop the crank, and look or listen. The same key stops it sooner. What goes wrong with a cable is said while you play, with a picture of the moment. The sound is on the disk as it comes: after a crash the next start offers the take.

**Record > Tones and guide click…** lets you hear each tone and what it means. The guide click is off unless you ask for it; use headphones, or the microphones hear it too.

To try all of it without a machine, press the space bar with the simulated one.

**Listen** plays the take in sight, the reference on the left, the voice on the right; round one hit, at half or a quarter of the speed, and against the first take at this tempo by the key **B**. It starts quiet.

## How near is near enough?
The tolerance is 5 ms unless you choose another. What is known of the ear:
- In an even row of tones, one that is out of place is noticed from about **6 ms** on, or 2.5 % of the time from tone to tone where that is more than 240 ms (Friberg and Sundberg 1995, J. Acoust. Soc. Am. 98:2524; their report of 1992, by another definition, gives about 10 ms and 5 %).
- Two short sounds are heard as two from 2 to 3 ms apart; which came first is told from about **20 ms** on (Hirsh 1959, J. Acoust. Soc. Am. 31:759, as quoted by Watson 2004).
- Players of trained trios strike together to within **30 to 50 ms** (standard deviation; Rasch 1979, Acustica 43:121, as quoted in a later thesis).

So a voice within 5 ms is nearer than the ear asks for; where half a step is more than that, the plate cannot do better.

## From one tempo to the next
After the first tempo the **law** says where to turn for the next one before you play, and how sure it is; two tempos make it sure.

When a take went wrong, leave it out: Take > Leave this take out.

**Take > Save a report…** puts the take in sight on one page to keep or to show; **Session > Save all readings…** makes a table of all takes; **Copy** in both menus takes pictures and words to other programs.

## Several voices in one take
With a microphone on each voice, record all of them into one file. Opening it asks which channel is which and remembers it for the next. The take then tells of every voice: choose above the trace which one is in sight, and **Aim at it** to tune that one, without another take. They all hang on one plate: where no setting suits all, the set list says so.

## The set list
**Set list > Show the set list** takes all songs and all takes together. Type over a name or a tempo, or import the list from a spreadsheet as CSV with the columns song, tempo_bpm, voices and importance. Each song gets its setting, the move from the song before, the **tempo window** in which it stays tight there, what lag to expect, and whether that is sure. Below the list stands the take that tells most; when no song needs another, it says so. Changes of the list can be undone until the session is closed.

## What looks wrong
Where the takes show a mistake, such as a miscounted step, it is said below the loop or in the set list, with its odds. **What the takes show…** lists all of them. Agree by the button beside one, such as *It was 5 ahead*: the move is told anew, and the takes after it get their settings and advice anew. Nothing is changed before, and Undo takes it back.

## The machine
**Session > The machine…** changes names, plate, tolerance and voices. Enter how high each voice's drop is, what falls, the beats in a turn of the wheel and the radius of the circle of pins, as far as you know them: where no setting brings a song's voices together, the set list then says in mm what to change. Agreed to **end every move ahead**, a plate with play always takes it up on the same side.

## Sessions
Each session is a folder with its takes. The list you begin with shows how far each has come; type to search, arrows and Enter open, the menu key or the three dots have more. **Session > This session** renames, duplicates, keeps notes, and exports session and takes as **one zip**, which **Session > Import a zip…** brings back as a new session. Renaming and notes can be undone until the session is closed.

## In the trace
Wheel, + and − zoom; drag or arrows move; Home and End go to the ends; 0 shows the whole take; N and P, or Page Down and Page Up, go from pair to pair; a double click shows one pair from near.

## Hits by hand
Click near a pin to select that hit; R and V select the reference and the voice hit of the selected pair, H and Shift H go from hit to hit. **Delete** strikes the selected hit out, or puts it back. **Comma and full stop** move it by 0.1 ms, with Shift by 1 ms; zoomed in to less than 2 seconds you can drag it. Click beside the pins to set the cursor, in the reference's half or the voice's; **Insert** adds a hit there. Reading and advice follow at once. Undo and Redo are in the Change menu; what was found is kept.

Where the gate's clunk was taken for the strike, or a rebound, **Change > Read the other sound** takes the sound that comes with most strikes at one distance instead; the command says which. The same command goes back.

A ring marks the selected hit, a hollow crossed pin one that was struck out, a small square one that you added or moved.

## Text, theme and keys
**Session > Preferences…** (Ctrl and comma) has theme, text size, mm or inches, tones, hints, the tolerance of new sessions and where sessions live. Every command is in a menu with its key beside it. Tab goes from part to part; Escape takes a dialog away, and so does Ctrl+W; F1 shows this. Where the window is divided, it stays so the next time.

## Cautions
- A crank with a flywheel is stored energy. **Stop the crank, wait until everything is at rest, only then reach in.**
- Guards (ISO 14120, ISO 13857) and lockout (29 CFR 1910.147) are good practice; local codes and licensed practice come first.
- Wear eye protection near shot, and ear protection near loud voices.
- Start headphones quiet.
`
