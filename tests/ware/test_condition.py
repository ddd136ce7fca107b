"""What can be done to a piece follows from what it is now."""

import pytest

from studio.ware.condition import DRY, FIRED, GONE, SOFT, condition


@pytest.mark.parametrize(
    ("stage", "state", "later", "lost", "expected"),
    [
        ("wet", "in work", [], False, SOFT),
        ("leather-hard", "finished", ["wet"], False, SOFT),
        ("bone dry", "in work", ["leather-hard"], False, DRY),
        ("bisque", "in work", ["leather-hard"], False, FIRED),
        # A reading or an outcome of a later stage says more than the stage somebody forgot to set.
        ("leather-hard", "in work", ["glazed"], False, FIRED),
        ("wet", "in work", ["bone dry", "leather-hard"], False, DRY),
        ("leather-hard", "lost", [], False, GONE),
        ("wet", "broken", [], False, GONE),
        ("leather-hard", "in work", [], True, GONE),
    ],
)
def test_condition(stage, state, later, lost, expected):
    assert condition(stage, state, later, is_lost=lost) == expected
