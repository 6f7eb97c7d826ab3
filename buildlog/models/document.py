"""Columns that hold JSON, each with the type of what it holds."""

from __future__ import annotations

from typing import Annotated, Any

import msgspec
from django.db import models

from buildlog.core.work.stages import STAGES

StageName = Annotated[str, msgspec.Meta(pattern=f"^({'|'.join(stage.value for stage in STAGES)})$")]
Words = list[Annotated[str, msgspec.Meta(max_length=80)]]


class DocumentField(models.JSONField):
    """JSON of one type; ``holds`` is that type, as msgspec reads it.

    A migration keeps it as the plain JSON column that it is: the database knows no types inside.
    """

    def __init__(self, *args: Any, holds: Any = Any, **more: Any) -> None:
        super().__init__(*args, **more)
        self.holds = holds

    def deconstruct(self) -> Any:
        name, _, args, kwargs = super().deconstruct()
        return name, "django.db.models.JSONField", args, kwargs
