"""The marks that stand beside a word; each differs from the others in its outline."""

_SOLID = 'class="m-solid" fill="currentColor" stroke="none"'
_CUT = 'class="m-cut" stroke="#fff"'

MARKS = {
    "pass": '<path d="M3 13l6 6L21 5"/>',
    "redo": f'<path d="M20.2 11.5A8.2 8.2 0 1 1 12 4.8"/><path {_SOLID} d="M11.5 0l8 4.8-8 4.8z"/>',
    "void": '<circle cx="12" cy="12" r="8.5"/><path d="M6 18L18 6"/>',
    "credited": '<path d="M3 9l5 5L20 2"/><path d="M2 21h20"/>',
    "moved": f'<path d="M3 2v20"/><path d="M6 12h9"/><path {_SOLID} d="M13 5l9 7-9 7z"/>',
    "incomplete": '<circle cx="12" cy="12" r="8.5" stroke-dasharray="4.6 4.3"/>',
    "now": f'<circle {_SOLID} cx="12" cy="12" r="8"/>',
    "waiting": f'<path d="M3.5 3.5h17v17h-17z"/><path {_SOLID} d="M9 9h6v6H9z"/>',
    "open": '<path d="M5 12h14"/>',
    "locked": f'<circle {_SOLID} cx="12" cy="12" r="2.5"/>',
    "hold": '<path d="M7 3v18M17 3v18" stroke-width="5"/>',
    "late": f'<path {_SOLID} d="M3 1h18v3l-7 8 7 8v3H3v-3l7-8-7-8z"/>',
    "soon": '<path d="M5 2.5h14L12 12zM5 21.5h14L12 12z" stroke-width="2.5"/>',
    "stop": f'<path {_SOLID} d="M7.5 1h9L23 7.5v9L16.5 23h-9L1 16.5v-9z"/>'
    f'<path {_CUT} d="M6 12h12"/>',
    "over": f'<path {_SOLID} d="M12 1l11 14H1z"/><path d="M1 21h22" stroke-width="4"/>',
    "look": '<path d="M12 3.5L21.5 21h-19z" stroke-width="2.5"/>'
    '<path d="M12 9.5v6M12 17v2.5" stroke-width="2.5"/>',
    "caution": f'<path {_SOLID} d="M12 .5L24 22.5H0z"/><path {_CUT} d="M12 8v7M12 17v3"/>',
    "padlock": f'<path {_SOLID} d="M4 10h16v12H4z"/>'
    '<path d="M7.5 10V7a4.5 4.5 0 0 1 9 0v3" stroke-width="2.5"/>',
    "short": f'<path d="M12 2v13"/><path {_SOLID} d="M5 12h14l-7 8z"/>'
    '<path d="M3 22h18" stroke-width="2.5"/>',
    "mine": f'<path {_SOLID} d="M12 22L2 4h20z"/>',
    "own": '<path d="M12 4l9 17H3z" stroke-width="2"/>',
}
"""The inside of each mark, in a box of 24."""


def mark_svg(name: str) -> str:
    """Return the mark as an inline SVG as tall as the text; a word must stand beside it."""
    if name not in MARKS:
        raise ValueError(f"name must be one of {', '.join(MARKS)}, got {name!r}")
    return (
        '<svg class="mark" viewBox="0 0 24 24" width="1em" height="1em" fill="none" '
        'stroke="currentColor" stroke-width="3" aria-hidden="true" focusable="false">'
        f"{MARKS[name]}</svg>"
    )
