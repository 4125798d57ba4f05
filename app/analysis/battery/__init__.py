"""What one battery says: its report, its newest test, and when the next is due.

`battery_report` is the one frozen report that page, chart, JSON and link show; `answers` says of it
what the battery holds and loses, when it is down to its threshold and when to test, each a figure
with its doubt. `newest_test_check` asks whether the newest test is lower, or the fade faster, than
the earlier tests allow. `next_test` is the one owner of the day of the next test, with
`max_test_interval` for published practice.
`capacity_forecast` gives equally likely capacities for a day; nights and dates are made of them.
"""
