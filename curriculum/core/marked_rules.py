"""Sources of the setup check: marked, so that translations find them.

`tests/curriculum/core/test_setup_check_wrong.py` holds that every source of its tables stands here.
"""

from __future__ import annotations

from .steps import gettext_noop as _

RULE_SOURCES = (
    _(
        "filler rod no thicker than the sheet (filler rod chart); outside only over 1.25 times "
        "(common practice, no source)"
    ),
    _(
        "an open root about as wide as the rod is thick, up to twice that; with wire up to 3/16 "
        "in (common practice, no source)"
    ),
    _("filler by the metal it joins: AWS A5.1, A5.9, A5.10, A5.18 classes (from memory)"),
    _("AWS A5.1, A5.2, A5.12, A5.18, A5.20 classes and the process each is made for (from memory)"),
    _("lengths that covered electrodes and tungstens are sold in (common practice, no source)"),
    _(
        "a covered electrode no thicker than thin metal, up to 1.5 times (common practice, no "
        "source)"
    ),
    _("positions by the digit of the class: AWS A5.1 and A5.20 (from memory)"),
    _("AWS D1.1 prequalified: largest electrode out of the flat (from memory)"),
    _("spray transfer without pulsing is for flat and horizontal work (AWS C5.6, from memory)"),
    _(
        "short circuit transfer on plate leaves incomplete fusion; AWS D1.1 does not prequalify "
        "it (from memory)"
    ),
    _("1 s for each 10 A and at least 8 s (common practice, no source)"),
    _("preflow about 0.5 s before the arc (common practice, no source)"),
    _("1 A for each 0.001 in of steel, 1.2 A of aluminium (common practice, no source)"),
    _(
        "1 A for each 0.001 in of sheet with solid wire, half to double (common practice, no "
        "source)"
    ),
    _(
        "inches a minute for each ampere: 3.5, 2, 1.6 and 1 for 0.023, 0.030, 0.035 and 0.045 "
        "in wire (common practice, no source)"
    ),
    _(
        "tungsten stickout at most the nozzle bore (cup size selection table); 1 to 2 electrode "
        "diameters without a gas lens (common practice, no source)"
    ),
    _(
        "contact tip to work: short circuit 3/8 to 1/2 in, spray to 1 in, flux cored longer "
        "(common practice, no source)"
    ),
    _("arc length at most one core diameter (250 A machine manual, p. 19)"),
    _("arc length about one electrode diameter (common practice, no source)"),
    _("arc voltages of ordinary practice (from memory)"),
    _("29 CFR 1910.254(b)(3): open-circuit voltage at most 80 V on AC, 100 V on DC"),
    _(
        "GTAW needs an inert gas: carbon dioxide and oxygen burn the tungsten (welding "
        "handbooks, from memory)"
    ),
    _(
        "spray transfer is not reached above about 20 percent carbon dioxide in argon (AWS "
        "C5.6, from memory)"
    ),
    _("aluminium is welded under argon, helium or their mixtures (AWS D1.2, from memory)"),
    _(
        "hydrogen in the shielding gas makes pores in aluminium and cracks in carbon steel (ISO "
        "14175 group R is for austenitic steel, from memory)"
    ),
    _("stainless steel takes up carbon from much carbon dioxide (AWS D1.6 practice, from memory)"),
    _("pure argon on steel gives an unsteady arc and undercut (AWS C5.6, from memory)"),
    _("shielding gases hold at most 30 percent oxygen (ISO 14175, from memory)"),
    _(
        "shielding gases after ISO 14175: argon, helium, carbon dioxide and their mixtures "
        "(from memory)"
    ),
    _(
        "argon 3.4 L/min and more (aluminium welding handbook, Table 6.3), 11 to 35 ft3/h "
        "typical (machine manual)"
    ),
    _(
        "25 to 50 ft3/h by thickness, 10 to 20 ft3/h more out of position (welding textbook, "
        "table of gas flows)"
    ),
    _("AWS A5.20: usability designators of flux cored wires (from memory)"),
    _("solid wire runs on DCEP (AWS A5.18, from memory)"),
    _("aluminium under argon runs on AC, DCEN leaves the oxide (AWS C5.5, from memory)"),
    _(
        "steel and stainless steel under argon run on DCEN; DCEP heats the tungsten (AWS C5.5, "
        "from memory)"
    ),
    _("a plasma cutter runs on DCEN (AWS C5.2, from memory)"),
    _("29 CFR 1910.252(c)(5) to (c)(12)"),
    _("the root of stainless steel is purged with inert gas (AWS D10.11, from memory)"),
    _(
        "low-hydrogen electrodes from a sealed can or an oven at 250 degF or more, used within "
        "4 h (AWS D1.1 Table 5.1, from memory)"
    ),
    _("cellulosic coverings need their moisture: dry store, no oven (common practice, no source)"),
    _(
        "interpass temperature at most 350 degF for steel in training and stainless steel, 250 "
        "degF for aluminium (common practice, no source)"
    ),
    _(
        "a fillet along a lapped edge is no larger than the edge is thick (AWS D1.1, clause on "
        "lap joints, from memory)"
    ),
    _("a fillet far larger than the plate only warps it (common practice, no source)"),
    _("AWS D1.1 minimum fillet size by the thicker part"),
    _("lap joints overlap at least five times the thinner part and 1 in (AWS D1.1, from memory)"),
    _(
        "a fillet's gap over 1/16 in is added to the leg, over 3/16 in is closed (AWS D1.1 "
        "fit-up tolerances, from memory)"
    ),
    _(
        "AWS D1.1 prequalified grooves with their fit-up tolerances, ISO 9692-1 for thinner "
        "plate (from memory)"
    ),
    _("reinforcement at most 1/8 in (AWS D1.1, from memory)"),
    _("a joint on backing needs the backing among its pieces (the setup's own figures)"),
    _("the setup's own figures"),
    _(
        "AWS D1.1 plate test: straps 1-1/2 in wide (face, root) or 3/8 in (side), 6 in long, 1 "
        "in discarded at each end (bend_test: specimens read, discards from memory)"
    ),
    _(
        "planning figures of travel speed, half the lowest to double the highest (common "
        "practice, no source)"
    ),
    _("usual torch, gun and electrode angles (common practice, no source)"),
    _(
        "where there is slag, drag; bare rod under a tungsten is pushed (common practice, no "
        "source)"
    ),
    _("29 CFR 1910.253(a)(2): acetylene at most 15 psi gauge"),
    _(
        "a neutral flame takes about as much oxygen as acetylene, 1.0 to 1.2 by volume (from "
        "memory)"
    ),
    _("steel is welded with acetylene: other fuels give no reducing flame (from memory)"),
    _("oxygen and fuel each on its own regulator and hose (29 CFR 1910.253)"),
    _("tip orifice by thickness, sizes differ between makers (from memory)"),
    _("29 CFR 1910.133(a)(5)"),
    _(
        "EN 1011-1 Table 1: heat input = k U I / v, k = 0.6 for GTAW and 0.8 for the other arc "
        "processes; usual bounds are common practice, no source"
    ),
    _(
        "duty cycle: time on = rated share x (rated current / current) squared, never over the "
        "whole time (IEC 60974-1, from memory); learners weld 0.3 of the time (common practice, "
        "no source)"
    ),
    _("scratching a tungsten on the work leaves tungsten in the weld (common practice, no source)"),
    _(
        "pure and zirconiated tungsten for AC, thoriated for DC (ISO 6848 and AWS A5.12 annex, "
        "from memory)"
    ),
    _("undercut at most 1/16 in (AWS D1.1 Table 6.1(7)), 1 mm (ISO 5817 level D)"),
    _("convexity at most 3/16 in (AWS D1.1), 5 mm (ISO 5817 level D, from memory)"),
    _("excess weld metal at most 10 mm (ISO 5817 level D, from memory)"),
    _("surface pore at most 3 mm (ISO 5817 level D)"),
    _("linear misalignment at most 5 mm (ISO 5817 level D, from memory)"),
    _(
        "Typical current ranges for tungsten electrodes, Table B.3 of a power source operator "
        "manual (AWS classes)"
    ),
    _("Tungsten electrodes, rating for welding currents, operator manual, p. 32"),
    _(
        "Tungsten electrode sizes, composite of AWS and electrode recommendations, operator "
        "manual OM-880, p. 20"
    ),
    _("TIG handbook, Table 2, typical current ranges for tungsten electrodes"),
    _("Welder's handbook (European), p. 16, electrode diameter and current"),
    _("TIG torch operation manual, section 2.4, choice of electrode size"),
    _("AWS A5.12/A5.12M (2009), annex, typical current ranges (from memory)"),
    _(
        "Machinery's Handbook, 31st ed., p. 1594, Tables 13 and 14, current ranges for SMAW "
        "electrodes"
    ),
    _("AWS A5.1/A5.1M:2012, annex (from memory)"),
    _("current ranges of wires as the trade uses them (common practice, from memory)"),
    _(
        "globular to spray transition currents, AWS Welding Handbook, vol. 2, gas metal arc "
        "welding (from memory)"
    ),
    _(
        "Reynolds number in the nozzle bore: pipe flow is laminar to 2300, turbulent from 4000 "
        "(textbooks of fluid mechanics, from memory); published nozzle and flow pairs all lie "
        "below 2300"
    ),
    _("nozzle bore at least three tungsten diameters (cup size selection table)"),
)
