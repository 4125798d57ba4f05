"""Records as a ZIP of open files after the Data Package standard, and back.

`package` and `package_reader` write and read datapackage.json; `table_file` and `readings_file` the
CSV files; `writer` and `reader` the ZIP. `readme` and `sent_readme` explain it to somebody without
this program. `html_file_reader` takes a file to send apart and shows nothing of it.

Nothing of an archive is believed: `zip_directory` looks at the directory before anything is
unpacked, `limits` bounds every size, `bounded_json` bounds the descriptor, and each file has its
hash. What is exported keeps within the same limits, so that it can come back. The same records give
the same bytes.

Format 2: readings of several tests share a file (readings/0001.csv: the uid of the test in front,
whole tests up to `MAX_SHARED_ROWS` rows, in the order of tables/discharge.csv), because an archive
may have 50,000 files. A restore reads them along with that table (`Archive.with_readings`), so one
test at a time is in memory; a test that is unknown, missing, doubled or in another place is
refused. What an edit replaced, original files and photos have a file each. Format 1, with one file
a test, is still read (tests/archive/format_1/ has real ones). What a file to send contains is of
format 2 as well; in files of the former format (tests/web/received/format_1.html.gz) it is 1.
"""
