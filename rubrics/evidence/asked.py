"""What a project's rubric needs to have read: the measuring sheet asks for it first."""

from rubrics.checks.register import checks
from rubrics.models import Limit


def asked_of(project, **kwargs) -> frozenset[str] | None:
    """Quantities that the project's rubric leans on, ``"quantity"`` or ``"quantity:name"``.

    None where no criterion leans on a measure: then nobody knows what to ask first. One query.
    """
    limits = Limit.objects.filter(criterion__rubric__uses__project=project)
    wanted: set[str] = set()
    for key in set(limits.values_list("figure", flat=True)):
        name, _, figure = key.partition(".")
        check = checks().get(name)
        if check is not None:
            wanted.update(check.figure(figure).reads or check.reads)
    return frozenset(wanted) or None
