"""How long texts that somebody enters may be, in characters: for forms and for columns alike."""

LONGEST_NAME = 80
# One line, such as what drew the current or what a file was called.
LONGEST_LINE = 200
LONGEST_NOTE = 400
# Notes on a battery or a test, of several paragraphs.
LONGEST_NOTES = 4000
