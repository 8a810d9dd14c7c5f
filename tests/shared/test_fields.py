"""Model and form fields for quantities."""

from decimal import Decimal

import pytest
from django import forms
from django.core.exceptions import ValidationError
from django.db import IntegrityError, connection, models
from django.template import Context, Template
from django.test.utils import isolate_apps
from django.utils.translation import override

from shared.fields import (
    MeasureField,
    MeasureFormField,
    RangeField,
    RangeFormField,
    quantity_constraints,
    translated,
)
from shared.units import Measure, Range, UnitError, parse_measure, parse_range

with isolate_apps("shared"):

    class Sized(models.Model):
        thickness = MeasureField("length", high=1)

        class Meta:
            abstract = True
            app_label = "shared"

    class Sample(Sized):
        name = models.CharField(max_length=20)
        current = RangeField("current", high=2000)
        cutting_oxygen_pressure = MeasureField("pressure", high=1e8)
        mass = MeasureField("mass", high=10, null=False)

        class Meta:
            app_label = "shared"
            # a field's own bounds are those of the model that states it, so not of an abstract one
            constraints = quantity_constraints("sample", {"thickness_m": (0, 1)})

        def __str__(self):
            return self.name


HALF_INCH = parse_measure("1/2 in", "length")
KILO = Measure.of(1, "kg")


@pytest.fixture
def table(transactional_db):
    """The table of `Sample`, made for one test."""
    with connection.schema_editor() as editor:
        editor.create_model(Sample)
    yield
    with connection.schema_editor() as editor:
        editor.delete_model(Sample)


def test_migrations_see_real_columns_alone():
    columns = [field.name for field in Sample._meta.get_fields()]
    assert columns == [
        "id", "thickness_m", "thickness_typed", "name",
        "current_low_a", "current_high_a", "current_start_a", "current_typed",
        "cutting_oxygen_pressure_pa", "cutting_oxygen_pressure_typed", "mass_kg", "mass_typed",
    ]  # fmt: skip
    assert Sample._meta.get_field("thickness_m").null
    assert not Sample._meta.get_field("mass_kg").null
    name, path, _args, _kwargs = Sample._meta.get_field("current_low_a").deconstruct()
    assert (name, path) == ("current_low_a", "django.db.models.FloatField")


def test_the_attribute_of_the_class_names_its_columns_and_limits():
    assert Sample.thickness.columns == ("thickness_m", "thickness_typed")
    assert Sample.current.limits == {
        "current_low_a": (0, 2000),
        "current_high_a": (0, 2000),
        "current_start_a": (0, 2000),
    }


def test_a_model_takes_and_gives_quantities():
    amps = parse_range("90 A, 85 to 95", "current")
    row = Sample(name="a", thickness=HALF_INCH, current=amps)
    assert (row.thickness_m, row.thickness_typed) == (0.0127, "1/2 in")
    assert (row.current_low_a, row.current_high_a, row.current_start_a) == (85, 95, 90)
    assert row.thickness == HALF_INCH
    assert row.current == amps
    row.thickness = None
    row.current = None
    assert (row.thickness_m, row.thickness_typed, row.current_typed) == (None, "", "")
    assert row.thickness is None
    assert row.current is None


def test_a_quantity_of_another_dimension_is_refused():
    with pytest.raises(ValueError, match="thickness is in m, got A"):
        Sample(thickness=Measure.of(3, "A"))
    with pytest.raises(ValueError, match="current is in A, got m"):
        Sample(current=Range.of(1, 2, "m"))


@pytest.mark.usefixtures("table")
def test_a_row_comes_back_as_it_was_typed():
    Sample.objects.create(
        name="a", mass=KILO, thickness=HALF_INCH, current=parse_range("at most 95 A", "current")
    )
    row = Sample.objects.get()
    assert row.thickness == HALF_INCH
    assert row.current == Range(None, 95.0, None, "A", "at most 95 A")
    row.thickness = parse_measure("3 mm", "length")
    row.save(update_fields=Sample.thickness.columns)
    assert Sample.objects.defer("thickness_m").get().thickness == Measure(0.003, "m", "3 mm")
    assert Sample.objects.filter(thickness_m__lt=0.0031).count() == 1


@pytest.mark.usefixtures("table")
@pytest.mark.parametrize(
    ("column", "value"),
    [("thickness_m", -0.1), ("thickness_m", 1.5), ("current_high_a", 1e9), ("mass_kg", None)],
)
def test_the_database_refuses_what_lies_outside(column, value):
    row = Sample(name="a", mass=KILO)
    setattr(row, column, value)
    with pytest.raises(IntegrityError):
        row.save()


@pytest.mark.usefixtures("table")
def test_the_database_keeps_no_nan():
    """PostgreSQL holds NaN for larger than every bound and refuses it; SQLite stores it as NULL."""
    row = Sample(name="a", mass=KILO)
    row.thickness_m = float("nan")
    if connection.vendor == "postgresql":
        with pytest.raises(IntegrityError):
            row.save()
    else:
        row.save()
        assert Sample.objects.get().thickness is None


@pytest.mark.django_db
def test_a_row_that_is_validated_says_its_limit_in_words():
    row = Sample(name="a", mass=KILO, thickness=Measure.of(2, "m"))
    with pytest.raises(ValidationError, match="Thickness must lie from 0 to 1 m"):
        row.validate_constraints()
    row.thickness = None
    row.validate_constraints()


def test_constraint_names_are_short_and_apart():
    columns = {
        f"cutting_oxygen_pressure_{part}_pa": (0.0, 1.0) for part in ("low", "high", "start")
    }
    names = [check.name for check in quantity_constraints("setup", columns)]
    assert len(set(names)) == 3
    assert all(len(name) <= 30 for name in names)
    assert names == [check.name for check in quantity_constraints("setup", columns)]


def test_every_constraint_has_an_upper_bound():
    for check in Sample._meta.constraints:
        assert {lookup.rpartition("__")[2] for lookup, _ in check.condition.children} == {
            "gte",
            "lte",
        }


class SampleForm(forms.Form):
    thickness = MeasureFormField("length", low=0.001, high=0.1)
    current = RangeFormField("current", required=False, bare_unit="A")
    rod = MeasureFormField("length", required=False, bare_unit="in")
    derived = Sample.mass.formfield()


def test_a_form_cleans_to_quantities():
    form = SampleForm({"thickness": "1/4 in", "current": "85-95", "rod": "3/32", "derived": "2 lb"})
    assert form.is_valid(), form.errors
    assert form.cleaned_data == {
        "thickness": Measure(0.00635, "m", "1/4 in"),
        "current": Range(85.0, 95.0, None, "A", "85-95 A"),
        "rod": Measure(0.00238125, "m", "3/32 in"),
        "derived": Measure(0.90718474, "kg", "2 lb"),
    }


def test_empty_fields_are_none_unless_required():
    form = SampleForm({"thickness": " ", "current": "", "rod": "  "})
    assert not form.is_valid()
    assert set(form.errors) == {"thickness", "derived"}
    assert form.cleaned_data == {"current": None, "rod": None}


def test_a_refused_text_stays_and_the_error_says_how_to_write_it():
    form = SampleForm({"thickness": "14", "derived": "1 kg"})
    assert form.errors["thickness"] == [
        "“14” has no unit; write a length with its unit, such as 14 ga, 14 mm, 1/4 in."
    ]
    assert 'value="14"' in str(form["thickness"])


@pytest.mark.parametrize(
    ("text", "words"),
    [("5 in", "“5 in” is too large; write at most 3.937 in."), ("1/64 in", "at least 0.03937 in")],
)
def test_limits_are_said_in_the_readers_units(text, words):
    form = SampleForm({"thickness": text, "derived": "1 kg"})
    assert words in form.errors["thickness"][0]


def test_a_field_shows_what_was_typed_and_converts_what_was_computed():
    typed = SampleForm(initial={"thickness": parse_measure("16 ga steel", "length")})
    assert 'value="16 ga steel"' in str(typed["thickness"])
    computed = SampleForm(initial={"thickness": Measure.of(0.00635, "m")})
    assert 'value="1/4 in"' in str(computed["thickness"])
    computed.fields["thickness"].system = "metric"
    assert MeasureFormField("length", system="metric").prepare_value(Measure.of(0.00635, "m")) == (
        "6.35 mm"
    )


def test_only_another_text_counts_as_changed():
    form = SampleForm({"thickness": "1/2 in"}, initial={"thickness": HALF_INCH})
    assert "thickness" not in form.changed_data
    form = SampleForm({"thickness": "1/4 in"}, initial={"thickness": HALF_INCH})
    assert "thickness" in form.changed_data


def test_the_metal_of_a_gauge_may_be_set_on_the_form():
    form = SampleForm({"thickness": "16 ga", "derived": "1 kg"})
    assert "name the metal" in form.errors["thickness"][0]
    form = SampleForm({"thickness": "16 ga", "derived": "1 kg"})
    form.fields["thickness"].material = "stainless"
    assert form.is_valid()
    assert form.cleaned_data["thickness"].value == pytest.approx(0.0015875)


def test_a_message_is_filled_in_after_it_is_translated():
    with pytest.raises(UnitError) as caught:
        parse_measure("14", "length")
    assert translated(caught.value) == str(caught.value)
    with override("es"):
        assert "14 ga, 14 mm, 1/4 in" in translated(caught.value)


def render(text, **context):
    return Template(text).render(Context(context))


@pytest.mark.parametrize(
    ("value", "units", "html"),
    [
        (parse_measure("1-1/2 in", "length"), "us", '<span class="q">1-1/2<i>in</i></span>'),
        (parse_measure("3/64 in", "length"), "metric", '<span class="q">1.19<i>mm</i></span>'),
        (parse_range("85-95 A", "current"), "metric", '<span class="q">85–95<i>A</i></span>'),
        (parse_measure("45 deg", "angle"), "us", '<span class="q">45°</span>'),
        (
            parse_range("at most 1/32 in", "length"),
            "us",
            '<span class="q">at most 1/32<i>in</i></span>',
        ),
        (None, "us", "–"),
    ],
)
def test_a_page_sets_the_unit_smaller(value, units, html):
    assert render("{{ value|quantity:units }}", value=value, units=units) == html


def test_plain_text_has_no_markup():
    value = parse_range("14 cfh, 12 to 16", "flow")
    assert render("{{ value|plain:units }}", value=value, units="us") == "14, 12–16 ft³/h"
    assert render("{{ value|plain:units }}", value=value, units="metric") == (
        "6.61, 5.66–7.55 L/min"
    )


def test_a_computed_figure_carries_its_exact_value():
    filler = Measure.of(0.0123, "kg")
    expected = '<data data-figure="usage.filler" value="0.0123">12.3 g</data>'
    page = '{% figure "usage.filler" filler %}'
    assert render(page, filler=filler, units="metric") == expected
    page = '{% figure "usage.filler" value shown %}'
    assert render(page, value=0.0123, shown="12.3 g") == expected
    marked = render('{% figure "x" filler filler|quantity:units %}', filler=filler, units="metric")
    assert '<span class="q">12.3<i>g</i></span>' in marked


def test_what_people_typed_is_escaped():
    page = '{% figure "x" value shown %}'
    assert "<script>" not in render(page, value="<script>", shown="<script>")


def test_money_has_two_decimals_grouped_thousands_and_no_stored_part_less():
    assert render("{{ value|money }}", value=Decimal("1234.5")) == "1,234.50"
    assert render("{{ value|money }}", value=Decimal("45.0525")) == "45.0525"
    assert render("{{ value|money }}", value=Decimal("0.00505")) == "0.01"  # divided, not paid
    assert render("{{ value|money }}", value=None) == "–"


def test_what_was_reckoned_has_whole_cents_and_never_shows_as_nothing():
    assert render("{{ value|cents|safe }}", value=Decimal("1234.5678")) == "1,234.57"
    assert render("{{ value|cents|safe }}", value=Decimal("0.005")) == "0.01"
    assert render("{{ value|cents|safe }}", value=Decimal("0.0034")) == "< 0.01"
    assert render("{{ value|cents|safe }}", value=Decimal(0)) == "0.00"
    assert render("{{ value|cents|safe }}", value=None) == "–"
