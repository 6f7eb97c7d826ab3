"""What the start shows of each build."""

from __future__ import annotations

from dataclasses import dataclass

from django.contrib.auth.models import User
from django.db.models import Count, Exists, OuterRef, Q, Sum
from django.db.models.functions import Coalesce

from buildlog.core.work.ledger import shown
from buildlog.models import Build, Plan


@dataclass(frozen=True, slots=True)
class BuildCard:
    """One build and how far it has come."""

    build: Build
    pixels: int
    tested: int
    segments: int
    frozen: bool

    @property
    def share(self) -> float:
        return self.tested / self.pixels if self.pixels else 0.0

    @property
    def percent(self) -> int:
        """Whole per cent, rounded down: 100 means all."""
        return int(self.share * 100)


def builds_of_account(user: User) -> list[BuildCard]:
    """The builds that this account has a part in (one query)."""
    mine = Build.objects.filter(people__user=user, people__left_at=None)
    current = Q(segments__retired_at=None)
    rows = Build.objects.filter(pk__in=mine.values("pk")).annotate(
        pixels=Coalesce(Sum("segments__pixels", filter=current), 0),
        tested=Coalesce(Sum("segments__tested", filter=current), 0),
        pieces=Count("segments", filter=current),
        frozen=Exists(Plan.objects.filter(build=OuterRef("pk"), frozen_at__isnull=False)),
    )
    return [BuildCard(row, row.pixels, shown(row.tested, row.pixels), row.pieces, row.frozen) for row in rows]
