"""Cylinders at the shelf: content from the filling, readings of open ones, acetylene's draw."""

from dataclasses import replace
from uuid import uuid4

import pytest
from django.db import IntegrityError, connection, transaction
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from curriculum.core.spec import Gas
from curriculum.models import Attendance, Session
from inventory.models import CylinderReading, Movement, OpenPack, Pack
from inventory.services import open_pack, receive_packs
from inventory.services.draw import session_draw
from inventory.services.shelf import packs_in_use
from shared.people.models import Role
from shared.units import parse_measure, parse_range
from tests.factories import PackFactory, StockItemFactory, UserFactory
from tests.grading import scene
from tests.inventory.pages import post, text

FT3 = 28_316.846592  # mL
PSI = 6894.757293168


@pytest.fixture
def at_bench(campus, signed_in):
    return signed_in(UserFactory(roles=[Role.INSTRUCTOR]))


def gas(campus, name="argon", **more):
    return StockItemFactory(
        campus=campus, name=name, kind="gas", base_unit="mL", spec_key=f"gas:{name}",
        moved_by="exchange", piece_mg=None, factor=1.0, **more,
    )  # fmt: skip


def opened(item, by, *, name="cylinder", ft3=250, **filled):
    """Take a full cylinder into use."""
    pack = PackFactory(item=item, name=name, size=round(ft3 * FT3))
    for field, typed in filled.items():
        setattr(pack, field, parse_measure(typed, getattr(Pack, field).dimension))
    pack.save()
    return open_pack(pack=pack, key=str(uuid4()), by=by)


def left(row):
    (found,) = packs_in_use([row.item], row.item.campus, "us")[row.item.pk]
    return found.left


# What a pack states of its filling

PACK = {"name": "cylinder", "price": "49", "lead_days": "2", "approval_days": "8",
        "preferred": "on", "is_active": "on"}  # fmt: skip


@pytest.mark.parametrize(
    ("name", "filled", "ft3"),
    [
        # Oxy-acetylene handbook p. 18: 244 ft3 at 2200 psi and 70 °F (43.0 L of water)
        ("oxygen", {"water": "43.0 L", "fill_pressure": "2200 psi"}, 244),
        # reference/gas.toml, cylinder_computed (CoolProp 8.0.0): 247.4
        ("argon", {"water": "43.8 L", "fill_pressure": "2200 psi"}, 247.4),
        # 8.74 ft3/lb (reference/gas.toml)
        ("carbon dioxide", {"net_weight": "20 lb"}, 174.8),
    ],
)
def test_the_content_of_a_cylinder_is_computed_from_its_filling(at_desk, campus, name, filled, ft3):
    item = gas(campus, name)
    assert post(at_desk, "pack_new", item.pk, **PACK, content="", **filled).status_code == 302
    pack = item.packs.get()
    assert pack.size / FT3 == pytest.approx(ft3, rel=2e-3)
    shown = text(at_desk.get(item.get_absolute_url()))
    assert "How the content of cylinder came about" in shown
    assert "Content of the cylinder" in shown
    form = at_desk.get(reverse("inventory:pack_edit", args=[pack.pk])).context["form"]
    assert form["content"].value() is None  # stays computed
    assert all(str(form[field].value()) == typed for field, typed in filled.items())


def test_a_content_that_is_written_stands_as_it_is(at_desk, campus):
    item = gas(campus)
    filled = {"water": "43.8 L", "fill_pressure": "2200 psi"}
    post(at_desk, "pack_new", item.pk, **PACK, content="250 ft3", **filled)
    pack = item.packs.get()
    assert pack.size == round(250 * FT3)
    assert "How the content of" not in text(at_desk.get(item.get_absolute_url()))
    form = at_desk.get(reverse("inventory:pack_edit", args=[pack.pk])).context["form"]
    assert form["content"].value() == "250 ft³"


@pytest.mark.parametrize(
    ("name", "filled", "field", "said"),
    [
        ("argon", {"water": "43.8 L", "fill_pressure": "301 bar"}, "fill_pressure", "at most"),
        ("argon", {"water": "43.8 L"}, "content", "water capacity and pressure"),
        ("argon", {}, "content", "water capacity and pressure"),
        ("argon", {"water": "50", "fill_pressure": "2200 psi"}, "water", "L"),
        (
            "argon",
            {"water": "43.8 L", "fill_pressure": "2200 psi", "fill_temperature": "20 °F"},
            "fill_temperature",
            "at least",
        ),
        ("carbon dioxide", {}, "content", "weight of the gas"),
        ("95 ar/5 h2", {"water": "43.8 L", "fill_pressure": "2200 psi"}, None, "argon, oxygen"),
        ("50 ar/50 co2", {"water": "43.8 L", "fill_pressure": "2200 psi"}, "fill_pressure",
         "weigh it"),
    ],
)  # fmt: skip
def test_a_filling_that_tells_nothing_is_refused_at_its_field(
    at_desk, campus, name, filled, field, said
):
    item = gas(campus, name)
    answer = post(at_desk, "pack_new", item.pk, **PACK, content="", **filled)
    assert answer.status_code == 422
    form = answer.context["form"]
    errors = form.errors.get(field) or form.non_field_errors() or form.errors.get("name")
    assert said in " ".join(errors)
    assert not item.packs.exists()
    for typed in filled.values():
        assert f'value="{typed}"' in answer.content.decode()


# Readings of cylinders in use


def test_the_gauge_of_an_open_cylinder_tells_what_is_left(at_bench, campus, clerk):
    row = opened(gas(campus), clerk, water="43.8 L", fill_pressure="2200 psi")
    answer = post(
        at_bench, "cylinder_read", row.pk, temperature="70", **{f"open-{row.pk}-now": "1000"}
    )
    assert answer.status_code == 302
    reading = CylinderReading.objects.get()
    assert reading.pressure.typed == "1000 psi"
    assert reading.pressure.value == pytest.approx(1000 * PSI)
    # Volumes of argon in one of water at 1000 psig, 70 °F: 71.80 (CoolProp 8.0.0), 43.8 L of it.
    assert reading.left == pytest.approx(43_800 * 71.80, rel=1e-3)
    assert left(row) == reading.left
    assert Movement.objects.count() == 1  # the exchange: the ledger does not move
    shown = text(at_bench.get(row.item.get_absolute_url()))
    assert "gauge about 1000 psi" in shown or "gauge about 999 psi" in shown


def test_a_trade_size_with_its_pressure_is_enough(at_bench, campus, clerk):
    row = opened(gas(campus), clerk, ft3=125, fill_pressure="2015 psi")
    post(at_bench, "cylinder_read", row.pk, temperature="70", **{f"open-{row.pk}-now": "1000"})
    # 125 ft3 × 71.80 / 146.46, both CoolProp 8.0.0
    assert CylinderReading.objects.get().left / FT3 == pytest.approx(61.28, rel=2e-3)


def test_who_reads_in_metric_units_writes_bar_and_celsius(campus, clerk, signed_in):
    person = UserFactory(roles=[Role.INSTRUCTOR], units="metric")
    row = opened(gas(campus), clerk, water="43.8 L", fill_pressure="2200 psi")
    answer = post(
        signed_in(person), "cylinder_read", row.pk,
        temperature="21", **{f"open-{row.pk}-now": "100"},
    )  # fmt: skip
    assert answer.status_code == 302
    reading = CylinderReading.objects.get()
    assert (reading.pressure.value, reading.temperature.value) == (100e5, pytest.approx(294.15))


def test_acetylene_is_weighed_with_its_empty_weight(at_bench, campus, clerk):
    row = opened(gas(campus, "acetylene"), clerk, ft3=145)
    now, tare = f"open-{row.pk}-now", f"open-{row.pk}-tare"
    answer = post(at_bench, "cylinder_read", row.pk, temperature="70", **{now: "120"})
    assert answer.status_code == 422
    assert "empty weight as well" in text(answer)
    post(at_bench, "cylinder_read", row.pk, temperature="70", **{now: "120", tare: "115"})
    # 5 lb × 14.7 ft3/lb (trade figure, from memory)
    assert CylinderReading.objects.get().left / FT3 == pytest.approx(73.5, rel=1e-3)
    assert 'value="115"' in at_bench.get(row.item.get_absolute_url()).content.decode()


@pytest.mark.parametrize(
    ("now", "said"),
    [
        ("301 bar", "too large"), ("many", "psi"), ("4000 psi", "more than it was booked"),
        ("", "Nothing is written"), ("-5", "psi"),
    ],
)  # fmt: skip
def test_a_gauge_that_cannot_be_is_refused_and_stays_in_its_field(
    at_bench, campus, clerk, now, said
):
    row = opened(gas(campus), clerk, water="43.8 L", fill_pressure="2200 psi")
    answer = post(
        at_bench, "cylinder_read", row.pk, temperature="70", **{f"open-{row.pk}-now": now}
    )
    assert answer.status_code == 422
    assert said in text(answer)
    assert f'value="{now}"' in answer.content.decode() or not now
    assert not CylinderReading.objects.exists()


def test_a_temperature_outside_is_refused_at_its_field(at_bench, campus, clerk):
    row = opened(gas(campus), clerk, water="43.8 L", fill_pressure="2200 psi")
    answer = post(
        at_bench, "cylinder_read", row.pk, temperature="20", **{f"open-{row.pk}-now": "1000"}
    )
    assert answer.status_code == 422
    assert "too small" in text(answer)
    assert 'value="1000"' in answer.content.decode()


def test_the_count_takes_cylinders_with_the_shelf_all_or_none(at_desk, campus, clerk):
    row = opened(gas(campus), clerk, water="43.8 L", fill_pressure="2200 psi")
    receive_packs(pack=row.pack, packs=3, key="r", by=clerk)
    field = f"open-{row.pk}-now"
    shown = text(at_desk.get(reverse("inventory:shelf_count")))
    assert "Cylinders in use" in shown
    refused = post(
        at_desk,
        "shelf_count",
        temperature="70",
        **{field: "1000", f"item-{row.item_id}-found": "x"},
    )
    assert refused.status_code == 422
    assert 'value="1000"' in refused.content.decode()
    assert not CylinderReading.objects.exists()
    kept = post(at_desk, "shelf_count", temperature="70", **{field: "1000 psi"})
    assert kept.status_code == 302
    assert CylinderReading.objects.get().open_pack == row
    assert not Movement.objects.filter(kind="count").exists()


def test_a_form_sent_twice_is_one_reading(at_bench, campus, clerk):
    row = opened(gas(campus), clerk, water="43.8 L", fill_pressure="2200 psi")
    data = {"submission_key": str(uuid4()), "temperature": "70", f"open-{row.pk}-now": "900"}
    for _time in range(2):
        at_bench.post(reverse("inventory:cylinder_read", args=[row.pk]), data)
    assert CylinderReading.objects.count() == 1


def test_a_reading_is_never_changed(campus, clerk, at_bench):
    row = opened(gas(campus), clerk, water="43.8 L", fill_pressure="2200 psi")
    post(at_bench, "cylinder_read", row.pk, temperature="70", **{f"open-{row.pk}-now": "900"})
    with pytest.raises(IntegrityError, match="never edited"), transaction.atomic():
        CylinderReading.objects.update(left=1)


def test_a_cylinder_put_away_is_not_read(at_bench, campus, clerk):
    row = opened(gas(campus), clerk, water="43.8 L", fill_pressure="2200 psi")
    post(at_bench, "pack_finish", row.pk, left="7 %")
    post(at_bench, "cylinder_read", row.pk, temperature="70", **{f"open-{row.pk}-now": "900"})
    assert not CylinderReading.objects.exists()


def test_an_exchange_offers_the_usual_rest_and_reads_a_gauge(at_bench, campus, clerk):
    row = opened(gas(campus), clerk, water="43.8 L", fill_pressure="2200 psi")
    form = at_bench.get(row.item.get_absolute_url(), {"act": "exchange"}).context["form"]
    assert form["left"].value() == "7 %"  # calculations.md: 7 % residue returned (from memory)
    answer = post(
        at_bench, "move", row.item_id, act="exchange", pack=row.pack_id, mark="A-17",
        replaces=row.pk, left="100 psi", on=campus.today().isoformat(),
    )  # fmt: skip
    assert answer.status_code == 302
    row.refresh_from_db()
    # 43.8 L × 7.84 volumes at 100 psig (CoolProp 8.0.0)
    assert row.left == pytest.approx(43_800 * 7.84, rel=2e-3)
    assert OpenPack.objects.get(finished_at=None).mark == "A-17"
    assert "cylinder · A-17" in text(at_bench.get(row.item.get_absolute_url()))


def test_of_co2_a_gauge_says_to_weigh(at_bench, campus, clerk):
    row = opened(gas(campus, "carbon dioxide"), clerk, ft3=175)
    answer = post(at_bench, "pack_finish", row.pk, left="500 / 838 psi")
    assert answer.status_code == 422
    assert "weigh the cylinder" in text(answer)


def test_more_cylinders_cost_the_count_no_more_queries(at_desk, campus, clerk):
    item = gas(campus)
    url = reverse("inventory:shelf_count")

    def queries():
        with CaptureQueriesContext(
            connection,
        ) as caught:
            at_desk.get(url)
        return len(caught)

    opened(item, clerk, name="first", water="43.8 L", fill_pressure="2200 psi")
    queries()
    one = queries()
    for place in range(6):
        pack = PackFactory(item=item, name=f"more {place}", size=7_000_000, preferred=False)
        open_pack(pack=pack, key=str(uuid4()), by=clerk)
    assert queries() == one


# The draw of acetylene


def torch_class(students=3, **more):
    """A class of which each student burns 6 to 8 cfh of acetylene tonight."""
    fuel = Gas(name="acetylene", flow=parse_range("6 cfh, 5 to 8", "flow"))
    oxygen = Gas(name="oxygen", flow=parse_range("7 cfh", "flow"))
    flame = replace(scene.tee(), electrode=None, passes=(), fuel=fuel, oxygen=oxygen)
    content = scene.exercise(process="OFW", iso4063="311", setups=(flame,))
    return scene.shop(students, exercises=(content,), **more)


def fragment(client, session):
    return client.get(reverse("inventory:acetylene_draw", args=[session.pk]))


def manifold(campus, cylinders, content_ft3=210):
    item = gas(campus, "acetylene", manifold=cylinders)
    return PackFactory(item=item, size=round(content_ft3 * FT3))


def test_without_a_torch_there_is_nothing_to_say(signed_in, db):
    made = scene.shop(2)
    answer = fragment(signed_in(made.instructor), made.session)
    assert answer.status_code == 200
    assert not text(answer)


@pytest.mark.parametrize(
    ("cylinders", "said"),
    [
        # One cylinder of 210 ft3 gives 30 ft3/h at most (reference/safety.toml, example, read),
        # a tenth for steady use. Four torches at their largest flow, 8 cfh each, take 32.
        (1, "the manifold gives 30 ft³/h at most"),
        (2, "the manifold gives 42 ft³/h"),
    ],
)
def test_all_torches_are_held_against_the_manifold(signed_in, db, cylinders, said):
    made = torch_class(4)
    manifold(made.campus, cylinders)
    shown = text(fragment(signed_in(made.instructor), made.session))
    assert "Acetylene: 4 torches" in shown
    assert "draw 32 ft³/h" in shown
    assert said in shown
    assert ("outside" in shown) == (cylinders == 1)


def test_who_is_away_lights_no_torch(db):
    made = torch_class(3)
    manifold(made.campus, 1)
    Attendance.objects.create(session=made.session, student=made.students[0], present=False)
    assert len(session_draw(made.session).torches) == 2


def test_another_class_at_the_same_time_draws_from_the_same_cylinders(signed_in, db):
    made = torch_class(3)
    torch_class(2, name="Morning class", campus=made.campus)
    manifold(made.campus, 1)
    shown = text(fragment(signed_in(made.instructor), made.session))
    assert "draw 40 ft³/h" in shown
    assert "2 torches of other classes" in shown
    assert "Morning class pupil" not in shown


def test_without_a_manifold_it_says_what_to_enter(signed_in, db):
    made = torch_class(1)
    client = signed_in(made.instructor)
    assert "not on the shelf list" in text(fragment(client, made.session))
    manifold(made.campus, None)
    assert "how many cylinders feed the torches" in text(fragment(client, made.session))


def test_the_clerk_states_the_manifold(at_desk, campus):
    item = gas(campus, "acetylene")
    form = {"kind": "gas", "name": "Acetylene", "thing": "acetylene", "moved_by": "exchange",
            "factor": "1", "bias_cv": "0.1", "use_cv": "0.15", "is_active": "on"}  # fmt: skip
    assert post(at_desk, "item_edit", item.pk, **form, manifold="0").status_code == 422
    assert post(at_desk, "item_edit", item.pk, **form, manifold="2").status_code == 302
    item.refresh_from_db()
    assert item.manifold == 2


def test_more_torches_cost_no_more_queries(signed_in, db):
    def queries(made):
        client = signed_in(made.instructor)
        fragment(client, made.session)
        with CaptureQueriesContext(connection) as caught:
            assert "torch" in text(fragment(client, made.session))
        return len(caught)

    few = torch_class(1)
    manifold(few.campus, 1)
    one = queries(few)
    few.session.state = Session.State.LOST
    few.session.save()
    assert queries(torch_class(8, name="Third class", campus=few.campus)) == one
