from django.urls import URLPattern, URLResolver, include, path

from curriculum.views import editor, library, retire, sheet

app_name = "curriculum"
urlpatterns: list[URLPattern | URLResolver] = [
    # library
    path("library/", library.library, name="library"),
    path("library/export/", library.library_export, name="library_export"),
    path("library/import/", library.library_import, name="library_import"),
    path("library/new/", editor.exercise_new, name="exercise_new"),
    path("library/<int:pk>/", library.exercise, name="exercise"),
    path("library/<int:pk>/retire/", retire.exercise_retire, name="exercise_retire"),
    path("library/versions/<int:pk>/", library.version, name="version"),
    path("library/versions/<int:pk>/compare/", library.compare, name="compare"),
    path("library/versions/<int:pk>/draft/", editor.draft, name="draft"),
    path("library/versions/<int:pk>/<str:key>/sheet/", sheet.sheet, name="sheet"),
    path("library/versions/<int:pk>/<str:key>/sheet.pdf", sheet.sheet_pdf, name="sheet_pdf"),
    path("library/versions/<int:pk>/<str:key>/usage/", sheet.usage, name="usage"),
    path("library/drafts/<int:pk>/", editor.draft_edit, name="draft_edit"),
    path("library/drafts/<int:pk>/publish/", editor.publish, name="publish"),
    path("library/drafts/<int:pk>/discard/", retire.draft_discard, name="draft_discard"),
    path("library/drafts/<int:pk>/findings/", editor.setup_findings, name="setup_findings"),
    path("library/drafts/<int:pk>/new-setup/", editor.setup_new, name="setup_new"),
    path("library/drafts/<int:pk>/setups/<str:key>/", editor.setup_edit, name="setup_edit"),
    path(
        "library/drafts/<int:pk>/setups/<str:key>/remove/",
        editor.setup_remove,
        name="setup_remove",
    ),
    path("", include("curriculum.class_urls")),
]
