"""Whether the heat is to blame for a loss.

`heat_share` sets what published models would explain by time, heat and use against the loss that
`observed_loss` measures; `heat_report` joins it with the fade, and `heat_caveats` says what stays
open. `equivalent_age` is the age that the battery would have at 25 °C. The report says that a loss
is more, less or what these would explain; it never names a cause.
"""
