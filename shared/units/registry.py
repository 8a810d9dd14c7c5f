"""The one pint registry, for whoever wants dimensional arithmetic at an edge.

Reading, showing and storing use the exact factors of `tables`; the tests hold these against pint.
"""

import pint

ureg: pint.UnitRegistry = pint.UnitRegistry()
pint.set_application_registry(ureg)
