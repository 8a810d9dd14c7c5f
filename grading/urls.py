from django.urls import URLPattern, URLResolver, path

from grading.views import grade, keyin, progress, session, today

app_name = "grading"
urlpatterns: list[URLPattern | URLResolver] = [
    # the student's own
    path("today/", today.today, name="today"),
    path("today/<int:pk>/start/", today.attempt_start, name="attempt_start"),
    path("today/<int:pk>/sheet/", today.own_sheet, name="own_sheet"),
    path("attempts/<int:pk>/log/", today.log, name="log"),
    path("attempts/<int:pk>/", today.attempt, name="attempt"),
    path("record/", today.own_record, name="own_record"),
    # the session
    path("session/", session.next_session, name="next_session"),
    path("sessions/<int:pk>/", session.session, name="session"),
    path("sessions/<int:pk>/day-sheet/", session.day_sheet, name="day_sheet"),
    path("sessions/<int:pk>/day-sheet.pdf", session.day_sheet_pdf, name="day_sheet_pdf"),
    path("attempts/<int:pk>/hold/", session.hold_tap, name="hold_tap"),
    # the instructor's bench
    path("classes/<int:pk>/queue/", grade.queue, name="queue"),
    path("attempts/<int:pk>/grade/", grade.grade, name="grade"),
    path("attempts/<int:pk>/verdict/", grade.verdict, name="verdict"),
    path("attempts/<int:pk>/void/", grade.void, name="void"),
    path("attempts/<int:pk>/next/", grade.next_give, name="next_give"),
    path("classes/<int:pk>/students/<int:student>/decide/", grade.decide, name="decide"),
    path("assignments/<int:pk>/practice/", grade.practice_look, name="practice_look"),
    path("sessions/<int:pk>/key-in/", keyin.keyin, name="keyin"),
    # progress and records
    path("classes/<int:pk>/progress/", progress.progress, name="progress"),
    path("library/<int:pk>/results/", progress.exercise_results, name="exercise_results"),
    path("classes/<int:pk>/results.csv", progress.results_csv, name="results_csv"),
    path("classes/<int:pk>/students/<int:student>/", progress.record, name="record"),
    path("classes/<int:pk>/students/<int:student>/pdf/", progress.record_pdf, name="record_pdf"),
]
