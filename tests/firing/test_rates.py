"""Wilson's interval against a general library."""

import pytest
from scipy.stats import binomtest

from studio.firing.rates import wilson


@pytest.mark.parametrize(
    ("count", "total"), [(0, 7), (1, 24), (3, 24), (12, 24), (24, 24), (9, 900)]
)
@pytest.mark.parametrize("confidence", [0.8, 0.95, 0.99])
def test_the_interval_is_scipys(count, total, confidence):
    # scipy.stats.binomtest(...).proportion_ci(method="wilson")
    expected = binomtest(count, total).proportion_ci(confidence, method="wilson")
    share = wilson(count, total, confidence=confidence)
    assert (share.low, share.high) == pytest.approx((expected.low, expected.high), abs=1e-9)
    assert share.low <= share.value <= share.high


def test_nothing_counted_is_no_share():
    assert wilson(0, 0) is None
    with pytest.raises(ValueError, match="not a share"):
        wilson(3, 2)
