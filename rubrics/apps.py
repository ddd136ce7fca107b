"""The judgement as an app; the starter rubric is made sure of after every migration."""

from django.apps import AppConfig
from django.db.models.signals import post_migrate, pre_delete

from studio.projects.signals import measures_asked, project_copied


def _carry_rubric(source, copy, **kwargs):
    # Models are ready only once every app is loaded.
    from rubrics.rubric.copying import carry_rubric  # noqa: PLC0415

    carry_rubric(source, copy)


def _ensure_starters(using, **kwargs):
    # Models are ready only once every app is loaded.
    from rubrics.rubric.starter_rubric import ensure_starter_rubrics  # noqa: PLC0415

    if using == "default":
        ensure_starter_rubrics()


def _forget_printings(instance, **kwargs):
    # Models are ready only once every app is loaded.
    from rubrics.families.print_runs import forget  # noqa: PLC0415

    forget(instance.pk)


def _measures_asked(project, **kwargs):
    # Models are ready only once every app is loaded.
    from rubrics.evidence.asked import asked_of  # noqa: PLC0415

    return asked_of(project)


class RubricsConfig(AppConfig):
    name = "rubrics"
    verbose_name = "Judgement"

    def ready(self):
        post_migrate.connect(_ensure_starters, sender=self)
        project_copied.connect(_carry_rubric)
        measures_asked.connect(_measures_asked)
        pre_delete.connect(_forget_printings, sender="studio.Student")
