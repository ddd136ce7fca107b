import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


def forget_paper(apps, schema_editor):
    """Before this there was no place for an answer on paper."""
    apps.get_model("rubrics", "EyeLevel").objects.filter(by=None).delete()


class Migration(migrations.Migration):
    dependencies = [
        ("rubrics", "0006_fairness"),
        ("studio", "0005_rims_as_meant"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="ShelfOrder",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("pieces", models.JSONField(help_text="Ids of the pieces, in order.")),
                ("shown_at", models.DateTimeField(auto_now_add=True)),
            ],
            options={
                "verbose_name": "order shown on a shelf",
                "verbose_name_plural": "orders shown on shelves",
                "ordering": ("pk",),
            },
        ),
        migrations.AddField(
            model_name="critique",
            name="group_size",
            field=models.PositiveSmallIntegerField(
                blank=True,
                choices=[(3, "3"), (4, "4")],
                help_text="Each looks at the pieces of its own group. "
                "Empty: readers are dealt one by one.",
                null=True,
                verbose_name="groups of",
            ),
        ),
        migrations.AddField(
            model_name="eyelevel",
            name="student",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.CASCADE,
                related_name="+",
                to="studio.student",
            ),
        ),
        migrations.AddField(
            model_name="shown",
            name="group",
            field=models.PositiveSmallIntegerField(
                blank=True, help_text="Its group, from 1; empty where readers are dealt.", null=True
            ),
        ),
        migrations.AlterField(
            model_name="eyelevel",
            name="by",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.CASCADE,
                related_name="+",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.RunPython(migrations.RunPython.noop, forget_paper),
        migrations.AddConstraint(
            model_name="critique",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("group_size", None), ("group_size__in", (3, 4)), _connector="OR"
                ),
                name="three_or_four_round_a_table",
            ),
        ),
        migrations.AddConstraint(
            model_name="eyelevel",
            constraint=models.UniqueConstraint(
                fields=("cup", "criterion", "student"), name="one_eye_level_each_on_paper"
            ),
        ),
        migrations.AddConstraint(
            model_name="eyelevel",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("by__isnull", True), ("student__isnull", False)),
                    models.Q(("by__isnull", False), ("student__isnull", True)),
                    _connector="OR",
                ),
                name="eye_level_is_one_persons",
            ),
        ),
        migrations.AddField(
            model_name="shelforder",
            name="criterion",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.CASCADE,
                related_name="+",
                to="rubrics.criterion",
            ),
        ),
        migrations.AddField(
            model_name="shelforder",
            name="project",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.CASCADE,
                related_name="shelf_orders",
                to="studio.project",
            ),
        ),
        migrations.AddField(
            model_name="shelforder",
            name="reader",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.CASCADE,
                related_name="+",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.AddIndex(
            model_name="shelforder",
            index=models.Index(fields=["project", "criterion", "reader"], name="orders_shown"),
        ),
    ]
