"""What the trade says of a piece at its stage: the day limits are ours, the order the clay's."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studio.making import soft_clay
from studio.making.soft_clay import ClaySentence, Hurry, Standing, Wait, counts, say
from studio.ware.stages import STAGES

standings = st.builds(
    Standing,
    stage=st.sampled_from(STAGES),
    days=st.none() | st.integers(0, 400),
    has_handle=st.booleans(),
    is_measured=st.booleans(),
    has_photo=st.booleans(),
    has_outcome=st.booleans(),
)


# Common practice, no source: a handle goes on at leather-hard, a day or two after the slab is
# closed, and a wall left longer is too dry to join to.
@pytest.mark.parametrize(
    ("stage", "days", "begins", "hurry"),
    [
        ("wet", 0, "Too wet for a handle. Wrap it tonight", Hurry.KEEPS),
        ("wet", 2, "Feel it: it may be leather-hard", Hurry.SOON),
        ("leather-hard", 0, "Ready: join the handle", Hurry.SOON),
        ("leather-hard", 2, "Too dry for a handle soon: join the handle today", Hurry.NOW),
        ("leather-hard", 4, "Likely too dry for a handle", Hurry.NOW),
        ("bone dry", 0, "Not in the kiln yet", Hurry.KEEPS),
        ("bone dry", 2, "Ready for the kiln if it is pale", Hurry.KEEPS),
        ("bisque", 0, "Wipe the dust off with a damp sponge", Hurry.KEEPS),
        ("glazed", 0, "Measure it and note how it came out.", Hurry.KEEPS),
    ],
)
def test_the_saying_of_a_stage_and_its_days(stage, days, begins, hurry):
    said = say(Standing(stage, days))
    assert said.sentence.startswith(begins)
    assert said.hurry == hurry


def test_a_project_without_a_handle_never_speaks_of_one():
    for stage in STAGES:
        for days in range(10):
            assert "handle" not in say(Standing(stage, days, has_handle=False)).sentence


def test_a_bone_dry_piece_waits_for_its_photo_before_the_kiln():
    dry = soft_clay.DRY_THROUGH_DAYS
    assert say(Standing("bone dry", dry)).waits == (Wait.PHOTO, Wait.KILN)
    assert say(Standing("bone dry", dry, has_photo=True)).waits == (Wait.KILN,)
    assert say(Standing("bone dry", dry - 1, has_photo=True)).waits == (Wait.DRY,)


def test_a_finished_piece_waits_for_nothing():
    done = say(Standing("glazed", 1, is_measured=True, has_outcome=True))
    assert done == ClaySentence(
        "Done: measured, and its outcome noted.", (Wait.NOTHING,), Hurry.KEEPS
    )


@given(standings)
def test_every_piece_has_a_sentence_and_a_wait(standing):
    said = say(standing)
    assert said.sentence.endswith(".")
    assert said.waits


@given(standings, st.integers(0, 50))
def test_greenware_that_waits_longer_is_never_less_in_a_hurry(standing, more):
    if standing.stage not in STAGES[:2] or standing.days is None:
        return
    later = Standing(
        **{f: getattr(standing, f) for f in standing.__slots__} | {"days": standing.days + more}
    )
    assert say(later).rank <= say(standing).rank


def test_the_make_step_counts_the_soonest_first():
    said = [
        say(Standing(*each))
        for each in (("bone dry", 3), ("leather-hard", 2), ("leather-hard", 2), ("wet", 0))
    ]
    assert counts(said) == ("2 too dry for a handle soon.", "1 ready for the kiln.")
