"""A student measures an own piece on a phone, by keyboard alone."""

from django.urls import reverse

from studio.models import Reading
from tests.browser.conftest import PHONE


def test_a_student_measures_place_after_place_by_keyboard(open_page, school):
    school.piece.stage = "leather-hard"
    school.piece.save()
    page = open_page(reverse("measure_own", args=[school.piece.pk]), school.student, PHONE)
    for value in ("6.4", "1/4 in"):
        # The field of the next place holds the cursor: type, Enter, type, Enter.
        page.locator("#value:focus").wait_for()
        page.keyboard.type(value)
        with page.expect_navigation():
            page.keyboard.press("Enter")
    kept = Reading.objects.current().order_by("pk").values_list("typed", "source", "made_by")
    assert list(kept) == [
        ("6.4 mm", "student", school.student.pk),
        ("1/4 in", "student", school.student.pk),
    ]
    assert page.trouble == []
