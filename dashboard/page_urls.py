"""The addresses of the pages."""

from django.urls import URLPattern, path

from dashboard.forms.acts import FORMS
from dashboard.forms.builders_link import LINK_FORMS
from dashboard.forms.calls import CALL_FORMS
from dashboard.views.assigning import assign_page
from dashboard.views.calls import call_page, callback_act_page, callback_page, callbacks_page
from dashboard.views.company import change_limits_page, limits_page, settings_page, your_settings_page
from dashboard.views.compared import compare_page
from dashboard.views.copies import site_copies_page
from dashboard.views.crew_records import (
    change_crew_page,
    crew_page,
    crews_page,
    day_off_page,
    member_page,
    new_crew_page,
    new_day_off_page,
    new_member_page,
    remove_day_off_page,
    remove_member_page,
)
from dashboard.views.crews import crew_progress_page
from dashboard.views.deliveries import delivery_page, put_off_page, receive_delivery_page
from dashboard.views.deliveries_planned import change_delivery_page, new_delivery_page
from dashboard.views.door_systems import (
    change_door_system_page,
    door_system_page,
    door_systems_page,
    new_door_system_page,
    new_edition_page,
    withdraw_page,
)
from dashboard.views.drawings import drawings_page
from dashboard.views.equipment import (
    change_equipment_page,
    equipment_page,
    new_equipment_page,
    new_out_of_use_page,
    one_equipment_page,
    out_of_use_page,
    remove_out_of_use_page,
)
from dashboard.views.find import find_page
from dashboard.views.for_builder import builder_link_page, for_the_builder_page
from dashboard.views.jobs import job_page, jobs_page
from dashboard.views.needs import needs_somebody_page
from dashboard.views.opening import opening_page
from dashboard.views.opening_acts import act_page
from dashboard.views.people import (
    access_page,
    change_person_page,
    new_person_page,
    password_page,
    people_page,
    person_page,
    revoke_token_page,
)
from dashboard.views.punch_items import close_punch_item_page, punch_items_page
from dashboard.views.readings import inspection_page, readings_page
from dashboard.views.reminders import reminders_page
from dashboard.views.reports import report_file, report_page, reports_page
from dashboard.views.sheets import material_sheet_pdf, opening_sheet_pdf, site_report_pdf, wall_sheet_pdf
from dashboard.views.sign_in import sign_in, sign_out
from dashboard.views.site import site_day, site_manifest, site_page, site_words, site_worker
from dashboard.views.units import new_unit_page, unit_page
from dashboard.views.weeks import crews_weeks_page
from dashboard.views.your_password import your_password

urlpatterns: list[URLPattern] = [
    path("", crew_progress_page, name="crew-progress"),
    path("crews-weeks/", crews_weeks_page, name="crews-weeks"),
    path("sign-in/", sign_in, name="sign-in"),
    path("sign-out/", sign_out, name="sign-out"),
    path("your-password/", your_password, name="your-password"),
    path("your-settings/", your_settings_page, name="your-settings"),
    path("settings/", settings_page, name="settings"),
    path("settings/limits/", limits_page, name="limits"),
    path("settings/limits/<int:check_id>/", change_limits_page, name="limits-edit"),
    path("jobs/", jobs_page, name="jobs"),
    path("jobs/<int:job_id>/", job_page, name="job"),
    path("jobs/<int:job_id>/materials/<slug:paper>.pdf", material_sheet_pdf, name="material-sheet"),
    path("openings/<int:opening_id>/", opening_page, name="opening"),
    path("openings/<int:opening_id>/sheet/<slug:paper>.pdf", opening_sheet_pdf, name="opening-sheet"),
    path("openings/<int:opening_id>/wall/<slug:paper>.pdf", wall_sheet_pdf, name="wall-sheet"),
    path("openings/<int:opening_id>/site-report/<slug:paper>.pdf", site_report_pdf, name="site-report"),
    path("openings/<int:opening_id>/assign/", assign_page, name="assign"),
    path("openings/<int:opening_id>/unit/", unit_page, name="unit"),
    path("openings/<int:opening_id>/unit/new/", new_unit_page, name="unit-new"),
    path("openings/<int:opening_id>/drawings/", drawings_page, name="drawings"),
    path("openings/<int:opening_id>/readings/<slug:key>/", readings_page, name="readings"),
    path("openings/<int:opening_id>/inspections/<uuid:inspection_id>/", inspection_page, name="inspection"),
    path("openings/<int:opening_id>/compare/", compare_page, name="compare"),
    *(path(f"openings/<int:opening_id>/{name}/", act_page(form), name=f"opening-{name}")
      for name, form in {**FORMS, **LINK_FORMS}.items()),
    path("openings/<int:opening_id>/builder-links/<uuid:link_id>/", builder_link_page, name="builder-link"),
    path("for-the-builder/<str:token>/", for_the_builder_page, name="for-the-builder"),
    path("jobs/<int:job_id>/deliveries/new/", new_delivery_page, name="delivery-new"),
    path("deliveries/<int:delivery_id>/", delivery_page, name="delivery"),
    path("deliveries/<int:delivery_id>/edit/", change_delivery_page, name="delivery-edit"),
    path("deliveries/<int:delivery_id>/later/", put_off_page, name="delivery-later"),
    path("deliveries/<int:delivery_id>/receive/", receive_delivery_page, name="receive-delivery"),
    path("door-systems/", door_systems_page, name="door-systems"),
    path("door-systems/new/", new_door_system_page, name="door-system-new"),
    path("door-systems/<int:system_id>/", door_system_page, name="door-system"),
    path("door-systems/<int:system_id>/edit/", change_door_system_page, name="door-system-edit"),
    path("door-systems/<int:system_id>/new-edition/", new_edition_page, name="door-system-new-edition"),
    path("door-systems/<int:system_id>/withdraw/", withdraw_page, name="door-system-withdraw"),
    path("equipment/", equipment_page, name="equipment"),
    path("equipment/new/", new_equipment_page, name="equipment-new"),
    path("equipment/<int:equipment_id>/", one_equipment_page, name="equipment-one"),
    path("equipment/<int:equipment_id>/edit/", change_equipment_page, name="equipment-edit"),
    path("equipment/<int:equipment_id>/out-of-use/", new_out_of_use_page, name="equipment-out"),
    path("out-of-use/<int:out_id>/", out_of_use_page, name="out-of-use"),
    path("out-of-use/<int:out_id>/remove/", remove_out_of_use_page, name="out-of-use-remove"),
    path("reports/", reports_page, name="reports"),
    path("reports/<slug:key>/", report_page, name="report"),
    path("reports/<slug:key>.<slug:kind>", report_file, name="report-file"),
    path("find/", find_page, name="find"),
    path("openings/<int:opening_id>/call/", call_page, name="call"),
    path("callbacks/", callbacks_page, name="callbacks"),
    path("callbacks/<int:callback_id>/", callback_page, name="callback"),
    *(path(f"callbacks/<int:callback_id>/{name}/", callback_act_page(form), name=f"callback-{name}")
      for name, form in CALL_FORMS.items()),
    path("crews/", crews_page, name="crews"),
    path("crews/new/", new_crew_page, name="crew-new"),
    path("crews/<int:crew_id>/", crew_page, name="crew"),
    path("crews/<int:crew_id>/edit/", change_crew_page, name="crew-edit"),
    path("crews/<int:crew_id>/people/new/", new_member_page, name="crew-member-new"),
    path("crew-members/<int:member_id>/", member_page, name="crew-member"),
    path("crew-members/<int:member_id>/remove/", remove_member_page, name="crew-member-remove"),
    path("days-off/new/", new_day_off_page, name="day-off-new"),
    path("days-off/<int:day_off_id>/", day_off_page, name="day-off"),
    path("days-off/<int:day_off_id>/remove/", remove_day_off_page, name="day-off-remove"),
    path("people/", people_page, name="people"),
    path("people/new/", new_person_page, name="person-new"),
    path("people/<int:person_id>/", person_page, name="person"),
    path("people/<int:person_id>/edit/", change_person_page, name="person-edit"),
    path("people/<int:person_id>/password/", password_page, name="person-password"),
    path("people/<int:person_id>/access/", access_page, name="person-access"),
    path("tokens/<uuid:token_id>/revoke/", revoke_token_page, name="token-revoke"),
    path("reminders/", reminders_page, name="reminders"),
    path("needs-somebody/", needs_somebody_page, name="needs-somebody"),
    path("punch-items/", punch_items_page, name="punch-items"),
    path("punch-items/<uuid:item_id>/close/", close_punch_item_page, name="close-punch-item"),
    path("site/", site_page, name="site"),
    path("site-copies/", site_copies_page, name="site-copies"),
    path("site/day/", site_day, name="site-day"),
    path("site/words/", site_words, name="site-words"),
    path("site/worker.js", site_worker, name="site-worker"),
    path("site/manifest.webmanifest", site_manifest, name="site-manifest"),
]
