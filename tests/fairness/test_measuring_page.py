"""A study of the measuring: typed or pasted, told, and taken over into an instrument."""

import pandas as pd
import pytest
from statsmodels.formula.api import ols

from rubrics.fairness.measuring import StudyError, bands_eaten, empty_grid, read_grid, tell
from rubrics.models import Limit, MeasuringStudy
from studio.models import Instrument

# Wall of five cups [mm], invented: three people, two rounds each.
GRID = """person\tcup 1\tcup 2\tcup 3\tcup 4\tcup 5
P1\t6.0\t5.2\t7.1\t6.4\t5.0
P1\t6.2\t5.2\t7.0\t6.5\t5.1
P2\t6.4\t5.5\t7.3\t6.6\t5.3
P2\t6.3\t5.4\t7.5\t6.8\t5.3
P3\t6.1\t5.1\t7.0\t6.3\t4.9
P3\t6.0\t5.3\t7.2\t6.5\t5.1
"""


@pytest.fixture
def study(judged):
    judged.calliper = Instrument.objects.create(
        name="Old calliper", owner=judged.teacher, resolution=0.1, repeatability=0.5
    )
    return MeasuringStudy.objects.create(
        owner=judged.teacher,
        title="Old calliper",
        quantity="wall_thickness",
        instrument=judged.calliper,
        typed=GRID,
    )


def page(client, user, study):
    client.force_login(user)
    return client.get(f"/measuring/studies/{study.pk}/").content.decode()


def test_repeatability_is_what_an_additive_model_leaves_over(study):
    # Reference: statsmodels. People differ on these cups no more than the repeats do, so that what
    # is left over by person and cup together is all repeatability.
    head, *lines = [line.split("\t") for line in GRID.splitlines()]
    rows = [
        (person, cup, float(value))
        for person, *values in lines
        for cup, value in zip(head[1:], values, strict=True)
    ]
    frame = pd.DataFrame(rows, columns=["person", "cup", "mm"])
    told = tell(study)
    assert (told.people, told.cups, told.readings) == (3, 5, 30)
    assert told.interaction_sd == 0
    left_over = ols("mm ~ person + cup", frame).fit().mse_resid
    assert told.repeatability.value**2 == pytest.approx(left_over)


def test_it_reads_semicolons_units_and_gaps():
    found = read_grid("person;a;b\nP1;6;\nP2;1/4 in;7,5 mm\n", "wall_thickness")
    assert found.people == ["P1", "P2", "P2"]
    assert found.cups == ["a", "a", "b"]
    # An inch is 25.4 mm (NIST SP 811).
    assert found.values == pytest.approx([6, 25.4 / 4, 7.5])


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("", "Write the cups in the first line"),
        ("person\ta\ta\nP1\t6\t6", "none twice"),
        ("person\ta\n\t6", "does not begin with a person"),
        ("person\ta\nP1\t6\t7", "more readings than there are cups"),
        ("person\ta\nP1\tsix", "Line 2, a: “six” is not a size"),
        ("person\ta\nP1\t6000", "no likely wall"),
    ],
)
def test_what_cannot_be_read_is_said_with_its_place(typed, said):
    with pytest.raises(StudyError, match=said):
        read_grid(typed, "wall_thickness")


def test_a_grid_that_cannot_be_read_is_kept_as_typed(client, judged, study):
    client.force_login(judged.teacher)
    path = f"/measuring/studies/{study.pk}/"
    typed = "person\ta\tb\tc\nP1\t6\tsix\t7"
    assert client.post(path, {"typed": typed, "instrument": ""}).status_code == 302
    text = client.get(path).content.decode()
    assert "“six” is not a size" in text
    assert "P1\t6\tsix\t7" in text


def test_too_few_people_cups_or_repeats_are_said(client, judged, study):
    study.typed = "person\ta\tb\tc\nP1\t6\t6\t6\nP2\t6\t6\t7"
    study.save()
    assert "it takes 2 people, 3 cups and 10 repeats" in page(client, judged.teacher, study)


def test_a_new_study_begins_with_an_empty_grid(client, judged):
    client.force_login(judged.teacher)
    begun = {"title": "Rule", "quantity": "dimension", "instrument": "", "people": "A, B"}
    answer = client.post("/measuring/studies/", {**begun, "cups": 3, "repeats": 2})
    study = MeasuringStudy.objects.get()
    assert answer.url == f"/measuring/studies/{study.pk}/"
    assert study.typed == empty_grid(["A", "B"], 3, 2)
    assert study.typed.count("\n") == 4
    assert client.post("/measuring/studies/", {**begun, "people": "A"}).status_code == 422


def test_the_share_of_a_band_is_four_standard_deviations_of_the_measuring(client, judged, study):
    limits = list(Limit.objects.filter(criterion__rubric=judged.rubric))
    told = tell(study)
    eaten = bands_eaten(told, study.quantity, limits)
    assert eaten
    for each in eaten:
        assert each.share.value == pytest.approx(4 * told.measuring.value / each.band)
    text = page(client, judged.teacher, study)
    assert all(each.label in text for each in eaten)


def test_the_repeatability_is_taken_over_into_the_own_instrument(client, judged, study):
    client.force_login(judged.teacher)
    client.post(f"/measuring/studies/{study.pk}/take/")
    judged.calliper.refresh_from_db()
    assert judged.calliper.repeatability == pytest.approx(
        tell(study).repeatability.value, abs=0.0005
    )
    study.refresh_from_db()
    assert study.taken_over_at is not None


@pytest.mark.parametrize(
    ("own_unit", "said"), [(None, "ships with the site"), ("deg", "reads deg")]
)
def test_no_other_instrument_is_changed(client, judged, study, own_unit, said):
    study.instrument = Instrument.objects.create(
        name="Other",
        owner=judged.teacher if own_unit else None,
        unit=own_unit or "mm",
        resolution=1,
        repeatability=0.5,
    )
    study.save()
    client.force_login(judged.teacher)
    answer = client.post(f"/measuring/studies/{study.pk}/take/", follow=True)
    study.instrument.refresh_from_db()
    assert study.instrument.repeatability == 0.5
    assert said in answer.content.decode()


def test_it_is_its_owners_alone(client, judged, study):
    for reader in (judged.student, judged.head, judged.colleague):
        client.force_login(reader)
        assert client.get(f"/measuring/studies/{study.pk}/").status_code == 404
