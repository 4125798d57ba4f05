"""What a page, a link, a file to send and a sheet of paper show of a test, computed once.

`discharge_report` is the owner's report of a test. `shared_report` is what a link shows: it names
every field one by one, so a new field is private until somebody decides otherwise
(tests/web/test_private_fields.py). `how_measured` says for strangers how it was done, in three
lines. `sent_report` computes every figure of a file to send from the file alone, so sender and
receiver get the same. `printed_battery` and `printed_test` add what paper needs: `procedure`,
`deviation` and the report number (`report_fingerprint`).

A field that is entered becomes part of the report number by itself. The price and the use on the
road are taken out in `printed_test.identity_of_battery`. Numbers of old prints change with
`METHOD_VERSION` and with every new field; that is meant.
"""
