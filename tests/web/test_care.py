"""Cautions stand where the work is, and nothing ever says that a piece may hold food."""

import re
from pathlib import Path

import pytest

import rubrics
import studio
from tests.factories import make_firing
from tests.pages import page_text

ROOTS = [Path(package.__file__).parent for package in (studio, rubrics)]
# No page, sentence or file of these packages may claim it; the cautions themselves do without.
CLAIM = re.compile(
    r"food[\s-]*safe|safe\s+(for|to)\s+(food|eat\w*|drink\w*|use)|dishwasher|microwave|"
    r"fit\s+for\s+(food|use)|can\s+be\s+(eaten|drunk)\s+from",
    re.IGNORECASE,
)
DENIAL = re.compile(r"say nothing about whether a cup is safe to eat or drink from")
DEFER = "Follow your local code and the kiln's manual; ask a qualified person."


def told():
    for root in ROOTS:
        for suffix in ("*.html", "*.py", "*.js", "*.svg", "*.po", "*.json"):
            yield from root.rglob(suffix)


def joined(text: str) -> str:
    return re.sub(r'"\s*\n\s*f?"', "", text)


def test_nothing_claims_that_a_piece_may_hold_food():
    files = list(told())
    assert len(files) > 100
    # Python joins the halves of a long sentence, so the search looks across them.
    claims = {
        str(file): found.group()
        for file in files
        if (found := CLAIM.search(DENIAL.sub("", joined(file.read_text("utf-8")))))
    }
    assert claims == {}


def test_the_search_would_find_one():
    for claim in ("This cup is food-safe.", "safe for food", "Safe to\ndrink from", "foodsafe"):
        assert CLAIM.search(claim)


@pytest.mark.parametrize(
    ("page", "kind", "cautions"),
    [
        ("load/", "bisque", ["switched off at the wall", "Only bone-dry work goes in"]),
        ("load/", "bisque", ["may touch and stack", "kiln wash is for glaze shelves"]),
        ("load/", "glazed", ["switched off at the wall", "no proof for the fired cup"]),
        ("load/", "glazed", ["Bisque ware goes in with its glaze dry", "Kiln wash on the upper"]),
        ("load/", "glazed", ["stand a finger apart", "where the peephole shows them"]),
        ("", "glazed", ["eyewear rated for infrared", "cools closed"]),
        ("unload/", "bisque", ["hot ware looks like cold"]),
        ("unload/", "glazed", ["hot ware looks like cold", "no proof for the fired cup"]),
    ],
)
def test_cautions_stand_at_the_kiln_once(client, school, page, kind, cautions):
    firing = make_firing(school.teacher, school.piece, kind=kind, planned_cone="6")
    client.force_login(school.teacher)
    text = page_text(client.get(f"/firings/{firing.pk}/{page}"))
    assert text.count(DEFER) == 1
    for caution in cautions:
        assert caution in text


def test_a_glaze_load_is_not_told_that_only_bone_dry_work_goes_in(client, school):
    firing = make_firing(school.teacher, school.piece, kind="glazed", planned_cone="6")
    client.force_login(school.teacher)
    assert "bone-dry" not in page_text(client.get(f"/firings/{firing.pk}/load/"))


def test_cautions_on_dust_and_blades_stand_where_clay_is_worked(client, school):
    client.force_login(school.teacher)
    text = page_text(client.get(f"/projects/{school.project.pk}/"))
    assert text.count(DEFER) == 1
    assert "never sand dry clay" in text
    assert "counted out and counted in" in text
