from django.urls import URLPattern, URLResolver

app_name = "grading"
urlpatterns: list[URLPattern | URLResolver] = []
