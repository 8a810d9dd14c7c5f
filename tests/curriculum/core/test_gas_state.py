"""The equation of state of cylinder gases against a reference library.

CoolProp 8.0.0 (Bell et al., Ind. Eng. Chem. Res. 53 (2014) 2498) takes for each gas a reference
equation of its own, other than the GERG-2008 ones of the project; for argon with CO2 and with
helium both take the same published mixing parameters.
"""

import CoolProp
import pytest
from hypothesis import given
from hypothesis import strategies as st

from curriculum.core.gas.errors import GasError
from curriculum.core.gas.state import compressibility, mixture_of

NAMES = {
    "ar": "Argon", "o2": "Oxygen", "n2": "Nitrogen", "he": "Helium", "co2": "CarbonDioxide",
}  # fmt: skip
SOLD = (
    "argon", "oxygen", "helium", "nitrogen",
    "75 Ar/25 CO2", "80 Ar/20 CO2", "85 Ar/15 CO2", "90 Ar/10 CO2", "92 Ar/8 CO2", "95 Ar/5 CO2",
    "98 Ar/2 CO2", "98 Ar/2 O2", "95 Ar/5 O2", "98 Ar/2 N2", "75 Ar/25 He", "50 Ar/50 He",
    "75 He/25 Ar", "90 He/7.5 Ar/2.5 CO2", "90 Ar/8 CO2/2 O2", "70 Ar/30 CO2",
)  # fmt: skip
CELSIUS = (0, 10, 21.1, 30, 40, 50)
BAR = (1.01325, *range(10, 201, 10))
KELVIN = st.floats(273.15, 323.15)


def reference(gas):
    """Return CoolProp's state of a gas, told that nothing of it is liquid."""
    shares = mixture_of(gas).shares
    state = CoolProp.AbstractState("HEOS", "&".join(NAMES[name] for name, _share in shares))
    if len(shares) > 1:
        state.set_mole_fractions([share for _name, share in shares])
    state.specify_phase(CoolProp.iphase_supercritical_gas)
    return state


@pytest.mark.parametrize("gas", SOLD)
def test_the_density_of_a_gas_is_within_a_fifth_of_a_percent_from_0_to_50_c_and_200_bar(gas):
    state, mixture = reference(gas), mixture_of(gas)
    for celsius in CELSIUS:
        for bar in BAR:
            state.update(CoolProp.PT_INPUTS, bar * 1e5, celsius + 273.15)
            ours = compressibility(mixture, bar * 1e5, celsius + 273.15)
            # 0.5 % is asked for; the largest error found is 0.10 %
            assert ours == pytest.approx(state.compressibility_factor(), rel=2e-3), (celsius, bar)


@pytest.mark.parametrize("gas", SOLD)
def test_up_to_300_bar_it_stays_within_three_tenths_of_a_percent(gas):
    state = reference(gas)
    for celsius in (0, 21.1, 50):
        state.update(CoolProp.PT_INPUTS, 300e5, celsius + 273.15)
        ours = compressibility(mixture_of(gas), 300e5, celsius + 273.15)
        assert ours == pytest.approx(state.compressibility_factor(), rel=3e-3)


@pytest.mark.parametrize("share", [0.20, 0.25, 0.30])
def test_argon_with_so_much_co2_does_not_condense_in_the_range(share):
    # Phase envelope of CoolProp: the hottest temperature at which any liquid forms.
    state = CoolProp.AbstractState("HEOS", "Argon&CarbonDioxide")
    state.set_mole_fractions([1 - share, share])
    state.build_phase_envelope("")
    assert max(state.get_phase_envelope_data().T) < 273.15 - 20


@given(temperature=KELVIN, gas=st.sampled_from(SOLD))
def test_a_thin_gas_is_an_ideal_one(temperature, gas):
    assert compressibility(mixture_of(gas), 100.0, temperature) == pytest.approx(1, abs=1e-5)


@given(argon=st.floats(35, 100), helium=st.floats(1, 100), co2=st.floats(1, 15))
def test_shares_add_up_to_one(argon, helium, co2):
    parts = {"ar": argon, "he": helium, "co2": co2}
    shares = mixture_of("/".join(f"{part:.6f} {gas}" for gas, part in percent(parts).items()))
    assert sum(share for _name, share in shares.shares) == pytest.approx(1)


def percent(parts):
    total = sum(parts.values())
    return {gas: 100 * part / total for gas, part in parts.items()}


@pytest.mark.parametrize(
    "gas", ["95 Ar/5 H2", "formier", "", "95 N2/5 H2", "50 N2/50 CO2", "80 Ar/10 CO2", "propane"]
)
def test_a_gas_without_an_equation_is_refused_with_those_that_have_one(gas):
    with pytest.raises(GasError, match="there is one for argon, oxygen") as caught:
        mixture_of(gas)
    assert caught.value.where == "gas"


def test_a_mixture_of_which_the_co2_is_liquid_is_to_be_weighed():
    with pytest.raises(GasError, match="weigh it") as caught:
        mixture_of("50 Ar/50 CO2")
    assert caught.value.where == "pressure"


@pytest.mark.parametrize(
    ("pressure", "temperature", "where"),
    [
        (0, 293, "pressure"), (-1, 293, "pressure"), (303e5, 293, "pressure"),
        (float("nan"), 293, "pressure"), (1e5, 272, "temperature"), (1e5, 324, "temperature"),
        (1e5, float("nan"), "temperature"),
    ],
)  # fmt: skip
def test_outside_the_range_the_figure_at_fault_is_named(pressure, temperature, where):
    with pytest.raises(GasError) as caught:
        compressibility(mixture_of("argon"), pressure, temperature)
    assert caught.value.where == where
