"""Files and archives, in and out.

`upload_staging` keeps a file that waits for its preview. `records_archive` writes all records into
one archive and brings it back: into an empty store byte for byte, into one with records by the
lasting name (uid) of each thing, all or nothing. Numbers (id) belong to one store only.
tests/services/records/test_growing_records.py grows two copies by chance and merges them.

A file to send: `export_file` makes it, `file_contents` packs exactly the columns of
`domain.records.sent_battery`. Sender and receiver render the same page from the same data, and
`import_file` checks a received file by comparing the new page with the old one piece by piece,
pictures too. So whatever a page shows is checked without further work. A change of words makes
older files differ in words, which the page says. Where a file grows too large, each test shows less
first (`DETAILS`) and only then readings are thinned; a file names its step by number, so their
order stays within a format. Of a file of an earlier format the figures are compared, test by test:
each must be among those of today's page, which therefore keeps every figure it had. Received things
get lasting names derived from those in the file: the same file does not double anything, and no
file reaches into one's own records.
"""
