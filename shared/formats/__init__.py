"""Formats of the languages where this tool differs from Django's own; see `settings`."""
