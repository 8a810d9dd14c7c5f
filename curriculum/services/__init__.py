from .library import (
    LibraryChange,
    NotReviewed,
    copy_to_draft,
    dump_library,
    exercise_spec,
    load_library,
    publish,
    save_draft,
)
from .spec_rows import criterion_spec, to_spec

__all__ = [
    "LibraryChange",
    "NotReviewed",
    "copy_to_draft",
    "criterion_spec",
    "dump_library",
    "exercise_spec",
    "load_library",
    "publish",
    "save_draft",
    "to_spec",
]
