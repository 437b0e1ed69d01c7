"""Repair: for whoever keeps the installation; everything is seen but secrets, and only office records are changed."""

import pytest
from django.contrib.messages import get_messages
from django.urls import reverse

from dashboard.repair import CHANGED, SECRET, repair
from jobs.models import Change, Opening, WorkStep
from jobs.services import office
from tests.dashboard.forms import Form
from tests.dashboard.world import World
from tests.factories import act_for, make_opening, make_unit, make_user
from tests.visits import text

pytestmark = pytest.mark.django_db


@pytest.fixture
def keeper(client):
    keeper = make_user("guest", is_superuser=True)
    client.force_login(keeper)
    return keeper


def address(record):
    return reverse(f"repair:{record._meta.label_lower.replace('.', '_')}_change", args=[record.pk])


def test_nobody_but_whoever_keeps_the_installation_comes_in(client):
    for role in ("office", "lead", "guest"):
        client.force_login(make_user(role))
        assert client.get(reverse("repair:index")).status_code == 302
    client.logout()
    assert reverse("sign-in") in client.get(reverse("repair:index"), follow=True).redirect_chain[-1][0]


def test_every_table_can_be_looked_at_and_no_secret_is_among_them(client, keeper):
    World()
    assert not set(SECRET) & set(repair._registry)
    for model in repair._registry:
        row = model._default_manager.first()
        assert client.get(reverse(f"repair:{model._meta.label_lower.replace('.', '_')}_changelist")).status_code == 200
        if row is not None:
            assert client.get(address(row)).status_code == 200, model


def test_a_change_goes_by_the_act_of_the_office_under_the_version_that_was_read(client, keeper):
    opening = make_opening(tag="A1")
    sent = Form(text(client.get(address(opening))).replace('id="opening_form"', 'class="record"')).sent
    assert "stage" not in sent, "a stage is written by its gate and by nobody else"
    office.change(act_for("office"), opening, {"location": "hall"}, version=1, record="openings")
    answer = client.post(address(opening), {**sent, "tag": "A2"})
    assert "changed by somebody else" in str([str(m) for m in get_messages(answer.wsgi_request)])
    sent = Form(text(client.get(address(opening))).replace('id="opening_form"', 'class="record"')).sent
    client.post(address(opening), {**sent, "tag": "A2"})
    assert Opening.objects.values_list("tag", "location", "version").get() == ("A2", "hall", 3)
    assert Change.objects.filter(record="openings", what="opening changed", by=keeper).count() == 1


def test_what_follows_from_a_record_is_put_right_with_it_as_on_its_page(client, keeper):
    unit = make_unit(make_opening(), "AB")
    panel = unit.panels.get(letter="A")
    sent = Form(text(client.get(address(panel))).replace('id="panel_form"', 'class="record"')).sent
    client.post(address(panel), {**sent, "weighed_grams": "250000"})
    step = WorkStep.objects.get(opening=unit.opening, stage="panels hung")
    assert (step.lifting_grams, step.to_bring_in["panels"][0]["mass"]) == (250_000, "250.000")
    sent = Form(text(client.get(address(unit.system))).replace('id="doorsystem_form"', 'class="record"')).sent
    client.post(address(unit.system), {**sent, "panel_thickness": "55000000"})
    step.refresh_from_db()
    assert step.to_bring_in["load"] == {"bare_thickness": "55.000000 mm"}
    panel.refresh_from_db()
    unit.panels.update(state="received")
    sent = Form(text(client.get(address(unit.opening))).replace('id="opening_form"', 'class="record"')).sent
    answer = client.post(address(unit.opening), {**sent, "pocket_side": "right"})
    assert "Panels have come already (A, B)" in str([str(m) for m in get_messages(answer.wsgi_request)])


def test_what_was_recorded_on_site_is_left_alone_and_nothing_is_made_or_removed(client, keeper):
    world = World()
    for model in repair._registry:
        row, label = model._default_manager.first(), model._meta.label_lower.replace(".", "_")
        assert client.get(reverse(f"repair:{label}_add")).status_code == 403
        if row is None:
            continue
        assert client.post(reverse(f"repair:{label}_delete", args=[row.pk]), {"post": "yes"}).status_code == 403
        if model not in CHANGED:
            assert client.post(address(row), {}).status_code == 403, model
    assert world.openings["own"].job_id is not None
