"""How long texts that somebody enters may be, in characters: for forms and for columns alike."""

MAX_NAME_LENGTH = 80
MAX_CURRENCY_LENGTH = 8
# One line, such as what drew the current or what a file was called.
MAX_LINE_LENGTH = 200
MAX_NOTE_LENGTH = 400
# Notes on a battery or a test, of several paragraphs.
MAX_NOTES_LENGTH = 4000
