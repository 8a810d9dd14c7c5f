"""Pages of classes, floor, term plan and assigning; part of the namespace `curriculum`."""

from django.urls import URLPattern, path

from curriculum.views import assign, classes, floor, plan, sessions

urlpatterns: list[URLPattern] = [
    # classes
    path("classes/", classes.classes, name="classes"),
    path("classes/new/", classes.class_new, name="class_new"),
    path("classes/<int:pk>/", classes.shop_class, name="shop_class"),
    path("classes/<int:pk>/edit/", classes.class_edit, name="class_edit"),
    path("classes/<int:pk>/teaching/", classes.teaching, name="teaching"),
    path("classes/<int:pk>/roster/", classes.roster, name="roster"),
    path("classes/<int:pk>/roster/load/", classes.roster_load, name="roster_load"),
    path(
        "classes/<int:pk>/students/<int:student>/enrolment/",
        classes.enrolment_edit,
        name="enrolment_edit",
    ),
    # sessions
    path("classes/<int:pk>/sessions/", sessions.sessions, name="sessions"),
    path("classes/<int:pk>/sessions/make/", sessions.sessions_make, name="sessions_make"),
    path("classes/<int:pk>/sessions/new/", sessions.session_new, name="session_new"),
    path("sessions/<int:pk>/edit/", sessions.session_edit, name="session_edit"),
    path("sessions/<int:pk>/remove/", sessions.session_remove, name="session_remove"),
    path("sessions/<int:pk>/state/", sessions.session_state, name="session_state"),
    # floor
    path("booths/", floor.booths, name="booths"),
    path("booths/new/", floor.booth_new, name="booth_new"),
    path("booths/<int:pk>/", floor.booth_edit, name="booth_edit"),
    path("booths/<int:pk>/down/", floor.booth_down, name="booth_down"),
    path("closures/", floor.closures, name="closures"),
    path("closures/<int:pk>/remove/", floor.closure_remove, name="closure_remove"),
    # term plan
    path("plan/", plan.own_plan, name="own_plan"),
    path("classes/<int:pk>/plan/", plan.plan, name="plan"),
    path("classes/<int:pk>/plan/add/", plan.plan_add, name="plan_add"),
    path("classes/<int:pk>/plan/remove/", plan.plan_remove, name="plan_remove"),
    path("classes/<int:pk>/plan/move/", plan.plan_move, name="plan_move"),
    path("classes/<int:pk>/plan/target/", plan.plan_target, name="plan_target"),
    path("classes/<int:pk>/plan/setups/", plan.plan_setups, name="plan_setups"),
    path("classes/<int:pk>/plan/suggest/", plan.plan_suggest, name="plan_suggest"),
    path("classes/<int:pk>/plan/undo/", plan.plan_undo, name="plan_undo"),
    # assigning, booths and attendance of a session, sign-offs
    path("classes/<int:pk>/assign/", assign.assign, name="assign"),
    path("assignments/<int:pk>/withdraw/", assign.assignment_withdraw, name="assignment_withdraw"),
    path("sessions/<int:pk>/place/", assign.place, name="place"),
    path("sessions/<int:pk>/places/fill/", assign.places_fill, name="places_fill"),
    path("sessions/<int:pk>/attendance/", assign.attendance, name="attendance"),
    path("classes/<int:pk>/signoffs/", assign.signoffs, name="signoffs"),
]
