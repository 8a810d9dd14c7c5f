from django.urls import path

from shared.people.views import own, records, signing, staff

app_name = "people"
urlpatterns = [
    path("", signing.home, name="home"),
    path("sign-in/", signing.sign_in, name="sign_in"),
    path("sign-out/", signing.sign_out, name="sign_out"),
    path("tablet/", signing.tablet, name="tablet"),
    path("tablet/<int:pk>/", signing.tablet_pin, name="tablet_pin"),
    path("preferences/", signing.preferences, name="preferences"),
    path("campus/", signing.campus_choose, name="campus_choose"),
    path("campus/settings/", staff.campus_settings, name="campus_settings"),
    path("me/", own.account, name="account"),
    path("me/settings/", own.own_settings, name="own_settings"),
    path("me/pin/", own.own_pin, name="own_pin"),
    path("me/password/", own.own_password, name="own_password"),
    path("people/", staff.people, name="people"),
    path("people/export/", staff.people_export, name="people_export"),
    path("people/add/", staff.person_add, name="person_add"),
    path("people/elsewhere/", staff.role_elsewhere, name="role_elsewhere"),
    path("people/pins/", staff.pins_missing, name="pins_missing"),
    path("people/<int:pk>/", staff.person, name="person"),
    path("people/<int:pk>/pin/", staff.pin_reset, name="pin_reset"),
    path("people/<int:pk>/erase/", staff.person_erase, name="person_erase"),
    path("tablets/", staff.tablet_list, name="tablets"),
    path("tablets/enrol/", staff.tablet_enrol, name="tablet_enrol"),
    path("tablets/<int:pk>/revoke/", staff.tablet_revoke, name="tablet_revoke"),
    path("audit/", records.audit, name="audit"),
    path("audit/export/", records.audit_export, name="audit_export"),
]
