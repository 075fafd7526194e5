"""Medians and quantiles against numpy's own."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from listen.analysis.ranks import median, quantiles

FINITE = st.floats(-1e6, 1e6)


@given(arrays(np.float64, st.tuples(st.integers(1, 4), st.integers(1, 9)), elements=FINITE))
def test_the_median_is_numpys(rows):
    assert median(rows).tolist() == np.median(rows, axis=-1).tolist()


@given(
    arrays(np.float64, st.integers(1, 20), elements=FINITE),
    st.lists(st.floats(0, 1), min_size=1, max_size=3),
)
def test_the_quantiles_are_numpys(values, shares):
    # Two ways to interpolate differ by the rounding of the largest number.
    assert quantiles(values, shares) == pytest.approx(
        np.quantile(values, shares).tolist(), rel=0, abs=1e-9
    )
