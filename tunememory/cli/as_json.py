"""Views as JSON."""

from __future__ import annotations

import codecs
import json
import sys
from dataclasses import fields, is_dataclass
from datetime import date
from enum import Enum
from typing import Any


def plain(value: Any) -> Any:
    """Return a view as dictionaries, lists, texts and numbers; chances to four places."""
    if is_dataclass(value) and not isinstance(value, type):
        value = {field.name: getattr(value, field.name) for field in fields(value)}
    match value:
        case dict():
            return {name: plain(one) for name, one in value.items()}
        case list() | tuple():
            return [plain(one) for one in value]
        case Enum():
            return value.value
        case date():
            return value.isoformat()
        case float():
            return round(value, 4)
    return value


def print_view(value: Any) -> None:
    """Print a view, or several."""
    print_json(plain(value))


def print_json(value: object) -> None:
    """Print what is JSON already; letters the output cannot carry are escaped (RFC 8259, 7)."""
    everything = codecs.lookup(sys.stdout.encoding or "ascii").name == "utf-8"
    print(json.dumps(value, ensure_ascii=not everything, indent=2))
