from django.urls import include, path

urlpatterns = [
    path("", include("shared.people.urls")),
    path("", include("curriculum.urls")),
    path("", include("grading.urls")),
    path("", include("inventory.urls")),
]
