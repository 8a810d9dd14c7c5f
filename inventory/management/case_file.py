"""Case files: JSON that a command computes from, without the database."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

from django.utils.translation import gettext as _

from inventory.core.case import CaseError
from shared.management.base import Fault, Refused

Case = TypeVar("Case")


def read_case_file(path: Path, read: Callable[[Any], Case], example: str) -> Case:
    """Return what `read` makes of the file; Refused says what is wrong with it.

    `example` is the beginning of a sound file.
    """
    try:
        data = json.loads(path.read_text(encoding="utf-8-sig"))
        json.dumps(data, ensure_ascii=False).encode()  # half a letter could not be said back
    except OSError as error:
        fault = Fault(str(path), "", _("cannot be read: %s") % error.strerror)
        raise Refused([fault]) from error
    except UnicodeDecodeError as error:
        fault = Fault(str(path), "", _("is not text in UTF-8"))
        raise Refused([fault]) from error
    except (ValueError, RecursionError) as error:  # also a number of thousands of digits
        fault = Fault(str(path), "", _("is not JSON: %s") % error, (example,))
        raise Refused([fault]) from error
    try:
        return read(data)
    except CaseError as error:
        faults = [Fault(f.where, f.got, f.message, f.accepts) for f in error.faults]
        raise Refused(faults) from error
