"""Code that nobody uses any more, by vulture; a part of ``make check``. Tests do not count as a use.

What a template names is used. ``NAMED_ELSEWHERE`` is what a library calls or reads by name, and nothing else.
"""

from __future__ import annotations

import re
import sys
from pathlib import Path

from vulture import Vulture

ROOT = Path(__file__).parent.parent
REGISTERED = ["@register*", "@perform.register"]  # the table of a registry holds them
NAMED_ELSEWHERE = {
    "django": [
        *["Command", "requires_system_checks", "Meta", "ordering", "constraints", "indexes", "clean_*"],
        *["default_auto_field", "default_error_messages", "urlpatterns", "application", "app_configs"],
        *["adding", "db", "support_js_module_import_aggregation", "bound_field_class", "process_exception"],
        # by their paths, in settings.py
        *["BuildlogConfig", "security_headers", "DatabaseAway", "RefusedAnyway", "TooMuchAtOnce"],
        *["RequestLog", "Plain", "DailyFile", "formatException", "emit"],
        *["CollectedStatics", "HashedStatics"],
    ],
    "fields of forms, read in cleaned_data": [
        *["break_min", "start_fold", "end_fold", "strip_width", "strip_height"],
    ],
    "columns: asked for by keyword, or kept for people and packs": [
        "key_digest",
        "forgiven",
        "used_by",
        "settled_by",
        "began_at",
        "taken_until",
        "given",
    ],
    "openpyxl and zipfile": ["freeze_panes", "compress_type"],
    "expat": ["buffer_text", "*Handler"],
    "getattr by a number": ["p95"],
    "read by tests: what an answer carries, the spread of a belief beside that of other programs, what a pack leaves": [
        *["had_it", "said_at", "sd", "LEFT_HERE"],
    ],
}


def named_in_templates() -> set[str]:
    """Every word inside the tags and variables of the templates."""
    sources = [path.read_text() for path in (ROOT / "templates").rglob("*.html")]
    tags = (tag for source in sources for tag in re.findall(r"\{\{.*?\}\}|\{%.*?%\}", source))
    return {word for tag in tags for word in re.findall(r"[A-Za-z_]\w*", tag)}


def unused(*places: Path) -> list[str]:
    """A line for each piece of code in files and folders that nothing uses."""
    allowed = [name for names in NAMED_ELSEWHERE.values() for name in names]
    search = Vulture(ignore_names=allowed, ignore_decorators=REGISTERED)
    search.scavenge([str(place) for place in places], exclude=["migrations"])
    named = named_in_templates()
    return [
        item.get_report()
        for item in search.get_unused_code()
        if item.name not in named and not (item.filename.name == "settings.py" and item.name.isupper())
    ]


if __name__ == "__main__":
    dead = unused(ROOT / "buildlog", ROOT / "manage.py")
    sys.exit("\n".join(dead) or None)
