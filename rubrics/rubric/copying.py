"""A copied project keeps the rubric it is judged by."""

from rubrics.models import RubricUse
from rubrics.rubric.versions import choose_rubric


def carry_rubric(source, copy, **kwargs) -> None:
    """Judge a copy by the rubric of the project it was copied from, where there is one."""
    use = RubricUse.objects.filter(project=source).select_related("rubric").first()
    if use is not None:
        choose_rubric(copy, use.rubric)
