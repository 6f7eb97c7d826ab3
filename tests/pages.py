"""What a page says, and where its links lead."""

import re
from urllib.parse import urlsplit

from django.urls import resolve

# Addresses that are no screens: acts, downloads, what other pages bring in by themselves, what is behind a button.
NO_SCREENS = {
    "today_entry", "entries", "assign", "assign_undo", "tick", "reopen", "note_settle", "stint_confirm",
    "device_rename", "device_revoke", "device_unlock", "device_invite", "join_here", "crew_shift_add",
    "crew_shift_drop", "crew_pattern_add", "crew_pattern_drop", "crew_pin", "crew_unlock", "crew_account",
    "crew_leave", "crew_return", "closing_confirm", "closing_override", "closing_withdraw", "forecast_compute",
    "what_if_drop", "what_it_takes", "job_done", "plan_preview", "plan_keep", "plan_rings", "plan_freeze",
    "plan_unfreeze", "plan_table", "supplies_table", "pack", "print_labels_chosen", "assignments_take",
    "assignments_undo", "load_progress", "load_cancel", "me_sign_out", "me_end", "account_sign_out", "account_end",
}  # fmt: skip
NOT_OF_A_LEAD = {"join", "me"}  # of a device that has not joined, see test_join; of somebody with a PIN


def text(answer) -> str:
    """The markup of an answer, each run of white space one blank, as a browser reads it; no-break spaces stay."""
    return re.sub(r"[ \t\r\n]+", " ", answer.content.decode())


def kind_of(address: str) -> tuple[str, ...]:
    """What makes two addresses the same screen: the view and the names of what is asked of it."""
    parts = urlsplit(address)
    asked = sorted(re.findall(r"(?:^|&)(\w+)=", parts.query))
    return resolve(parts.path).url_name or parts.path, *asked
