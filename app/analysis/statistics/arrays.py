"""What a column of numbers is called in annotations."""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
