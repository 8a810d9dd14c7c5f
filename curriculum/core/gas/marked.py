"""Sources in `tables/gas_cylinder.toml`: marked, so that translations find them."""

from curriculum.core.steps import gettext_noop as _

SOURCES = (
    _("gas left in a cylinder when it goes back"),
    _("specific volume 8.74 ft3/lb at 70 F and 1 atm, CoolProp 8.0.0"),
    _("trade figure 14.7 ft3/lb at 70 F and 1 atm"),
    _("one seventh of the content an hour, CGA G-1 by way of 29 CFR 1910.102(a)"),
    _("one tenth of the content an hour for steady use, trade texts"),
)
