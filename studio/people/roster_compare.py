"""Compare a class list with a section: who is new, known, moved or missing, and the changes.

Between the look and the confirmation nothing is kept on the server; a seal over what was shown
tells whether the section changed meanwhile.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from hashlib import sha256

from django.db.models import Q

from studio import access
from studio.models import Section, Student
from studio.people import roster
from studio.people.roster import ADD, JOIN, MOVE
from studio.people.sections import Joining, RosterChange

ELSEWHERE_IN_THE_HOUSE = "another class of the house"


@dataclass(frozen=True, slots=True)
class ListComparison:
    """What a list means for a section.

    ``absent`` are students of the section whom the list does not have; ``moves`` says for a
    student's key the own sections they are in at present.
    """

    section: Section
    proposals: list[roster.RosterProposal]
    students: dict[int, Student]
    absent: list[Student]
    moves: dict[int, tuple[Section, ...]]

    @property
    def leaves(self) -> dict[int, str]:
        """The sections of ``moves`` in words."""
        return {pk: ", ".join(s.name for s in found) for pk, found in self.moves.items()}

    @property
    def is_quiet(self) -> bool:
        """Whether every line is somebody who is here already, and nobody is missing."""
        return not self.absent and all(p.case == roster.Case.HERE for p in self.proposals)

    @property
    def seal(self) -> str:
        """Changes with whatever the look shows."""
        shown = repr(
            (
                self.section.pk,
                self.proposals,
                [student.pk for student in self.absent],
                sorted((pk, [s.pk for s in found]) for pk, found in self.moves.items()),
            )
        )
        return sha256(shown.encode()).hexdigest()


def compare_with_section(
    user, section: Section, lines: Sequence[roster.RosterLine]
) -> ListComparison:
    """Compare a list with a section and with all whom the user sees. Four queries."""
    numbers = [line.number for line in lines if line.number]
    keys = [line.sourced_id for line in lines if line.sourced_id]
    visible = set(access.students(user).values_list("pk", flat=True))
    found = (
        Student.objects.filter(
            Q(pk__in=visible) | Q(school_id__in=numbers) | Q(sourced_id__in=keys)
        )
        .distinct()
        .prefetch_related("enrolments__section")
    )
    mine = set(access.read_sections(user).values_list("pk", flat=True))
    taught = set(access.taught_sections(user).values_list("pk", flat=True))
    students, known, moves = {}, [], {}
    for student in found:
        students[student.pk] = student
        known.append(_known(student, section, mine, is_seen=student.pk in visible))
        moves[student.pk] = tuple(
            each.section
            for each in student.enrolments.all()
            if each.section_id in taught - {section.pk} and each.left_on is None
        )
    proposals = roster.compare(list(lines), known)
    # A slip of the pen is the same person until told otherwise: not missing from the list.
    met = {proposal.known.pk for proposal in proposals if proposal.known}
    absent = [
        students[each.pk] for each in known if not (each.section or each.left or each.pk in met)
    ]
    return ListComparison(section, proposals, students, absent, moves)


def _known(student: Student, section: Section, mine: set[int], *, is_seen: bool) -> roster.Known:
    enrolments = student.enrolments.all()
    here = [each for each in enrolments if each.section_id == section.pk]
    elsewhere = [str(each.section) for each in enrolments if each.section_id in mine]
    return roster.Known(
        student.pk,
        student.name,
        student.school_id,
        "" if here else (elsewhere or [ELSEWHERE_IN_THE_HOUSE])[0],
        bool(here and here[0].left_on),
        student.sourced_id,
        is_seen,
    )


def joining(
    look: ListComparison, answers: Iterable[tuple[roster.RosterProposal, str]]
) -> list[Joining]:
    """Who joins, by the answers given to the lines."""
    found = []
    for proposal, answer in answers:
        line = proposal.line
        if answer == ADD:
            found.append(Joining(line.name, line.number, sourced_id=line.sourced_id))
        elif answer in (JOIN, MOVE):
            pk = proposal.known.pk
            leaves = look.moves[pk] if answer == MOVE else ()
            found.append(
                Joining(
                    line.name,
                    student=look.students[pk],
                    sourced_id=line.sourced_id,
                    leaves=leaves,
                )
            )
    return found


def change(
    look: ListComparison, answers, leaving: Sequence[Student], sourced_id: str = ""
) -> RosterChange:
    """All that a list changes in its section, by the answers given."""
    keyed = [
        (look.students[proposal.known.pk], proposal.line.sourced_id)
        for proposal in look.proposals
        if proposal.case == roster.Case.HERE
        and proposal.line.sourced_id
        and not proposal.known.sourced_id
    ]
    return RosterChange(look.section, joining(look, answers), leaving, keyed, sourced_id)
