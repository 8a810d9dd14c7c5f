from django.urls import path

from shared.people.views import signing

app_name = "people"
urlpatterns = [
    path("", signing.home, name="home"),
    path("sign-in/", signing.sign_in, name="sign_in"),
    path("sign-out/", signing.sign_out, name="sign_out"),
    path("tablet/", signing.tablet, name="tablet"),
    path("tablet/<int:pk>/", signing.tablet_pin, name="tablet_pin"),
    path("preferences/", signing.preferences, name="preferences"),
    path("campus/", signing.campus_choose, name="campus_choose"),
]
