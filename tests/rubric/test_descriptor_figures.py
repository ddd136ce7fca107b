"""A level's words and its limits say the same figure, or the page says that they do not."""

from decimal import Decimal

import pytest

from rubrics.models import Limit
from rubrics.rubric.descriptor_figures import mismatches
from rubrics.rubric.starter_rubric import STARTER_CRITERIA, ensure_starter_rubric
from rubrics.rubric.versions import copy_rubric

RISE = ("rim_level.rise_mm", (2, 4, 6))
STEP = ("seam_join.largest_step_mm", (0.5, 1.5, 3))
LEAN = ("handle_alignment.lean_deg", (3, 7, 12))


@pytest.mark.parametrize(
    ("level", "words", "limits", "offered"),
    [
        (4, "Level within 3 mm.", [RISE], "Level within 2 mm."),
        (3, "It rises by up to 4 mm.", [RISE], None),
        (1, "It rises by more than 5 mm.", [RISE], "It rises by more than 6 mm."),
        (
            3,
            "1.4 mm, and 4 mm at the rim.",
            [RISE, STEP],
            "1.5 mm, and 4 mm at the rim.",
        ),
        # Two limits unnamed: nobody can know which was meant.
        (4, "All within 1 mm.", [RISE, STEP], ""),
        (4, "It leans by 5° at most, 30 mm up.", [LEAN], "It leans by 3° at most, 30 mm up."),
        (4, "Nothing to see.", [RISE], None),
        (4, "Open for 9 mm.", [LEAN], None),
    ],
)
def test_words_beside_limits(level, words, limits, offered):
    found = mismatches([(level, words)], limits)
    assert [each.offered for each in found] == ([] if offered is None else [offered])


def test_the_sentence_names_both_figures():
    (found,) = mismatches([(4, "Level within 3 mm.")], [RISE])
    assert found.words == "The words say 3 mm; the limit is 2 mm."


def test_the_rubrics_that_ship_say_their_own_limits():
    for criterion in STARTER_CRITERIA:
        limits = [(each.figure, (each.a, each.b, each.c)) for each in criterion.limits]
        limits = [(figure, [float(bound) for bound in abc]) for figure, abc in limits]
        assert (
            mismatches([(each.number, each.descriptor) for each in criterion.levels], limits) == []
        )


@pytest.mark.django_db
def test_the_page_says_so_and_the_editor_offers_the_words(client, judged):
    rubric = copy_rubric(ensure_starter_rubric(), judged.teacher)
    step = Limit.objects.get(criterion__rubric=rubric, figure="seam_join.largest_step_mm")
    step.b = Decimal("2.5")
    step.save()
    client.force_login(judged.teacher)
    page = client.get(f"/rubrics/{rubric.pk}/").content.decode()
    assert "The words say 1.5 mm; the limit is 2.5 mm." in page
    assert f"/rubrics/{rubric.pk}/edit/?figures=filled" in page
    plain = client.get(f"/rubrics/{rubric.pk}/edit/").content.decode()
    assert "up to 1.5 mm" in plain
    filled = client.get(f"/rubrics/{rubric.pk}/edit/?figures=filled").content.decode()
    assert "up to 2.5 mm" in filled
    assert "up to 1.5 mm" not in filled
