from django.urls import URLPattern, URLResolver

app_name = "curriculum"
urlpatterns: list[URLPattern | URLResolver] = []
