"""Ten tests of a battery that loses 3 % a year. Invented."""

import numpy as np

RNG = np.random.default_rng(1)
DAYS = 738_000.0 + np.arange(10) * 91.0
CAPACITY = 100 - 3 * (DAYS - DAYS[0]) / 365 + RNG.normal(0, 1, 10)
