"""Spanish as shops in the Americas write figures: a decimal point, as quantities are shown.

`shared.units` reads a comma as doubtful, so no page may show one. The first date format is what
a browser's date field takes.
"""

DATE_INPUT_FORMATS = ["%Y-%m-%d", "%d/%m/%Y"]
DECIMAL_SEPARATOR = "."
THOUSAND_SEPARATOR = ","
