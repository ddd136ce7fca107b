"""The stages: one order, and the groups that rules go by."""

from studio.models import Stage
from studio.ware.stages import (
    FIRED_STAGES,
    NEAREST_STAGES,
    STAGE_WORDS,
    STAGES,
    UNFIRED_STAGES,
)


def test_the_records_know_the_same_stages():
    assert tuple(Stage.values) == STAGES


def test_every_stage_is_fired_or_not():
    assert (*UNFIRED_STAGES, *FIRED_STAGES) == STAGES


def test_the_nearest_stage_is_the_stage_itself_then_its_neighbours():
    assert NEAREST_STAGES["bone dry"][0] == "bone dry"
    assert set(NEAREST_STAGES["bone dry"][1:3]) == {"leather-hard", "bisque"}
    assert NEAREST_STAGES["wet"] == STAGES
    assert NEAREST_STAGES["glazed"] == tuple(reversed(STAGES))


def test_every_stage_has_a_word_for_file_names():
    assert set(STAGE_WORDS.values()) == set(STAGES)
