// Package kit has the small parts that rooms are built of: fields and buttons that hear
// the escape key, forms and dialogs, layouts, a job at a time, the line that tells what
// happened. It knows nothing of Lagwright but how large text is and which language is
// spoken.
//
// Keys without a modifier reach what has the keyboard and nobody else. So whatever may
// have it in a dialog is made by NewField, NewButton, NewChoice or NewTick, which leave
// the escape key to the dialog; that key presses the dialog's own Cancel, Close or No.
//
// Where the toolkit has the like, this is why it does not do: its flow (RowWrap) asks for
// the width of its longest row once it was laid out, so that it never gets narrower, and
// for room for what is hidden; its dialogs and entries know no escape key; its border
// gives the middle the keyboard first.
package kit
