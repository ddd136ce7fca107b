"""Addresses of the judgement."""

from django.urls import path

from rubrics.views.checks import fragments
from rubrics.views.critique import day, eye, gate, reading, receiving, running
from rubrics.views.evidence import clays, mending, remeasuring
from rubrics.views.exports import case, results, student_record
from rubrics.views.fairness import evidence_file, exemplars, fairness, measuring, second_look
from rubrics.views.families import class_summary, progress, reports
from rubrics.views.judging import (
    look_over,
    look_rows,
    marks_now,
    piece,
    saving,
    self_agreement,
    self_judging,
    shelves,
)
from rubrics.views.publishing import feedback, feedback_state, next_steps
from rubrics.views.rubric import rubrics

urlpatterns = [
    path("rubrics/", rubrics.rubrics, name="rubrics"),
    path("rubrics/case/", case.rubric_case_in, name="rubric_case_in"),
    path("rubrics/<int:rubric_id>/", rubrics.rubric, name="rubric"),
    path("rubrics/<int:rubric_id>/case.json", case.rubric_case, name="rubric_case"),
    path("sections/<int:section_id>/results/", results.results_out, name="results_out"),
    path(
        "sections/<int:section_id>/results/oneroster.zip", results.results_zip, name="results_zip"
    ),
    path(
        "sections/<int:section_id>/results/grades.<slug:kind>",
        results.grades_out,
        name="grades_out",
    ),
    path("students/<int:student_id>/record/", student_record.student_record, name="student_record"),
    path("rubrics/<int:rubric_id>/edit/", rubrics.rubric_edit, name="rubric_edit"),
    path("rubrics/<int:rubric_id>/copy/", rubrics.rubric_copy, name="rubric_copy"),
    path("rubrics/<int:rubric_id>/version/", rubrics.rubric_version, name="rubric_version"),
    path("projects/<int:project_id>/rubric/", rubrics.rubric_choose, name="rubric_choose"),
    path("projects/<int:project_id>/judge/", saving.judge, name="judge"),
    path("projects/<int:project_id>/judge/now/", marks_now.marks_now, name="marks_now"),
    path("projects/<int:project_id>/judge/undo/", saving.undo, name="undo"),
    path("projects/<int:project_id>/judge/<int:criterion_id>/", shelves.shelf, name="shelf"),
    path(
        "projects/<int:project_id>/judge/<int:criterion_id>/keep/",
        saving.keep_rest,
        name="keep_rest",
    ),
    path("waits/", next_steps.student_waits, name="student_waits"),
    path("steps/<int:step_id>/answer/", next_steps.step_answer, name="step_answer"),
    path("students/<int:student_id>/progress/", progress.progress, name="progress"),
    path(
        "projects/<int:project_id>/agreement/",
        self_agreement.self_agreement,
        name="self_agreement",
    ),
    path("projects/<int:project_id>/remeasure/", remeasuring.remeasure, name="remeasure"),
    path("pieces/<int:piece_id>/own/", self_judging.judge_own_piece, name="judge_own"),
    path("pieces/<int:piece_id>/mend/", mending.mend_own, name="mend_own"),
    path("projects/<int:project_id>/mend/", mending.mend_list, name="mend_list"),
    path("projects/<int:project_id>/mended/", mending.who_mended, name="who_mended"),
    path("projects/<int:project_id>/look-over/", look_over.look_over, name="look_over"),
    path("pieces/<int:piece_id>/last-look/", look_rows.last_look_save, name="last_look_save"),
    path("projects/<int:project_id>/publish/", look_over.publish, name="publish"),
    path("pieces/<int:piece_id>/judge/", piece.judge_piece, name="judge_piece"),
    path("pieces/<int:piece_id>/marks/<int:criterion_id>/", saving.mark_save, name="mark_save"),
    path("pieces/<int:piece_id>/lift/<int:criterion_id>/", shelves.lift, name="lift"),
    path("pieces/<int:piece_id>/words/", saving.words_save, name="words_save"),
    path("pieces/<int:piece_id>/checks/", fragments.piece_checks, name="piece_checks"),
    path("pieces/<int:piece_id>/checks/<slug:check>/row/", fragments.row_check, name="row_check"),
    path("projects/<int:project_id>/checks/<slug:check>/", fragments.rows_check, name="rows_check"),
    path("projects/<int:project_id>/judge/state/", fragments.judge_state, name="judge_state"),
    path("today/judging/", fragments.today_judging, name="today_judging"),
    path("pieces/<int:piece_id>/feedback/", feedback.feedback, name="feedback"),
    path("pieces/<int:piece_id>/feedback.pdf", feedback.feedback_pdf, name="feedback_pdf"),
    path("pieces/<int:piece_id>/sum/", feedback.working, name="working"),
    path("pieces/<int:piece_id>/evidence.pdf", evidence_file.evidence_file, name="evidence_file"),
    path("projects/<int:project_id>/fairness/", fairness.fairness, name="fairness"),
    path(
        "projects/<int:project_id>/second-look/",
        second_look.second_look_open,
        name="second_look_open",
    ),
    path("second-looks/", second_look.second_looks_asked, name="second_looks_asked"),
    path("second-looks/<int:second_look_id>/", second_look.second_look, name="second_look"),
    path(
        "second-looks/<int:second_look_id>/<int:place>/",
        second_look.second_look_piece,
        name="second_look_piece",
    ),
    path(
        "second-looks/<int:second_look_id>/photos/<int:photo_id>/<slug:size>/",
        second_look.second_look_photo,
        name="second_look_photo",
    ),
    path(
        "second-looks/<int:second_look_id>/close/",
        second_look.second_look_close,
        name="second_look_close",
    ),
    path(
        "second-looks/<int:second_look_id>/result/",
        second_look.second_look_result,
        name="second_look_result",
    ),
    path(
        "second-looks/<int:second_look_id>/settle/",
        second_look.second_look_settle,
        name="second_look_settle",
    ),
    path(
        "pieces/<int:piece_id>/exemplar/<int:criterion_id>/",
        exemplars.exemplar_pin,
        name="exemplar_pin",
    ),
    path("measuring/studies/", measuring.measuring_studies, name="measuring_studies"),
    path("measuring/studies/<int:study_id>/", measuring.measuring_study, name="measuring_study"),
    path(
        "measuring/studies/<int:study_id>/take/",
        measuring.measuring_study_take,
        name="measuring_study_take",
    ),
    path("pieces/<int:piece_id>/changes/", feedback.mark_changes, name="mark_changes"),
    path(
        "pieces/<int:piece_id>/feedback/state/",
        feedback_state.feedback_state,
        name="feedback_state",
    ),
    path("clays/<int:clay_id>/learned/", clays.clay_learned, name="clay_learned"),
    path("clays/<int:clay_id>/learned/take/", clays.clay_learned_take, name="clay_learned_take"),
    path("sections/<int:section_id>/reports/", reports.report_section, name="report_section"),
    path("sections/<int:section_id>/reports.pdf", reports.report_all, name="report_all"),
    path("sections/<int:section_id>/reports/print/", reports.report_run, name="report_run"),
    path(
        "sections/<int:section_id>/reports/print/<uuid:run>/<int:number>/",
        reports.report_chunk,
        name="report_chunk",
    ),
    path(
        "sections/<int:section_id>/reports/print/<uuid:run>.pdf",
        reports.report_joined,
        name="report_joined",
    ),
    path(
        "sections/<int:section_id>/reports/print/<uuid:run>/stop/",
        reports.report_stop,
        name="report_stop",
    ),
    path(
        "sections/<int:section_id>/reports/<int:student_id>/",
        reports.report_preview,
        name="report_preview",
    ),
    path(
        "sections/<int:section_id>/reports/<int:student_id>.pdf",
        reports.report_pdf,
        name="report_pdf",
    ),
    path(
        "sections/<int:section_id>/reports/<int:student_id>/<int:sheet>.png",
        reports.report_picture,
        name="report_picture",
    ),
    path("sections/<int:section_id>/summary/", class_summary.class_summary, name="class_summary"),
    path(
        "sections/<int:section_id>/summary.pdf",
        class_summary.class_summary_pdf,
        name="class_summary_pdf",
    ),
    path("projects/<int:project_id>/critiques/", running.critiques, name="critiques"),
    path("projects/<int:project_id>/critiques/new/", running.critique_new, name="critique_new"),
    path("critiques/<int:critique_id>/", running.critique, name="critique"),
    path("critiques/<int:critique_id>/away/", running.critique_absent, name="critique_absent"),
    path("critiques/<int:critique_id>/close/", running.critique_close, name="critique_close"),
    path("critiques/<int:critique_id>/gate/", gate.the_gate, name="gate"),
    path("critiques/<int:critique_id>/day/", day.critique_day, name="critique_day"),
    path(
        "critiques/<int:critique_id>/day/<int:piece_id>/",
        day.critique_day_words,
        name="critique_day_words",
    ),
    path(
        "critiques/<int:critique_id>/paper/<slug:sheet_name>.pdf",
        day.critique_paper,
        name="critique_paper",
    ),
    path(
        "critiques/<int:critique_id>/pieces/<int:piece_id>/",
        receiving.critique_piece,
        name="critique_piece",
    ),
    path("sections/<int:section_id>/apart/", running.kept_apart, name="kept_apart"),
    path("looks/", reading.looks, name="looks"),
    path("looks/<int:look_id>/", reading.look, name="look"),
    path("looks/<int:look_id>/save/", reading.look_save, name="look_save"),
    path("looks/<int:look_id>/typed/", reading.look_typed, name="look_typed"),
    path(
        "looks/<int:look_id>/photos/<int:photo_id>/<slug:size>.jpg",
        reading.look_photo,
        name="look_photo",
    ),
    path("pieces/<int:piece_id>/remarks/", receiving.remarks, name="remarks"),
    path("remarks/<int:remark_id>/answer/", receiving.remark_answer, name="remark_answer"),
    path("remarks/<int:remark_id>/take/", receiving.remark_take, name="remark_take"),
    path("projects/<int:project_id>/eye/", eye.eye_new, name="eye_new"),
    path("eye/<int:eye_id>/", eye.eye, name="eye"),
    path("eye/<int:eye_id>/paper/", eye.eye_paper, name="eye_paper"),
    path("eye/<int:eye_id>/open/", eye.eye_open, name="eye_open"),
    path("eye/<int:eye_id>/compare/", eye.eye_compare, name="eye_compare"),
    path("eye/<int:eye_id>/photos/<int:photo_id>/<slug:size>.jpg", eye.eye_photo, name="eye_photo"),
]
