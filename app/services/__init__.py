"""Use cases: one function is one verb phrase and makes one transaction.

The sub-packages: entities (batteries, tests, runs, events, places, meters, photos, and their undo),
exchange (files and archives in and out), reports (what is asked of stored records), access (who
gets in, links, preferences), backups, example. `store` is what every use case works on: engine,
staging folder and results already computed. Use cases check all values, because tables check none.

Nothing that a user entered is overwritten by a computation. Results are derived anew and kept in
memory only (`store`), under what they were computed from: the details and a digest of the readings,
because a version number that was rolled back is given again. The list of batteries shows forty at a
time and keeps what it shows of each under a digest of all rows behind it
(`repositories.report_digest`).

`view_counter` counts the views of links in memory and stores them with the first view after ten
seconds, when the owner looks, and at a stop, because every stored view would make every kept page
new. A killed server forgets ten seconds of views at most.
"""
