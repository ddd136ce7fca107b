"""The sheet asks first for what the rubric and the plan use; the rest is one step away."""

import pytest
from django.urls import reverse

from rubrics.checks.register import checks
from rubrics.evidence.asked import asked_of
from rubrics.models import Limit
from rubrics.rubric.starter_rubric import ensure_starter_rubric
from rubrics.rubric.versions import choose_rubric, copy_rubric
from studio.ware.quantities import QUANTITIES
from tests.factories import make_photo, read, read_rim

pytestmark = pytest.mark.django_db


@pytest.fixture
def sheet(client, school):
    client.force_login(school.teacher)

    def open_it(key, stage="leather-hard", **query):
        address = reverse("measure", args=[school.project.pk])
        return client.get(address, {"stage": stage, "set": key, **query}).context

    return open_it


def lean_on(school, *figures):
    """A rubric that leans on these figures and no others."""
    rubric = copy_rubric(ensure_starter_rubric(), school.teacher)
    Limit.objects.filter(criterion__rubric=rubric).delete()
    criterion = rubric.criteria.first()
    for figure in figures:
        Limit.objects.create(criterion=criterion, figure=figure, a=1, b=2, c=3)
    choose_rubric(school.project, rubric)


def columns(context):
    return [column.key for column in context["chosen"].columns]


def labels(choices):
    return [one["label"] for one in choices]


def test_without_a_rubric_everything_is_asked(school, sheet):
    assert asked_of(school.project) is None
    context = sheet("seam")
    assert len(columns(context)) == 7
    assert context["more_sets"] == []
    assert (context["left_out"], context["narrow"]) == (0, "")


def test_a_rubric_that_leans_on_no_measure_leaves_the_sheet_whole(school, sheet):
    lean_on(school)
    assert asked_of(school.project) is None
    assert len(columns(sheet("seam"))) == 7


def test_the_columns_of_the_figures_come_first_and_all_are_one_step_away(school, sheet):
    lean_on(school, "seam_join.largest_step_mm", "squared_foot.rock_mm")
    context = sheet("seam")
    assert (columns(context), context["left_out"]) == (["seam-step"], 6)
    assert len(columns(sheet("seam", all="1"))) == 7
    assert columns(sheet("foot")) == ["gap1", "gap2", "gap3", "gap4"]
    assert labels(context["sets"]) == ["Sizes", "Seam", "Darts", "Foot"]
    assert "Water" in labels(context["more_sets"])


def test_a_column_in_which_something_stands_is_never_left_out(school, sheet):
    lean_on(school, "seam_join.largest_step_mm")
    read(school.piece, "seam_through", 4, name="seam", height_mm=10)
    assert columns(sheet("seam")) == ["seam-through", "seam-step"]


def test_a_sheet_that_nobody_asks_for_is_whole_when_it_is_opened(school, sheet):
    lean_on(school, "rim_level.rise_deg")
    assert len(columns(sheet("darts"))) == 12


def test_the_ends_of_a_wall_serve_whoever_asks_for_the_wall(school, sheet):
    lean_on(school, "wall_evenness.too_thin_mm")
    shown = labels(sheet("wall-ends")["sets"])
    assert shown == ["Wall, 4 places", "Wall, 12 places", "Wall, thinnest and thickest", "Sizes"]


def test_a_size_that_a_rubric_needs_is_on_the_sheet_though_no_plan_has_it(school, sheet):
    lean_on(school, "rim_level.out_of_round_mm")
    assert columns(sheet("sizes"))[-1] == "rim_diameter_2"


def test_water_is_asked_of_glazed_ware_only(school, sheet):
    lean_on(school, "capacity.difference_fraction")
    assert "Water" not in labels(sheet("wall-4")["sets"])
    assert "Water" in labels(sheet("wall-4", stage="glazed")["sets"])


def test_what_was_posted_stays_on_the_sheet_though_nobody_asks_for_it(client, school, sheet):
    lean_on(school, "seam_join.largest_step_mm")
    client.force_login(school.teacher)
    name = f"v.{school.piece.pk}.seam-length."
    address = reverse("measure", args=[school.project.pk])
    context = client.post(address, {"stage": "leather-hard", "set": "seam", name: "abc"}).context
    assert columns(context) == ["seam-length", "seam-step"]
    assert context["lines"][0].cells[0].text == "abc"


def read_foot_and_rim(school):
    for number, value in enumerate((64, 65, 66, 65), start=1):
        read(school.piece, "foot_side", value, name=str(number))
    for number in (1, 2, 3):
        read(school.other_piece, "foot_side", 64, name=str(number))
    read_rim(school.piece, 108, 109, 110, 109)


def given_sizes(context):
    cells = {cell.key: cell for cell in context["lines"][0].cells}
    return [(cells[key].seen, cells[key].is_given) for key in ("height", "foot_side")]


def test_a_size_that_other_readings_give_is_given(school, sheet):
    lean_on(school, "rim_level.rise_deg")
    read_foot_and_rim(school)
    context = sheet("sizes")
    assert given_sizes(context) == [("rim 109.0", True), ("sides 65.0", True)]
    assert not any(cell.is_given for cell in context["lines"][1].cells)


def test_who_leans_on_the_shrinkage_wants_the_sizes_themselves(school, sheet):
    lean_on(school, "shrinkage.difference")
    read_foot_and_rim(school)
    assert given_sizes(sheet("sizes")) == [("", False), ("", False)]


def test_a_size_of_a_confirmed_photo_is_given_and_a_student_s_is_not(school, sheet):
    photo = make_photo(school.piece)
    photo.confirmed_at = "2026-01-01T00:00Z"
    photo.save()
    seen = {"name": "rim_diameter", "own_u": 0.3}
    read(school.piece, "dimension", 101.2, source="photo", photo=photo, **seen)
    read(school.other_piece, "dimension", 99, source="student", **seen)
    first, second = (line.cells[1] for line in sheet("sizes")["lines"])
    assert (first.seen, first.is_given) == ("photo 101.2", True)
    assert (second.seen, second.is_given) == ("by student", False)


def test_every_figure_names_quantities_that_its_check_reads():
    for check in checks().values():
        for figure in check.figures:
            for each in figure.reads:
                quantity, _, name = each.partition(":")
                assert quantity in QUANTITIES
                assert not name or name in (QUANTITIES[quantity].names or (name,))
