"""English: one form of a date, the month as a word, so that none is misread."""

DATE_FORMAT = "j M Y"
SHORT_DATE_FORMAT = "j M Y"
DATETIME_FORMAT = "j M Y H:i"
SHORT_DATETIME_FORMAT = "j M Y H:i"
