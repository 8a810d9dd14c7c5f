"""Words of tables and of the trade that pages show: marked, so that translations find them.

A page translates them where it shows them. `tests/test_translations.py` holds that every text and
source of `tables/cautions.toml` and every position in words stands here as it stands there.
"""

from __future__ import annotations

from .steps import gettext_noop as _

CAUTIONS = (
    _("Electric shock"),
    _(
        "The electrode is live whenever the machine is on. Wear dry gloves without holes, stand "
        "dry, never change an electrode with bare or wet hands, never coil the lead around you. "
        "Do not use a damaged lead, or one spliced within 10 ft (3 m) of the holder. Report a "
        "fault and stop."
    ),
    _("Plasma voltage"),
    _(
        "A plasma torch stands at several hundred volts. Switch the machine off and unplug it "
        "before you change its tip or electrode. Keep your hands off the tip, and never hold small "
        "work in the hand."
    ),
    _("High frequency and implants"),
    _(
        "High-frequency start and welding current disturb pacemakers and other implants. Whoever "
        "has one asks their doctor first and tells the instructor. Keep hands off the tungsten "
        "while the start is armed."
    ),
    _("Arc rays"),
    _(
        "Helmet down before the arc, skin and neck covered. Close the screen: the rays burn the "
        "eyes of bystanders too. Warn before you strike."
    ),
    _("Eyes"),
    _(
        "Wear goggles or a shield with the shade given whenever the torch is lit, and clear eye "
        "protection whenever it is not. Bystanders need them too."
    ),
    _("Fumes and ventilation"),
    _(
        "Keep your head out of the plume and the exhaust hood at the work: it must draw 100 "
        "ft/min (30 m/min) at the weld. Mechanical ventilation is needed with less than 10,000 "
        "ft3 (284 m3) a welder, under a 16 ft (5 m) ceiling, or where screens hold the air."
    ),
    _("Coated or unknown metal"),
    _(
        "Zinc, cadmium, lead, paint and plating give poisonous fumes. Take the coating off both "
        "sides well back from the weld, or work under local exhaust. Do not weld on metal that "
        "nobody can name."
    ),
    _("Unknown metal"),
    _(
        "Weld only the metal that the sheet names. Offcuts may be galvanised, cadmium plated or "
        "painted: the fumes of zinc, cadmium and lead are poisonous. Ask before you use one."
    ),
    _("Stainless steel: chromium"),
    _(
        "Fumes of stainless steel and of its filler hold hexavalent chromium, which causes "
        "cancer. Weld under local exhaust; cut it only where mechanical ventilation takes the "
        "fumes away."
    ),
    _("Fluorides"),
    _(
        "Coverings of low-hydrogen electrodes and the flux in cored wire give off fluorides, "
        "which hurt eyes, nose and lungs. Keep the exhaust at the work, and in a confined space "
        "do not weld with them without the ventilation that asks for."
    ),
    _("Chlorinated cleaner"),
    _(
        "Never weld near degreaser or brake cleaner with chlorine in it, nor on a part still wet "
        "with it: its vapour turns to poison gas in the rays of an arc."
    ),
    _("Shielding gas"),
    _(
        "Argon and carbon dioxide are heavier than air and push it out of pits and confined "
        "spaces; nobody smells that. Under 19.5 % oxygen nobody may work. Shut the cylinder when "
        "you stop."
    ),
    _("Confined space"),
    _(
        "Nobody welds in a tank, a pit or a vessel without the ventilation it needs, a helper "
        "outside and a way to be pulled out. Cylinders and machines stay outside; the torch is "
        "shut off outside at every break. Never freshen air with oxygen."
    ),
    _("Fire"),
    _(
        "Nothing that burns within 35 ft (10.7 m), floor swept, extinguisher at hand. A watch "
        "stays at least half an hour after the last arc or flame; many shops ask for an hour."
    ),
    _("Hot metal"),
    _(
        "Steel looks the same hot and cold. Use tongs, mark it hot before you leave it, cool it "
        "before you hand it in."
    ),
    _("Cylinders"),
    _(
        "Chain every cylinder upright, cap on unless it is connected. No oil or grease on oxygen "
        "fittings. Never strike an arc on a cylinder. In store, oxygen and fuel stand 20 ft (6.1 "
        "m) apart or behind a 5 ft (1.5 m) wall."
    ),
    _("Acetylene"),
    _(
        "Never over 15 psig (103 kPa). Cylinder upright, valve opened no more than needed. Draw "
        "at most one seventh of a cylinder's content an hour, counted over all torches lit on "
        "it, one tenth where they burn without a break."
    ),
    _("Lighting the torch"),
    _(
        "Light with a striker, never with a match or hot metal, the tip pointing away from "
        "people, hoses and cylinders. Hoses and flashback arrestors are looked at and joints "
        "tested for leaks before the first flame. After a flashback shut the oxygen, then the "
        "fuel, and call the instructor."
    ),
    _("The piece that falls"),
    _(
        "What is cut off falls red hot: know where it goes, keep feet and hoses out of the way, "
        "wear high boots without cuffs. Do not cut over bare concrete: it bursts."
    ),
    _("Closed containers"),
    _(
        "Hollow parts and pipe are vented before heat comes on: trapped air bursts them. Used "
        "drums and tanks are not welded or cut in this shop until they are cleaned so that "
        "nothing is left in them."
    ),
    _("Thoriated tungsten"),
    _(
        "Dust of thoriated tungsten is radioactive: do not breathe it. Grind only under exhaust "
        "with the grinder kept for it, wash your hands, never sweep dry. Better take a "
        "lanthanated or ceriated one."
    ),
    _("Noise"),
    _(
        "Grinding, chipping, cutting and air tools are over 85 dB(A), the level from which "
        "hearing is protected. Wear ear protection; it also keeps sparks out."
    ),
    _("Grinding"),
    _(
        "Only after sign-off. Face shield over safety glasses, guard on, rest within 1/8 in (3 "
        "mm) of the wheel, no gloves at a bench wheel, no aluminium on a wheel for steel. Watch "
        "where the sparks go."
    ),
    _("Shear"),
    _(
        "Only after sign-off, one person at a time, hands outside the guard, never over its "
        "rated thickness. Under 18 nobody works at a power shear unless as a student-learner "
        "under the law's conditions."
    ),
    _("Saw"),
    _(
        "Only after sign-off. Clamp the stock, guards set, no gloves near the blade, wait until "
        "it stands. Under 18 nobody works at a power saw or cutting disc unless as a student-"
        "learner under the law's conditions."
    ),
    _("Bend press"),
    _(
        "Only after sign-off and with the guard closed: straps break and fly. Hands out, stand "
        "aside. Under 18 nobody works at a press or brake unless as a student-learner under the "
        "law's conditions."
    ),
    _(
        "The shop's own rules, the maker's instructions, local codes and a qualified person come "
        "first. Figures here are planning figures, never a qualified procedure."
    ),
)
"""Headings and texts of `tables/cautions.toml`, and its first sentence."""

CAUTION_SOURCES = (
    _("29 CFR 1910.254(d)(7) to (9)"),
    _("ANSI Z49.1, section on plasma cutting"),
    _("ANSI Z49.1, section on electric fields"),
    _(
        "29 CFR 1910.253(a)(2), (b)(5)(iii); draw rate: CGA G-1 (29 CFR 1910.102), fraction as "
        "read in trade texts"
    ),
    _("ANSI Z49.1, section on oxyfuel gas"),
    _("common practice, no source"),
    _("10 CFR 40.13(c)(1)(iii) on the rods; dust: ANSI Z49.1 (memory)"),
    _("29 CFR 1910.95(c)(1), action level"),
)
"""Sources of cautions that say more than a paragraph of a regulation."""

POSITIONS = (
    _("flat"),
    _("horizontal"),
    _("vertical up"),
    _("vertical down"),
    _("overhead"),
    _("3G up"),
    _("3G down"),
    _("3F up"),
    _("3F down"),
    _("1G rotated"),
    _("5G up"),
    _("5G down"),
    _("6G down"),
    _("5F up"),
    _("5F down"),
)
"""Positions of `tables/positions.toml` that are said in words; 2F and PB are the same in all."""

TRADE_WORDS = (
    _("push"),
    _("drag"),
    _("high frequency"),
    _("lift"),
    _("scratch"),
    _("short circuit"),
    _("globular"),
    _("spray"),
    _("pulsed spray"),
    _("argon"),
    _("helium"),
    _("oxygen"),
    _("acetylene"),
    _("propane"),
    _("hydrogen"),
    _("carbon dioxide"),
    _("nitrogen"),
    _("propylene"),
    _("natural gas"),
    _("air"),
    _("galvanised"),
)
"""Travel directions, arc starts, transfers, gases and a coating, as library files write them."""
