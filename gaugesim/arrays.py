"""Arrays of numbers, as annotations name them."""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
