"""Which address shows what."""

from django.urls import URLPattern, URLResolver, include, path

from buildlog.views import (
    crew,
    devices,
    entries,
    home,
    hours,
    jobs,
    join,
    loads,
    segments,
    sign_in,
    sphere,
    stints,
    today,
)

BUILD: list[URLPattern | URLResolver] = [
    path("join/", join.join, name="join"),
    path("join/here/", join.join_here, name="join_here"),
    path("switch/", join.switch_person, name="switch_person"),
    path("switch/<int:who>/", join.enter, name="enter"),
    path("today/", today.today, name="today"),
    path("today/<slug:kind>/", today.entry, name="today_entry"),
    path("devices/", devices.page, name="devices"),
    path("devices/invite/", devices.invite, name="device_invite"),
    path("devices/<uuid:device>/rename/", devices.rename, name="device_rename"),
    path("devices/<uuid:device>/revoke/", devices.revoke, name="device_revoke"),
    path("devices/<uuid:device>/unlock/", devices.unlock, name="device_unlock"),
    path("stints/<uuid:stint>/", stints.correct, name="stint_correct"),
    path("stints/<uuid:stint>/confirm/", stints.confirm, name="stint_confirm"),
    path("entries/", entries.entries, name="entries"),
    path("crew/", crew.page, name="crew"),
    path("crew/add/", crew.add, name="crew_add"),
    path("crew/<int:pk>/", crew.person, name="crew_person"),
    path("crew/<int:pk>/shifts/", crew.shift_add, name="crew_shift_add"),
    path("crew/<int:pk>/shifts/<int:shift>/drop/", crew.shift_drop, name="crew_shift_drop"),
    path("crew/<int:pk>/weekly/", crew.pattern_add, name="crew_pattern_add"),
    path("crew/<int:pk>/weekly/<int:pattern>/drop/", crew.pattern_drop, name="crew_pattern_drop"),
    path("crew/<int:pk>/pin/", crew.pin, name="crew_pin"),
    path("crew/<int:pk>/leave/", crew.leave, name="crew_leave"),
    path("load/<slug:kind>/", loads.page, name="load"),
    path("hours/", hours.page, name="hours"),
    path("hours/enter/", hours.enter, name="hours_enter"),
    path("jobs/", jobs.page, name="jobs"),
    path("jobs/<int:pk>/", jobs.job, name="job"),
    path("jobs/<int:pk>/done/", jobs.done, name="job_done"),
    path("sphere/", sphere.sphere, name="sphere"),
    path("assign/", sphere.assign, name="assign"),
    path("assign/<int:record>/undo/", sphere.assign_undo, name="assign_undo"),
    path("segments/<slug:segment>/", segments.segment, name="segment"),
    path("segments/<slug:segment>/tick/", segments.tick, name="tick"),
    path("segments/<slug:segment>/reopen/", segments.reopen, name="reopen"),
]

urlpatterns: list[URLPattern | URLResolver] = [
    path("", home.home, name="home"),
    path("sign-in/", sign_in.sign_in, name="sign_in"),
    path("sign-out/", sign_in.sign_out, name="sign_out"),
    path("first-run/", sign_in.first_run, name="first_run"),
    path("s/<slug:label>/", today.label, name="label"),
    path("S/<slug:label>", today.label),  # in capitals and short: as small as a printed code can be
    path("b/<slug:code>/", include(BUILD)),
]
