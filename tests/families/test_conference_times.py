"""Conference times: one after another, round a break, within the day."""

from datetime import date, time
from itertools import pairwise

import pytest
from django.test import Client
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from rubrics.families.conference_times import TimesError, slots
from rubrics.families.portfolios import enrolled
from rubrics.models import Report
from studio.models import Section
from tests.pages import page_text
from tests.world import make_world


def minutes_of(at: time) -> int:
    return 60 * at.hour + at.minute


def test_every_ten_minutes_from_four_with_a_break():
    begun = slots(time(16), 10, 6, (time(16, 30), time(16, 45)))
    told = [f"{each:%H:%M}" for each in begun]
    assert told == ["16:00", "16:10", "16:20", "16:45", "16:55", "17:05"]


def test_a_talk_that_would_reach_into_the_break_begins_after_it():
    assert slots(time(16, 5), 10, 3, (time(16, 20), time(16, 30)))[1:] == [
        time(16, 30),
        time(16, 40),
    ]


@given(
    st.integers(0, 20 * 60), st.integers(3, 30), st.integers(0, 8),
    st.tuples(st.integers(0, 1439), st.integers(0, 1439)).filter(lambda p: p[0] < p[1]),
)  # fmt: skip
def test_talks_never_meet_one_another_or_the_break(first, minutes, count, pause):
    stop, on = pause
    try:
        begun = slots(
            time(first // 60, first % 60),
            minutes,
            count,
            (time(stop // 60, stop % 60), time(on // 60, on % 60)),
        )
    except TimesError:
        # Refused only where even without a break the last would end too late.
        assert first + count * minutes + (on - stop) + minutes > 24 * 60
        return
    at = [minutes_of(each) for each in begun]
    assert len(at) == count
    assert all(b - a >= minutes for a, b in pairwise(at))
    assert all(each + minutes <= stop or each >= on for each in at)
    assert not at or at[0] >= first


def test_what_cannot_be_is_told():
    with pytest.raises(TimesError, match="Only 2 of 3 talks"):
        slots(time(23, 30), 15, 3)
    with pytest.raises(TimesError, match="ends before it begins"):
        slots(time(16), 10, 3, (time(17), time(16, 30)))


@pytest.mark.django_db
class TestPage:
    @pytest.fixture(autouse=True)
    def _open(self):
        self.world = make_world()
        self.client = Client()
        self.client.force_login(self.world.people["teacher"])
        self.section = Section.objects.get(pk=self.world.ids["section_id"])
        self.path = reverse("report_section", args=[self.section.pk])

    def fill(self, **more):
        told = {"fill": "1", "on": "2026-11-30", "first": "16:00", "minutes": "10"}
        return self.client.post(self.path, told | more, follow=True)

    def test_the_list_is_filled_in_its_order_and_says_its_day(self):
        page = page_text(self.fill(pause_from="16:10", pause_until="16:25"))
        assert "Monday, 30 November 2026" in page
        students = enrolled(self.section)
        reports = {each.student_id: each for each in Report.objects.filter(section=self.section)}
        told = [f"{reports[each.pk].conference_at:%H:%M}" for each in students]
        assert told[:3] == ["16:00", "16:25", "16:35"][: len(told)]
        assert {each.conference_on for each in reports.values()} == {date(2026, 11, 30)}

    def test_a_time_typed_afterwards_keeps_the_day(self):
        self.fill()
        students = enrolled(self.section)
        typed = {f"time-{each.pk}": "" for each in students}
        typed |= {f"language-{each.pk}": "en" for each in students}
        self.client.post(self.path, typed | {f"time-{students[0].pk}": "18:20"})
        report = Report.objects.get(section=self.section, student=students[0])
        assert (report.conference_at, report.conference_on) == (time(18, 20), date(2026, 11, 30))
        others = Report.objects.filter(section=self.section).exclude(pk=report.pk)
        assert all(each.conference_at is None for each in others)

    @pytest.mark.parametrize(
        ("more", "said"),
        [
            ({"pause_from": "16:10"}, "A break wants both of its times, or neither."),
            ({"first": "soon"}, "Write a time such as 17:40."),
            ({"on": ""}, "Which day?"),
            ({"first": "23:55"}, "before midnight"),
            ({"minutes": "1"}, "greater than or equal to 3"),
        ],
    )
    def test_what_cannot_be_is_a_sentence_and_nothing_changes(self, more, said):
        page = page_text(self.fill(**more))
        assert said in page
        assert "16:00" in page or "first" in more
        assert not Report.objects.filter(section=self.section, conference_at__isnull=False).exists()
