"""What a teacher writes for a family's page, beside what was published."""

from django.conf import settings
from django.db import models

from studio.models import Section, Student

LONGEST_POINT = 300
"""Characters of a strength or a next step: what stays readable on one page."""


class Report(models.Model):
    """The words of one student's page for the family in one section.

    Each is empty until the teacher writes it: then what was published speaks for itself.
    ``version`` counts writes, so that two windows never overwrite each other unseen.
    """

    student = models.ForeignKey(Student, on_delete=models.CASCADE, related_name="reports")
    section = models.ForeignKey(Section, on_delete=models.CASCADE, related_name="reports")
    strength = models.CharField("first strength", max_length=LONGEST_POINT, blank=True)
    strength_too = models.CharField("second strength", max_length=LONGEST_POINT, blank=True)
    next_step = models.CharField(max_length=LONGEST_POINT, blank=True)
    student_words = models.TextField(
        "the student's own words", max_length=1200, blank=True, help_text="As the student said it."
    )
    words = models.TextField("the teacher's words", max_length=2400, blank=True)
    conference_on = models.DateField("day of the conference", null=True, blank=True)
    conference_at = models.TimeField("conference time", null=True, blank=True)
    version = models.PositiveIntegerField(default=0, help_text="Counts writes.")
    changed_at = models.DateTimeField(auto_now=True)
    changed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )

    class Meta:
        ordering = ("pk",)
        constraints = [
            models.UniqueConstraint(
                fields=("student", "section"), name="one_report_a_student_in_a_section"
            ),
        ]

    def __str__(self):
        return f"Report of {self.student} in {self.section}"
