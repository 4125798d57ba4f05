"""The end of life as a distribution, by how published cells aged.

`trajectories` holds the reference curves; `capacity_record` prepares the tests of a battery;
`life_posterior` weighs every curve and every length of life against the record, starting from
`life_belief`; `end_distribution` and `capacity_fan` come from the same weights; `end_of_life` is
what a page reads, with `end_caveats` beside it. `linear_extrapolation` is shown to be doubted.

Decisions: The spread was chosen on the published cells that score it. The belief about life comes
from published evidence; its widths were settled within what the sources allow, after a look at
simulated batteries whose draws differ from those of the benchmark. For a chemistry without
published cells the belief is a stated guess, and a caveat says so. A file to send carries neither
use nor place, so it is judged by the belief without them. No date lies beyond 30 years after the
first test, and none is shown without its interval.
"""
