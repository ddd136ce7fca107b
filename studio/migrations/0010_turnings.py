"""A piece photographed all round, and the photos that belong together."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("studio", "0009_mat_prints"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="Turning",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "stage",
                    models.CharField(
                        choices=[
                            ("wet", "wet"),
                            ("leather-hard", "leather-hard"),
                            ("bone dry", "bone dry"),
                            ("bisque", "bisque"),
                            ("glazed", "glazed"),
                        ],
                        max_length=12,
                    ),
                ),
                (
                    "found",
                    models.JSONField(
                        blank=True,
                        help_text="Form, figures and readings that the photos tell together.",
                        null=True,
                    ),
                ),
                ("read_at", models.DateTimeField(blank=True, null=True)),
                ("confirmed_at", models.DateTimeField(blank=True, null=True)),
                (
                    "confirmed_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "piece",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="turnings",
                        to="studio.piece",
                    ),
                ),
            ],
            options={
                "ordering": ("pk",),
            },
        ),
        migrations.AddField(
            model_name="photo",
            name="turning",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.SET_NULL,
                related_name="photos",
                to="studio.turning",
            ),
        ),
        migrations.AddConstraint(
            model_name="turning",
            constraint=models.UniqueConstraint(
                fields=("piece", "stage"), name="one_turning_a_stage"
            ),
        ),
        migrations.AddConstraint(
            model_name="turning",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("confirmed_at__isnull", True), ("found__isnull", False), _connector="OR"
                ),
                name="confirmed_turning_is_measured",
            ),
        ),
    ]
