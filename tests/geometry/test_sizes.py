"""Element sizes along an edge do not depend on which hot points are looked at."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from geometry.sizes import _that_count


@given(st.integers(0, 2**32 - 1), st.integers(1, 40), st.floats(0.1, 1.5), st.floats(0.01, 100))
def test_points_left_out_set_no_size(seed, count, growth, cap):
    # The size function as defined: the least over all points of h0 + growth * distance.
    rng = np.random.default_rng(seed)
    points, sizes = rng.uniform(0, 300, (count, 2)), rng.uniform(0.01, 5, count)
    x = rng.uniform(0, 300, 2) + rng.uniform(0, 40, 2) * np.linspace(0, 1, 50)[:, None]

    def size(some):
        distance = np.hypot(x[:, None, 0] - points[some, 0], x[:, None, 1] - points[some, 1])
        near = (sizes[some] + growth * distance).min(axis=1, initial=np.inf)
        return np.minimum(near, cap)

    some = _that_count(x, points, sizes, growth, cap)
    np.testing.assert_array_equal(size(some), size(np.ones(count, bool)))
