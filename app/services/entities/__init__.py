"""Use cases around one thing each: batteries, tests, runs, meters, places, photos, events.

Undo: Every edit keeps the whole row that it replaces and counts the version up. `history` shows the
versions and brings one back, which is an edit with all its checks. A form carries the version that
it was filled from. Where another one is stored by then, `edit_conflict` refuses with both
(`EditConflict`), and the form is shown again with the new version; storing once more is the choice
of the owner. An undo from a page that shows an older version is refused (`StaleEdit`).
`field_changes` says what differs, in the words of the columns, so a new field needs no work there.

`purge` removes a thing for good. A new table with a reference goes along by its foreign key; give
it words here. Numbers may be given again afterwards; lasting names (uid) are not.

`doubts` asks about unlikely values before a test is stored, and shows open questions on its page;
`run_questions` does so for single readings of a running test. Their answers are stored.
"""
