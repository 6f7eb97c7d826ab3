"""What is wrong with a piece, in a helper's own words."""

from __future__ import annotations

import uuid

from django.db import models

from buildlog.models.build import Build
from buildlog.models.people import Person
from buildlog.models.plan import Segment


class Note(models.Model):
    """ "Something is wrong": a few words on a piece, for the lead, until the lead has dealt with it."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4)
    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="notes")
    segment = models.ForeignKey(Segment, on_delete=models.CASCADE, related_name="notes")
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    says = models.CharField(max_length=400)
    settled_at = models.DateTimeField(null=True, blank=True)
    settled_by = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        ordering = ["-at"]

    def __str__(self) -> str:
        return self.says
