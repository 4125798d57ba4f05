"""Use cases: one function is one verb phrase and makes one transaction.

The sub-packages: entities (batteries, tests, runs, events, places, meters, photos, and their undo),
exchange (files and archives in and out), reports (what is asked of stored records), access (who
gets in, links, preferences), backups, example. `store` is what every use case works on: engine,
staging folder and results already computed. Use cases check all values, because tables check none.

Nothing that a user entered is overwritten by a computation. Results are kept in memory (`store`)
under what they were computed from: the details and a digest of the readings, because a version
number that was rolled back is given again. Reports and the cards of the list are kept in a table of
their own (`computed`), too, under the stamps of the rows behind them (`schema.change_triggers`),
the day, the method and the program. That table is no record: it may be emptied at any time.
Pages of one battery keep its report, curves, heat and nights in memory under its state and the day
(`record_state`): a key holds all that the thing hangs on, so nothing kept is ever out of date.

`view_counter` counts the views of links in memory and stores them with the first view after ten
seconds, when the owner looks, and at a stop, because a crowd must not keep the data file busy. A
killed server forgets ten seconds of views at most.
"""
