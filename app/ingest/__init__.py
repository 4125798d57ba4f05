"""Files and pasted tables of other programs, to readings, with what was assumed on the way.

A file passes through `text` (bytes to text), `dialect` (cells), `headings`, `magnitudes` and
`column_inference` (what each column is), `questions` (what the file leaves open, with what each
answer gives), then `fast_reader` or `row_reader`, then `discharge_selection` (the discharge inside
a longer log). `reader` leads through all of it. `remembered_columns` takes the columns as in the
last file of this battery with the same headings. `fast_reader` reads long logs many lines at once;
`row_reader` reads everything else and names what is wrong. Both must read the same
(tests/ingest/test_fast_reader.py).

Rules: What a file does not say is asked, not guessed: a time without a unit, which of several
batteries. Every assumption becomes a sentence. A refusal names the row, the value and what is
allowed.

`photo_reencoding` is the only place that knows Pillow. It looks at the head of a picture first,
decodes it small, turns it upright and draws it anew, so that nothing else of the file is left. The
standard library has no decoder of JPEG, PNG and WebP, and none should be our own.
"""
