"""Addresses of the judgement."""

from django.urls import path

from rubrics.views import (
    checks,
    clays,
    feedback,
    feedback_state,
    judging,
    look_over,
    piece,
    rubrics,
    shelves,
)

urlpatterns = [
    path("rubrics/", rubrics.rubrics, name="rubrics"),
    path("rubrics/<int:rubric_id>/", rubrics.rubric, name="rubric"),
    path("rubrics/<int:rubric_id>/edit/", rubrics.rubric_edit, name="rubric_edit"),
    path("rubrics/<int:rubric_id>/copy/", rubrics.rubric_copy, name="rubric_copy"),
    path("rubrics/<int:rubric_id>/version/", rubrics.rubric_version, name="rubric_version"),
    path("projects/<int:project_id>/rubric/", rubrics.rubric_choose, name="rubric_choose"),
    path("projects/<int:project_id>/judge/", judging.judge, name="judge"),
    path("projects/<int:project_id>/judge/undo/", judging.undo, name="undo"),
    path("projects/<int:project_id>/judge/<int:criterion_id>/", shelves.shelf, name="shelf"),
    path(
        "projects/<int:project_id>/judge/<int:criterion_id>/keep/",
        judging.keep_rest,
        name="keep_rest",
    ),
    path("projects/<int:project_id>/look-over/", look_over.look_over, name="look_over"),
    path("projects/<int:project_id>/publish/", look_over.publish, name="publish"),
    path("pieces/<int:piece_id>/judge/", piece.judge_piece, name="judge_piece"),
    path("pieces/<int:piece_id>/marks/<int:criterion_id>/", judging.mark_save, name="mark_save"),
    path("pieces/<int:piece_id>/lift/<int:criterion_id>/", shelves.lift, name="lift"),
    path("pieces/<int:piece_id>/words/", judging.words_save, name="words_save"),
    path("pieces/<int:piece_id>/checks/", checks.piece_checks, name="piece_checks"),
    path("pieces/<int:piece_id>/checks/<slug:check>/row/", checks.row_check, name="row_check"),
    path("projects/<int:project_id>/checks/<slug:check>/", checks.rows_check, name="rows_check"),
    path("projects/<int:project_id>/judge/state/", checks.judge_state, name="judge_state"),
    path("pieces/<int:piece_id>/feedback/", feedback.feedback, name="feedback"),
    path("pieces/<int:piece_id>/feedback.pdf", feedback.feedback_pdf, name="feedback_pdf"),
    path("pieces/<int:piece_id>/sum/", feedback.working, name="working"),
    path("pieces/<int:piece_id>/changes/", feedback.mark_changes, name="mark_changes"),
    path(
        "pieces/<int:piece_id>/feedback/state/",
        feedback_state.feedback_state,
        name="feedback_state",
    ),
    path("clays/<int:clay_id>/learned/", clays.clay_learned, name="clay_learned"),
    path("clays/<int:clay_id>/learned/take/", clays.clay_learned_take, name="clay_learned_take"),
]
