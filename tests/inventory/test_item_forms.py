"""The forms of items, packs and suppliers."""

import pytest
from django.urls import reverse

from inventory.models import Pack, StockItem
from inventory.models import Supplier as SupplierRow
from shared.people.models import AuditEntry
from tests.factories import StockItemFactory
from tests.inventory.pages import page, post, text

# Items


def new(**fields):
    return {
        "kind": "bar", "name": "Flat bar 1/4 × 4 in", "metal": "steel", "thickness": "1/4 in",
        "width": "4 in", "factor": "1", "bias_cv": "0.1", "use_cv": "0", "is_active": "on",
        **fields,
    }  # fmt: skip


@pytest.mark.parametrize(
    ("fields", "key", "base", "moved_by"),
    [
        ({}, "bar:steel:6400:101600", "mm2", "cut"),
        ({"kind": "sheet", "thickness": "16 ga", "width": ""}, "sheet:steel:1500", "mm2", "cut"),
        (
            {"kind": "electrode", "thing": "e7018", "diameter": "1/8 in", "piece": "34 g"},
            "electrode:E7018:3200",
            "mg",
            "open",
        ),
        ({"kind": "gas", "thing": "C25"}, "gas:75 ar/25 co2", "mL", "exchange"),
        (
            {"kind": "wear", "thing": "Contact tip", "diameter": "0.035 in"},
            "wear:contact tip:900",
            "piece",
            "open",
        ),
        ({"kind": "sundry", "thing": "Cover lens"}, "sundry:cover lens", "piece", "issue"),
        (
            {"kind": "wear", "thing": "Nozzle", "moved_by": "issue"},
            "wear:nozzle",
            "piece",
            "issue",
        ),
    ],
)
def test_kind_and_sizes_make_the_specification(at_desk, campus, fields, key, base, moved_by):
    answer = post(at_desk, "item_new", **new(**fields))
    item = StockItem.objects.get()
    assert answer["Location"] == reverse("inventory:pack_new", args=[item.pk])
    assert (item.spec_key, item.base_unit, item.moved_by) == (key, base, moved_by)
    assert item.campus == campus
    assert AuditEntry.objects.filter(action="stock.item_added", target_id=str(item.pk)).exists()
    if "piece" in fields:
        assert item.piece_mg == 34_000


@pytest.mark.parametrize(
    ("fields", "field", "said"),
    [
        ({"metal": ""}, "metal", "Pick its metal"),
        ({"thickness": ""}, "thickness", "such as 1/4 in"),
        ({"thickness": "1/4"}, "thickness", "1/4 in"),
        ({"width": ""}, "width", "such as 4 in"),
        ({"kind": "rod"}, "thing", "such as E7018"),
        ({"kind": "rod", "thing": "ER70S-6"}, "diameter", "such as 1/8 in"),
        ({"name": ""}, "name", "required"),
        ({"factor": "0"}, "factor", "0.05"),
        ({"per_student_week": "some"}, "per_student_week", "10 ft²"),
        ({"piece": "34 in"}, "piece", "10 lb"),
    ],
)
def test_a_wrong_item_is_refused_at_its_field_and_nothing_typed_is_lost(
    at_desk, fields, field, said
):
    answer = post(at_desk, "item_new", **new(**fields))
    assert answer.status_code == 422
    assert said in answer.context["form"].errors[field][0]
    assert "Flat bar 1/4 × 4 in" in answer.content.decode() or field == "name"
    assert not StockItem.objects.exists()


def test_two_items_of_one_specification_are_refused(at_desk):
    post(at_desk, "item_new", **new())
    answer = post(at_desk, "item_new", **new(name="The same", thickness="6.35 mm"))
    assert answer.status_code == 422
    assert "has this very specification" in text(answer)
    assert StockItem.objects.count() == 1


def test_an_item_opened_for_change_and_saved_untouched_stays_the_same(at_desk, campus, clerk):
    for fields in (
        new(),
        new(kind="electrode", thing="E7018", diameter="1/8 in", piece="34 g"),
        new(kind="sundry", thing="Lens", per_student_week="2"),
        new(kind="gas", thing="75 Ar/25 CO2"),
    ):
        post(at_desk, "item_new", **fields)
    for item in StockItem.objects.all():
        before = StockItem.objects.filter(pk=item.pk).values().get()
        form = page(at_desk, "item_edit", item.pk).context["form"]
        sent = {name: form[name].value() for name in form.fields}
        sent = {name: value for name, value in sent.items() if value not in (None, "")}
        sent = {name: value for name, value in sent.items() if value is not False}
        answer = post(at_desk, "item_edit", item.pk, **sent)
        assert answer.status_code == 302, answer.context["form"].errors
        assert StockItem.objects.filter(pk=item.pk).values().get() == before


def test_an_items_kind_stays_with_its_ledger(at_desk, can):
    post(
        at_desk, "item_edit", can.item.pk, kind="gas", name="Renamed", thing="E7018",
        diameter="1/8 in", factor="2", bias_cv="0.1", use_cv="0.1", is_active="on",
    )  # fmt: skip
    can.item.refresh_from_db()
    assert (can.item.kind, can.item.base_unit, can.item.name) == ("electrode", "mg", "Renamed")


# Packs


def pack_fields(**fields):
    return {
        "name": "can, 50 lb", "content": "50 lb", "price": "148", "lead_days": "5",
        "approval_days": "8", "preferred": "on", "is_active": "on", **fields,
    }  # fmt: skip


def test_a_pack_is_typed_as_people_write_it_and_one_is_bought_by_default(at_desk, can):
    answer = post(at_desk, "pack_new", can.item.pk, **pack_fields())
    assert answer.status_code == 302
    made = Pack.objects.get(name="can, 50 lb")
    assert (made.size, made.price, made.preferred) == (22_679_619, 148, True)
    can.refresh_from_db()
    assert not can.preferred


def test_the_first_pack_is_bought_by_default_ticked_or_not(at_desk, campus):
    item = StockItemFactory(campus=campus)
    fields = pack_fields()
    del fields["preferred"]
    post(at_desk, "pack_new", item.pk, **fields)
    assert Pack.objects.get().preferred


@pytest.mark.parametrize(
    ("kind", "key", "content", "kept"),
    [
        ("sheet", "sheet:steel:6400", "48 × 96 in", (2_972_897, 2_438_400, 1_219_200)),
        ("sheet", "sheet:steel:6400", "4 x 8 ft", (2_972_897, 2_438_400, 1_219_200)),
        ("bar", "bar:steel:6400:101600", "20 ft", (619_354, 6_096_000, None)),
        ("bar", "bar:steel:6400:101600", "4 in × 20 ft", (619_354, 6_096_000, 101_600)),
        # a wall of 3.9 mm on 60.3 mm outside, rolled out over 6 m: pi × 56.4 × 6000
        ("pipe", "pipe:steel:3900:60300", "6 m", (1_063_115, 6_000_000, None)),
    ],
)
def test_a_size_is_read_and_comes_back_as_it_was_written(at_desk, campus, kind, key, content, kept):
    item = StockItemFactory(
        campus=campus, kind=kind, spec_key=key, base_unit="mm2", moved_by="cut", piece_mg=None
    )
    post(at_desk, "pack_new", item.pk, **pack_fields(content=content))
    pack = Pack.objects.get()
    assert (pack.size, pack.length_um, pack.width_um) == kept
    shown = page(at_desk, "pack_edit", pack.pk).context["form"]["content"].value()
    fields = pack_fields(content=shown, price="150")
    assert post(at_desk, "pack_edit", pack.pk, **fields).status_code == 302
    pack.refresh_from_db()
    assert (pack.size, pack.length_um, pack.width_um, pack.price) == (*kept, 150)


@pytest.mark.parametrize(
    ("fields", "field", "said"),
    [
        ({"content": "50 ft"}, "content", "10 lb"),
        ({"content": "0"}, "content", "10 lb"),
        ({"content": ""}, "content", "required"),
        ({"price": "-1"}, "price", "0"),
        ({"price": "1.23456"}, "price", "4"),
        ({"name": "can, 10 lb"}, "name", "of this name"),
        ({"lead_days": "x"}, "lead_days", "whole"),
    ],
)
def test_a_wrong_pack_is_refused_at_its_field(at_desk, can, fields, field, said):
    answer = post(at_desk, "pack_new", can.item.pk, **pack_fields(**fields))
    assert answer.status_code == 422
    assert said in answer.context["form"].errors[field][0]
    assert Pack.objects.count() == 1


@pytest.mark.parametrize("content", ["48", "50 %", "a lot", "0 m2"])
def test_a_wrong_size_says_what_would_be_one(at_desk, campus, content):
    item = StockItemFactory(
        campus=campus, kind="sheet", spec_key="sheet:steel:6400", base_unit="mm2", piece_mg=None
    )
    answer = post(at_desk, "pack_new", item.pk, **pack_fields(content=content))
    assert answer.status_code == 422
    assert answer.context["form"].errors["content"]
    assert not Pack.objects.exists()


# Suppliers


def test_a_supplier_is_added_with_its_days_and_changed(at_desk, campus):
    post(at_desk, "suppliers", name="Made-up Steel", delivery_weekdays=["1", "3"])
    one = SupplierRow.objects.get()
    assert (one.campus, one.delivery_weekdays) == (campus, [1, 3])
    assert "Made-up Steel Tuesday, Thursday" in text(page(at_desk, "suppliers"))
    assert post(at_desk, "suppliers", name="Made-up Steel").status_code == 422
    assert post(at_desk, "supplier_edit", one.pk, name="Other Steel").status_code == 302
    one.refresh_from_db()
    assert (one.name, one.delivery_weekdays) == ("Other Steel", [])
    assert SupplierRow.objects.count() == 1
