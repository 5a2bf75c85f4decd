package light

// Error is a setting that cannot be. Message is a sentence fit to show beside the
// field, which is named as on the command line, without dashes in front.
type Error struct{ Field, Message string }

func (e *Error) Error() string { return e.Message }
