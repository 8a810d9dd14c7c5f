from django.urls import URLPattern, URLResolver, path

from grading.views import today

app_name = "grading"
urlpatterns: list[URLPattern | URLResolver] = [
    # the student's own
    path("today/", today.today, name="today"),
    path("today/<int:pk>/start/", today.attempt_start, name="attempt_start"),
    path("today/<int:pk>/sheet/", today.own_sheet, name="own_sheet"),
    path("attempts/<int:pk>/log/", today.log, name="log"),
    path("attempts/<int:pk>/", today.attempt, name="attempt"),
    path("record/", today.own_record, name="own_record"),
]
