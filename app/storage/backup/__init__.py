"""Checked copies of the data file.

`online_backup` copies a pinned state in steps; other writers neither wait for it nor restart it.
The copy gets its name only after its rows have hashed to the same as those of the data file and the
checks of SQLite have passed, because SQLite keeps no checksums. `replace_contents` writes a
restored copy over the data file in one transaction. `content_check` and `column_rules` say what a
value may be, from the same descriptions as the records; `jpeg_size` knows a JPEG without drawing
it.

The server opens the data file through SQLite only: closing any other handle on it would release the
locks of SQLite.
"""
