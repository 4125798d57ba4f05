"""What a test delivered, and what nobody saw between its readings and after the last.

`delivered` integrates the current, with the shape of the load from `load_profile` and the voltages
from `voltage`; `counted` takes the amp-hours of a counter as they stand. `sampling` bounds what
happened between readings, `tail` what was left after the last one. `hidden_recharge` tells two
discharges with a charge between them from one with a rest. `run_quality` says what went wrong in a
test and refuses nothing.
"""
