"""The demo's fairness: a second look at an earlier project and a study of a calliper, invented."""

from __future__ import annotations

from django.contrib.auth import get_user_model

from rubrics.fairness import second_look
from rubrics.models import MeasuringStudy
from studio.models import Instrument, Project

READER = "demo-second-reader"
LOOKED_AT = 2
"""Number of the project."""
SEED = 20_260_301
WITHIN = 0.1
LOWER, HIGHER = (2, 7), (5,)
"""Of every eleven marks, which the second reader gives a level lower, or higher."""
TURN = 11

# Wall of five cups [mm], two rounds of three people; the third reads a little high.
STUDY = """person\tcup 1\tcup 2\tcup 3\tcup 4\tcup 5
P1\t6.0\t5.2\t7.1\t6.4\t5.0
P1\t6.2\t5.2\t7.0\t6.5\t5.1
P2\t6.1\t5.1\t7.0\t6.3\t4.9
P2\t6.0\t5.3\t7.2\t6.5\t5.1
P3\t6.4\t5.5\t7.3\t6.6\t5.3
P3\t6.3\t5.4\t7.5\t6.8\t5.3
"""


def build(section, teacher) -> None:
    """A closed second look by an invented colleague, and a study with its instrument."""
    reader, _new = get_user_model().objects.get_or_create(
        username=READER,
        defaults={"first_name": "Demo", "last_name": "Second Reader", "is_active": False},
    )
    project = Project.objects.get(section=section, number=LOOKED_AT)
    look = second_look.open_look(project, teacher, reader=reader, within=WITHIN, seed=SEED)
    for place in look.places.all():
        second_look.judge_again(place, reader, _second(place))
    second_look.close(look)
    calliper = Instrument.objects.create(
        owner=teacher, name="Demo calliper", resolution=0.1, repeatability=0.2
    )
    MeasuringStudy.objects.create(
        owner=teacher,
        title="The demo's calliper",
        quantity="wall_thickness",
        instrument=calliper,
        typed=STUDY,
    )


def _second(place) -> dict[int, int]:
    """The first levels, now and then a level lower or higher."""
    levels = {}
    for column, (criterion, level) in enumerate(place.first.items()):
        turn = (4 * place.number + 3 * column) % TURN
        moved = level - (turn in LOWER) + (turn in HIGHER)
        levels[int(criterion)] = min(4, max(1, moved))
    return levels
