"""Every address with every role: who gets in, who is told no, for whom it does not exist.

A new address fails here until it has its row in ``DOORS``.
"""

from django.db import transaction
from django.test import Client, TestCase
from django.urls import get_resolver, reverse

from tests.world import make_world

IN, NO, NOTHING, TO_SIGN_IN = "in", 403, 404, "sign in"
ROLES = ("teacher", "colleague", "head", "student", "classmate", "outsider", "nobody")

# What a kind of door answers, in the order of ROLES: the section's teacher, a teacher of another
# section, a head it is shared with, the piece's student, another of the class, a user of nothing.
PUBLIC = (IN, IN, IN, IN, IN, IN, IN)
SIGNED_IN = (IN, IN, IN, IN, IN, IN, TO_SIGN_IN)
GROWN_UP = (IN, IN, IN, NO, NO, NO, TO_SIGN_IN)
TEACHER = (IN, IN, NO, NO, NO, NO, TO_SIGN_IN)
READ = (IN, NOTHING, IN, NOTHING, NOTHING, NOTHING, TO_SIGN_IN)
CHANGE = (IN, NOTHING, NO, NOTHING, NOTHING, NOTHING, TO_SIGN_IN)
PIECE = (IN, NOTHING, IN, IN, NOTHING, NOTHING, TO_SIGN_IN)
CHANGE_PIECE = (IN, NOTHING, NO, NO, NOTHING, NOTHING, TO_SIGN_IN)

# The intent is the student's own words; a rubric is read by everybody whose piece is judged by it.
STUDENT_TOO = (IN, NOTHING, NO, IN, NOTHING, NOTHING, TO_SIGN_IN)
# What a student alone does with the own piece.
MAKER = (NO, NOTHING, NO, IN, NOTHING, NOTHING, TO_SIGN_IN)
CLASS = (IN, NOTHING, IN, IN, IN, NOTHING, TO_SIGN_IN)
OWN_RUBRIC = (IN, NOTHING, NO, NO, NO, NOTHING, TO_SIGN_IN)
COPY = (IN, NOTHING, IN, NO, NO, NO, TO_SIGN_IN)
# The reader of a second look, in the world a colleague; its teacher may end it and read of it.
SECOND_READER = (NOTHING, IN, NOTHING, NOTHING, NOTHING, NOTHING, TO_SIGN_IN)
HAND_BACK = (IN, IN, NO, NOTHING, NOTHING, NOTHING, TO_SIGN_IN)
PRIVATE = (IN, NOTHING, NOTHING, NOTHING, NOTHING, NOTHING, TO_SIGN_IN)
OWN = (IN, NOTHING, NOTHING, NO, NO, NO, TO_SIGN_IN)

# A piece that was dealt to somebody to read: that reader's alone, not even its maker's.
READER = (NOTHING, NOTHING, NOTHING, NOTHING, IN, NOTHING, TO_SIGN_IN)
# Anchor cups are levelled by the class and its teacher; a head reads the comparison.
LEVELLERS = (IN, NOTHING, NO, IN, IN, NOTHING, TO_SIGN_IN)
OPENER = (IN, NOTHING, NO, NO, NO, NOTHING, TO_SIGN_IN)

DOORS = {
    "GET": {
        "today": SIGNED_IN,
        "health": PUBLIC,
        "find": GROWN_UP,
        "sign_in": PUBLIC,
        "password": SIGNED_IN,
        "password_choose": (TO_SIGN_IN,) * len(ROLES),
        "section_new": TEACHER,
        "section": READ,
        "section_edit": CHANGE,
        "report_section": CHANGE,
        "report_all": CHANGE,
        "report_joined": CHANGE,
        "report_preview": CHANGE,
        "report_pdf": CHANGE,
        "report_picture": CHANGE,
        "class_summary": READ,
        "class_summary_pdf": READ,
        "grade_scale": CHANGE,
        "section_people": CHANGE,
        "section_log": CHANGE,
        "students": READ,
        "roster_in": CHANGE,
        "results_out": CHANGE,
        "results_zip": CHANGE,
        "grades_out": CHANGE,
        "student_record": CHANGE,
        "student_remove": CHANGE,
        "rubric_case": CLASS,
        "rubric_case_in": GROWN_UP,
        "oneroster_in": TEACHER,
        "student": READ,
        "project_new": CHANGE,
        "project": READ,
        "project_edit": CHANGE,
        "plan_edit": READ,
        "pattern": READ,
        "project_copy": CHANGE,
        "making_board": READ,
        "mend_list": READ,
        "who_mended": READ,
        "habits": READ,
        "habits_week": READ,
        "pieces_new": CHANGE,
        "piece": PIECE,
        "piece_edit": CHANGE_PIECE,
        "piece_intent": STUDENT_TOO,
        "measure_own": MAKER,
        "judge_own": MAKER,
        "piece_glaze": STUDENT_TOO,
        "glaze_edit": STUDENT_TOO,
        "outcome_new": CHANGE_PIECE,
        "outcome_edit": CHANGE_PIECE,
        "photo_add": CHANGE_PIECE,
        "photos_in": READ,
        "photos_shoot": CHANGE,
        "turned": CHANGE_PIECE,
        "photo_paper": READ,
        "slips": READ,
        "mat": SIGNED_IN,
        "photo_compare": PIECE,
        "photo_confirm": CHANGE_PIECE,
        "photo_edit": CHANGE_PIECE,
        "photo": PIECE,
        "clays": GROWN_UP,
        "clay_new": GROWN_UP,
        "clay_edit": OWN,
        "clay_tests": OWN,
        "clay_learned": OWN,
        "measure": READ,
        "readings_export": READ,
        "readings_import": CHANGE,
        "instruments": GROWN_UP,
        "instrument": OWN,
        "kilns": GROWN_UP,
        "glazes": GROWN_UP,
        "kiln": READ,
        "firing_new": CHANGE,
        "firing": READ,
        "firing_edit": CHANGE,
        "firing_load": CHANGE,
        "firing_cones": CHANGE,
        "firing_log": CHANGE,
        "firing_unload": CHANGE,
        "rubrics": GROWN_UP,
        "rubric": CLASS,
        "rubric_edit": OWN_RUBRIC,
        "rubric_choose": CHANGE,
        "judge": CHANGE,
        "shelf": CHANGE,
        "marks_now": CHANGE,
        "look_over": CHANGE,
        "remeasure": READ,
        "self_agreement": READ,
        "student_waits": SIGNED_IN,
        "progress": PIECE,
        "judge_piece": CHANGE,
        "lift": CHANGE,
        "piece_checks": READ,
        "row_check": READ,
        "rows_check": READ,
        "judge_state": READ,
        "feedback": PIECE,
        "feedback_pdf": PIECE,
        "working": PIECE,
        "mark_changes": READ,
        "evidence_file": READ,
        "fairness": READ,
        "second_look_open": CHANGE,
        "second_looks_asked": SIGNED_IN,
        "today_judging": SIGNED_IN,
        "second_look": SECOND_READER,
        "second_look_piece": SECOND_READER,
        "second_look_photo": SECOND_READER,
        "second_look_result": READ,
        "measuring_studies": GROWN_UP,
        "measuring_study": PRIVATE,
        "feedback_state": PIECE,
        "mend_own": PIECE,
        "critiques": READ,
        "critique_new": CHANGE,
        "critique": READ,
        "gate": CHANGE,
        "critique_day": CHANGE,
        "critique_day_words": CHANGE,
        "critique_paper": CHANGE,
        "critique_piece": READ,
        "kept_apart": CHANGE,
        "looks": SIGNED_IN,
        "look": READER,
        "look_photo": READER,
        "look_typed": CHANGE,
        "remarks": PIECE,
        "eye_new": CHANGE,
        "eye": LEVELLERS,
        "eye_paper": OPENER,
        "eye_compare": CLASS,
        "eye_photo": CLASS,
    },
    "POST": {
        "sign_in": PUBLIC,
        "sign_out": PUBLIC,
        "password": SIGNED_IN,
        "section_new": TEACHER,
        "section_edit": CHANGE,
        "section_archive": CHANGE,
        "grade_scale": CHANGE,
        "section_people": CHANGE,
        "students": CHANGE,
        "roster_in": CHANGE,
        "student_record": CHANGE,
        "student_remove": CHANGE,
        "rubric_case_in": GROWN_UP,
        "oneroster_in": TEACHER,
        "student_leave": CHANGE,
        "place_answer": PRIVATE,
        "student": CHANGE,
        "student_login": CHANGE,
        "sign_in_codes": CHANGE,
        "password_choose": (TO_SIGN_IN,) * len(ROLES),
        "project_new": CHANGE,
        "project_edit": CHANGE,
        "plan_edit": CHANGE,
        "plan_figures": CHANGE,
        "project_copy": CHANGE,
        "pieces_new": CHANGE,
        "stages": CHANGE,
        "habit_tick": CHANGE,
        "piece_edit": CHANGE_PIECE,
        "piece_intent": STUDENT_TOO,
        "measure_own": MAKER,
        "judge_own": MAKER,
        "step_answer": MAKER,
        "piece_glaze": STUDENT_TOO,
        "glaze_edit": STUDENT_TOO,
        "outcome_new": CHANGE_PIECE,
        "outcome_edit": CHANGE_PIECE,
        "photo_add": CHANGE_PIECE,
        "photos_in": CHANGE,
        "photos_shoot": CHANGE,
        "turned": CHANGE_PIECE,
        "photos_change": CHANGE,
        "photos_measure": CHANGE,
        "photo_paper": CHANGE,
        "photo_read": CHANGE_PIECE,
        "photo_confirm": CHANGE_PIECE,
        "photo_sizes": CHANGE_PIECE,
        "photo_seam": CHANGE_PIECE,
        "photo_choose": STUDENT_TOO,
        "photo_edit": CHANGE_PIECE,
        "clay_new": GROWN_UP,
        "clay_edit": OWN,
        "clay_tests": OWN,
        "clay_weighing": OWN,
        "clay_take": OWN,
        "clay_learned_take": OWN,
        "measure": CHANGE,
        "reading_save": CHANGE,
        "readings_import": CHANGE,
        "instruments": GROWN_UP,
        "instrument": OWN,
        "kilns": GROWN_UP,
        "kiln": CHANGE,
        "firing_new": CHANGE,
        "firing_edit": CHANGE,
        "firing_remove": CHANGE,
        "firing_load": CHANGE,
        "firing_cones": CHANGE,
        "firing_log": CHANGE,
        "firing_unload": CHANGE,
        "rubric_edit": OWN_RUBRIC,
        "rubric_copy": COPY,
        "rubric_version": OWN_RUBRIC,
        "rubric_choose": CHANGE,
        "undo": CHANGE,
        "keep_rest": CHANGE,
        "publish": CHANGE,
        "mark_save": CHANGE,
        "words_save": CHANGE,
        "last_look_save": CHANGE,
        "report_section": CHANGE,
        "report_preview": CHANGE,
        "report_run": CHANGE,
        "report_chunk": CHANGE,
        "report_stop": CHANGE,
        "second_look_open": CHANGE,
        "second_look_piece": SECOND_READER,
        "second_look_close": HAND_BACK,
        "second_look_settle": CHANGE,
        "exemplar_pin": CHANGE,
        "measuring_studies": GROWN_UP,
        "measuring_study": PRIVATE,
        "measuring_study_take": PRIVATE,
        "critique_new": CHANGE,
        "critique_absent": CHANGE,
        "critique_close": CHANGE,
        "gate": CHANGE,
        "kept_apart": CHANGE,
        "look": READER,
        "look_save": READER,
        "look_typed": CHANGE,
        "remark_answer": MAKER,
        "remark_take": CHANGE,
        "eye_new": CHANGE,
        "eye": LEVELLERS,
        "eye_paper": OPENER,
        "eye_open": OPENER,
    },
}


def addresses(patterns=None):
    """Every (name, names of its arguments) of the site."""
    for each in get_resolver().url_patterns if patterns is None else patterns:
        if hasattr(each, "url_patterns"):
            yield from addresses(each.url_patterns)
        else:
            yield each.name, tuple(each.pattern.converters)


ARGUMENTS = dict(addresses())


def test_every_address_has_its_row():
    assert {name for doors in DOORS.values() for name in doors} == set(ARGUMENTS)


def knock(world, role, method, name):
    """What a role is answered at an address, as the table writes it."""
    client = Client()
    if world.people[role] is not None:
        client.force_login(world.people[role])
    path = reverse(name, kwargs={key: world.ids[key] for key in ARGUMENTS[name]})
    answer = client.get(path) if method == "GET" else client.post(path, {})
    sent_away = answer.status_code == 302 and answer.url.startswith(reverse("sign_in"))
    if sent_away and name != "sign_out":
        return TO_SIGN_IN
    if answer.status_code in (403, 404):
        return answer.status_code
    # An empty form may well be refused, with a sentence; never with a fault or a wrong method.
    assert answer.status_code in (200, 204, 302, 400, 409, 422), answer.status_code
    return IN


class Doors(TestCase):
    """The world is made once; what one role changes is rolled back before the next knocks."""

    @classmethod
    def setUpTestData(cls):
        cls.world = make_world()

    def test_reading(self):
        self.try_all("GET")

    def test_writing(self):
        self.try_all("POST")

    def try_all(self, method):
        for name, kind in DOORS[method].items():
            answers = {}
            for role in ROLES:
                with transaction.atomic():
                    answers[role] = knock(self.world, role, method, name)
                    transaction.set_rollback(True)
            with self.subTest(address=name):
                assert answers == dict(zip(ROLES, kind, strict=True))
