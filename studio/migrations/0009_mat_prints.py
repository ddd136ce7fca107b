"""A check bar belongs to a printed mat and to who photographs on it, not to a section."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

NEVER_TOLD_MM = 100.0
"""What stood on record where nobody had measured: such a mat is asked for again."""


def to_prints(apps, schema_editor):
    """One mat for every section and person who took photos there."""
    mats = apps.get_model("studio", "MatPrint").objects
    photos = apps.get_model("studio", "Photo").objects
    taken = photos.exclude(added_by=None).order_by("section_id", "added_by_id")
    pairs = taken.values_list("section_id", "section__mat_bar_mm", "added_by_id").distinct()
    for section, bar, owner in pairs:
        told = None if bar == NEVER_TOLD_MM else bar
        mat = mats.create(owner_id=owner, bar_mm=told)
        photos.filter(section_id=section, added_by_id=owner).update(mat=mat)


def to_sections(apps, schema_editor):
    """The latest measured mat of a section's photos."""
    photos = apps.get_model("studio", "Photo").objects
    sections = apps.get_model("studio", "Section").objects
    for section in sections.all():
        last = (
            photos.filter(section=section, mat__bar_mm__isnull=False)
            .order_by("-mat_id")
            .values_list("mat__bar_mm", flat=True)
            .first()
        )
        if last is not None:
            sections.filter(pk=section.pk).update(mat_bar_mm=last)


class Migration(migrations.Migration):
    dependencies = [
        ("studio", "0008_wall_ends"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RemoveConstraint(model_name="section", name="check_bar_plausible"),
        migrations.CreateModel(
            name="MatPrint",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "bar_mm",
                    models.FloatField(
                        blank=True,
                        help_text="As a ruler reads it on the printed mat; a true print has 100.",
                        null=True,
                        verbose_name="check bar [mm]",
                    ),
                ),
                ("begun_at", models.DateTimeField(auto_now_add=True)),
                (
                    "owner",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="mat_prints",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ("pk",),
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("bar_mm__isnull", True),
                            models.Q(("bar_mm__gte", 80), ("bar_mm__lte", 120)),
                            _connector="OR",
                        ),
                        name="check_bar_plausible",
                    )
                ],
            },
        ),
        migrations.AddField(
            model_name="photo",
            name="mat",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.SET_NULL,
                related_name="photos",
                to="studio.matprint",
            ),
        ),
        migrations.RunPython(to_prints, to_sections),
        migrations.RemoveField(model_name="section", name="mat_bar_mm"),
    ]
