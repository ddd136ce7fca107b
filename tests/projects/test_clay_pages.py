"""A clay's bars, weighings and what the batches taught, as a teacher meets them."""

import pytest

from studio.models import AbsorptionTest, BarReading, Clay, ClayBar, Outcome
from tests.factories import make_piece, make_student, read
from tests.pages import page_text

pytestmark = pytest.mark.django_db


@pytest.fixture
def as_teacher(client, school):
    client.force_login(school.teacher)
    return client


@pytest.fixture
def clay(school):
    """The clay of the school's project, the teacher's own."""
    clay = school.project.plan.clay
    clay.owner = school.teacher
    clay.save()
    return clay


def bars(**over):
    stages = ("WET", "LEATHER_HARD", "BONE_DRY", "BISQUE", "GLAZED")
    blank = {f"new-{n}-{name}": "" for n in range(3) for name in ("label", *stages)}
    return blank | over


def shrinkage(clay, stage):
    row = clay.shrinkages.get(stage=stage)
    return (float(row.percent), float(row.spread_percent))


def test_bars_tell_the_shrinkage_and_change_nothing_by_themselves(as_teacher, clay):
    path = f"/clays/{clay.pk}/tests/"
    before = shrinkage(clay, "glazed")
    as_teacher.post(
        path,
        bars(
            **{"new-0-label": "1", "new-0-WET": "100", "new-0-BONE_DRY": "94"},
            **{"new-0-GLAZED": "88", "new-1-label": "2", "new-1-WET": "10 cm"},
            **{"new-1-GLAZED": "88.4"},
        ),
    )
    page = page_text(as_teacher.get(path))
    # ASTM C326: S on the wet length; two bars of 12 and 11.6 %: mean 11.8, s 0.2828.
    assert '<span class="measure">11.80</span>' in page
    assert "± 0.28" in page
    # 94 to 88 on the dry length, and 1 − 0.882³ in volume (recomputed).
    assert "on the dry length: 6.38 %" in page
    assert "wet to glazed: 31.4 %" in page
    assert shrinkage(clay, "glazed") == before == (12.0, 0.5)


def test_the_bars_figures_become_the_plan_at_the_press_of_a_button(as_teacher, clay):
    for label, fired in (("1", 88.0), ("2", 88.4)):
        bar = ClayBar.objects.create(clay=clay, label=label)
        BarReading.objects.create(bar=bar, stage="wet", length_mm=100)
        BarReading.objects.create(bar=bar, stage="glazed", length_mm=fired)
    answer = as_teacher.post(f"/clays/{clay.pk}/take/", {"what": "bars"}, follow=True)
    assert "is planned with 11.80 % to glazed" in page_text(answer)
    assert shrinkage(clay, "glazed") == (11.8, 0.28)
    assert shrinkage(clay, "bone dry") == (6.0, 0.5)


def test_one_bar_leaves_the_spread_as_it_was(as_teacher, clay):
    bar = ClayBar.objects.create(clay=clay, label="1")
    BarReading.objects.create(bar=bar, stage="wet", length_mm=100)
    BarReading.objects.create(bar=bar, stage="glazed", length_mm=87)
    as_teacher.post(f"/clays/{clay.pk}/take/", {"what": "bars"})
    assert shrinkage(clay, "glazed") == (13.0, 0.5)


@pytest.mark.parametrize(
    ("over", "said"),
    [
        ({"new-0-label": "1", "new-0-GLAZED": "88"}, "Write the wet length too"),
        ({"new-0-WET": "100", "new-0-GLAZED": "88"}, "Name the bar as it is scratched in"),
        (
            {"new-0-label": "1", "new-0-WET": "100", "new-0-GLAZED": "40"},
            "40 mm of 100 mm wet is no shrinkage of a clay",
        ),
        ({"new-0-label": "1", "new-0-WET": "10"}, "10 mm cannot be meant here"),
        (
            {"new-0-label": "1", "new-0-WET": "100", "new-1-label": "1", "new-1-WET": "100"},
            "Two bars are called 1",
        ),
    ],
)
def test_bars_that_cannot_be_are_refused_and_stay_on_the_page(as_teacher, clay, over, said):
    page = page_text(as_teacher.post(f"/clays/{clay.pk}/tests/", bars(**over)))
    assert said in page
    for value in over.values():
        assert f'value="{value}"' in page
    assert ClayBar.objects.count() == 0


def test_a_row_that_is_emptied_takes_its_bar_away(as_teacher, clay):
    bar = ClayBar.objects.create(clay=clay, label="1")
    BarReading.objects.create(bar=bar, stage="wet", length_mm=100)
    emptied = {f"bar-{bar.pk}-{name}": "" for name in ("label", "WET", "GLAZED")}
    as_teacher.post(f"/clays/{clay.pk}/tests/", bars(**emptied))
    assert ClayBar.objects.count() == 0


def weighing(**over):
    return {"label": "A", "dry_g": "100", "soaked_g": "104", "suspended_g": "62"} | over


def test_a_weighing_tells_the_absorption_and_is_taken_over_by_a_button(as_teacher, clay):
    as_teacher.post(f"/clays/{clay.pk}/weighings/", weighing())
    page = page_text(as_teacher.get(f"/clays/{clay.pk}/tests/"))
    # ASTM C373, D 100, M 104, S 62: A 4.000 %, P 9.523810 %, B 2.380952 (recomputed).
    assert "4.00</td>" in page
    assert "9.5</td>" in page
    assert "2.38</td>" in page
    clay.refresh_from_db()
    assert clay.absorption_percent is None
    as_teacher.post(f"/clays/{clay.pk}/take/", {"what": "absorption"})
    clay.refresh_from_db()
    assert float(clay.absorption_percent) == 4.0
    as_teacher.post(f"/clays/{clay.pk}/weighings/", {"remove": AbsorptionTest.objects.get().pk})
    assert AbsorptionTest.objects.count() == 0


def test_exchanged_masses_are_seen(as_teacher, clay):
    answer = as_teacher.post(f"/clays/{clay.pk}/weighings/", weighing(dry_g="104", soaked_g="100"))
    assert "Look whether two of the three were exchanged" in page_text(answer)
    assert 'value="104"' in page_text(answer)
    assert AbsorptionTest.objects.count() == 0


def test_nothing_to_take_over_is_said(as_teacher, clay):
    for what in ("bars", "absorption", "nonsense"):
        answer = as_teacher.post(f"/clays/{clay.pk}/take/", {"what": what}, follow=True)
        assert "There is nothing to take over yet" in page_text(answer)


def test_a_shipped_clay_shows_its_tests_without_a_field(as_teacher):
    shipped = Clay.objects.create(name="Of the house")
    page = page_text(as_teacher.get(f"/clays/{shipped.pk}/tests/"))
    assert "No bars were measured" in page
    assert "new-0-WET" not in page
    assert as_teacher.post(f"/clays/{shipped.pk}/tests/", bars()).status_code == 403


def fire(school, count, *, begin=10):
    """Pieces whose height was read 100 mm wet and 88, 88.2, 88.4 … mm glazed."""
    for n in range(count):
        student = make_student(school.section, f"Student {begin + n}")
        piece = make_piece(school.project, student, f"K3-{begin + n}")
        read(piece, "dimension", 100, stage="wet", name="height")
        read(piece, "dimension", 88 + 0.2 * n, stage="glazed", name="height")


def test_three_pieces_teach_and_two_do_not(as_teacher, school, clay):
    path = f"/clays/{clay.pk}/learned/"
    fire(school, 2)
    assert "too early to tell" in page_text(as_teacher.get(path))
    assert "Plan with" not in page_text(as_teacher.get(path))
    fire(school, 1, begin=20)
    page = page_text(as_teacher.get(path))
    # 12, 11.8 and 12 %: mean 11.9333, s 0.1155, t(2) 4.303: 11.65 to 12.22 (by hand).
    assert '<span class="measure">11.93</span>' in page
    assert "11.65 to 12.22" in page
    assert shrinkage(clay, "glazed") == (12.0, 0.5)
    answer = as_teacher.post(f"{path}take/", {"stage": "glazed"}, follow=True)
    assert "is planned with 11.93 % to glazed from now on" in page_text(answer)
    assert shrinkage(clay, "glazed") == (11.93, 0.12)


def test_a_stage_nobody_read_is_not_taken_over(as_teacher, school, clay):
    fire(school, 4)
    for stage in ("bisque", "wet", "nonsense", ""):
        answer = as_teacher.post(f"/clays/{clay.pk}/learned/take/", {"stage": stage}, follow=True)
        assert "Too few pieces tell that yet" in page_text(answer)
    assert shrinkage(clay, "bisque") == (6.5, 0.5)


def test_a_reading_in_question_teaches_nothing(as_teacher, school, clay):
    fire(school, 3)
    school.project.pieces.get(code="K3-10").readings.update(doubt="84? Did you mean 8.4?")
    assert "too early to tell" in page_text(as_teacher.get(f"/clays/{clay.pk}/learned/"))


def test_a_badly_fired_piece_teaches_nothing_and_the_page_says_so(as_teacher, school, clay):
    fire(school, 3)
    path = f"/clays/{clay.pk}/learned/"
    assert "badly fired" not in page_text(as_teacher.get(path))
    fire(school, 1, begin=20)
    under = school.project.pieces.get(code="K3-20")
    under.readings.filter(stage="glazed").update(value=95)  # 5 % where the others have 12
    Outcome.objects.create(piece=under, stage="glazed", kind="underfired", doing="kiln")
    page = page_text(as_teacher.get(path))
    assert "and 1 badly fired" in page
    assert "11.80" in page


def test_another_teachers_pieces_do_not_teach(client, school, clay):
    clay.owner = None
    clay.save()
    fire(school, 3)
    client.force_login(school.colleague)
    assert "too early to tell" in page_text(client.get(f"/clays/{clay.pk}/learned/"))
    client.force_login(school.head)
    assert "11.80" in page_text(client.get(f"/clays/{clay.pk}/learned/"))


def test_queries_do_not_grow_with_pieces_or_bars(as_teacher, school, clay, count_queries):
    fire(school, 3)
    learned, page = f"/clays/{clay.pk}/learned/", f"/clays/{clay.pk}/tests/"
    before = count_queries(as_teacher, learned), count_queries(as_teacher, page)
    fire(school, 5, begin=30)
    for n in range(4):
        bar = ClayBar.objects.create(clay=clay, label=f"b{n}")
        BarReading.objects.create(bar=bar, stage="wet", length_mm=100)
    after = count_queries(as_teacher, learned), count_queries(as_teacher, page)
    # The first bar fetches readings at all: one query, however many bars there are.
    assert after == (before[0], before[1] + 1)
