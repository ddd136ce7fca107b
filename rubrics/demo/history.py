"""Two projects before the demo's cup, judged and published for the pages of progress; all invented.

The marks follow from those of the cup: a level lower here and there, so that the class climbs; a
few students have a story of their own. They are given through the functions that the pages call.
"""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from pathlib import Path
from random import Random

from django.utils import timezone

from rubrics.demo import stand_ins
from rubrics.judging import marking
from rubrics.models import Criterion, Rubric
from rubrics.publishing.publish import publish
from rubrics.rubric.versions import CriterionContent, LevelContent, choose_rubric, make_rubric
from studio.models import Outcome, Piece, Project, Section, Stage
from studio.projects.pieces import begin_pieces, note_outcome

RUBRIC_NAME = "Hand-built vessel"
LEVELS = (
    (4, "Assured", "100"),
    (3, "Capable", "85"),
    (2, "On the way", "70"),
    (1, "At the start", "55"),
)
# Letter as in the cup's rubric, name, weight, group, descriptors from the highest level down.
CRITERIA = (
    ("A", "Intent, revision and critique", 20, Criterion.Group.THINKING,
     ("Several sketches, and a reason for the one you chose.", "Two sketches with sizes.",
      "One sketch.", "Begun without a plan.")),
    ("B", "Wall", 25, Criterion.Group.CRAFT,
     ("Even all the way round and up.", "Nearly even; one place a little thick.",
      "Plainly heavier at one side.", "Too thick or too thin to trust.")),
    ("D", "Rim and foot", 20, Criterion.Group.CRAFT,
     ("The rim is level and the foot stands firm.", "The rim rises a little.",
      "The rim is wavy, or the piece rocks.", "It does not stand on its own.")),
    ("F", "Surface", 20, Criterion.Group.DESIGN,
     ("The surface leads the eye.", "The surface is cared for.", "Patchy.", "Little was done.")),
    ("G", "Studio habits", 15, Criterion.Group.HABITS,
     ("Wrapped, labelled and clean without being asked.", "Mostly so.", "Needed reminders.",
      "Clay, tools or people were put at risk.")),
)  # fmt: skip
CUP_LETTERS = "ABCDEFGHI"

# Number, title, weeks before today, of ten marks so many that are a level below the cup's.
PROJECTS = ((1, "Pinch pot pair", 10, 7), (2, "Coil vase", 5, 4))

STORIES = {
    "Giulia M.": {1: {}, 2: {}},
    "Idris B.": {1: {"B": 1}, 2: {"B": 1}},
    "Viktor I.": {1: {"G": 3}, 2: {"G": 2}},
}
"""Levels that are told apart: flat in all, climbing at the wall, falling in habits."""
ABSENT = {2: ("Uma G.",)}
SAID = {
    1: "Two pots that belong together. Next time keep the rim from drying first.",
    2: "The coils are well joined inside. Let the lower wall stiffen before you build on.",
}
READS_SPANISH = ("Camila R.", "Mateo C.")


def build(scenario: dict, section: Section, teacher, pictures: Path) -> None:
    """Make the two earlier projects of the demo's class, published.

    ``pictures`` is the folder of those that stand in for a few of the pieces.
    """
    rubric = make_rubric(RUBRIC_NAME, _criteria(), owner=teacher)
    for number, title, weeks, lower in PROJECTS:
        project = Project.objects.create(
            section=section,
            number=number,
            title=title,
            begun_on=timezone.localdate() - timedelta(weeks=weeks),
        )
        choose_rubric(project, rubric)
        _judge(scenario, project, rubric, lower, teacher)
        by_code = {piece.code: piece for piece in project.pieces.select_related("section")}
        stand_ins.hang(pictures, by_code, teacher)
        publish(project, teacher)
    section.students.filter(name__in=READS_SPANISH).update(family_language="es")


def _criteria() -> list[CriterionContent]:
    return [
        CriterionContent(
            letter=letter,
            name=name,
            weight=Decimal(weight),
            group=group,
            description="",
            levels=[
                LevelContent(number, level, Decimal(points), descriptor)
                for (number, level, points), descriptor in zip(LEVELS, descriptors, strict=True)
            ],
            limits=[],
        )
        for letter, name, weight, group, descriptors in CRITERIA
    ]


def _judge(scenario: dict, project: Project, rubric: Rubric, lower: int, teacher) -> None:
    students = {student.name: student for student in project.section.students.all()}
    makers = [
        each for each in scenario["pieces"] if each["name"] not in ABSENT.get(project.number, ())
    ]
    codes = [
        (students[each["name"]], each["code"].replace("K3", f"K{project.number}"))
        for each in makers
    ]
    criteria = list(Rubric.objects.whole().get(pk=rubric.pk).criteria.all())
    pieces = {piece.student_id: piece for piece in begin_pieces(project, codes)}
    Piece.objects.filter(project=project).update(stage=Stage.GLAZED, state=Piece.State.FINISHED)
    # In an order drawn by chance, as on the shelves: a drift would be the reader's doing.
    for place in Random(project.number).sample(range(len(makers)), len(makers)):
        each = makers[place]
        piece = pieces[students[each["name"]].pk]
        version = marking.open_assessment(piece, teacher).version
        for column, criterion in enumerate(criteria):
            level = _level(
                each, criterion.letter, project.number, (7 * place + 3 * column) % 10 < lower
            )
            mark = marking.set_level(piece, criterion, level, teacher, expected_version=version)
            version = mark.assessment.version
        marking.set_words(
            piece,
            teacher,
            words=SAID[project.number],
            next_step="",
            seen_words="",
            seen_next_step="",
        )
        note_outcome(Outcome(piece=piece, stage=Stage.GLAZED, kind="sound", doing="craft"), teacher)


def _level(each: dict, letter: str, project: int, is_lower: bool) -> int:
    """The cup's level, one lower where told; a story's own level before both."""
    told = STORIES.get(each["name"], {}).get(project)
    cup = each["levels"][CUP_LETTERS.index(letter)]
    level = int(cup) if cup.isdigit() else 2
    if told is not None:
        return told.get(letter, level)
    return max(1, level - is_lower)
