"""What lies in the store."""

from __future__ import annotations

from django.db import models

from buildlog.core.plan.materials import stock
from buildlog.models.build import Build


class Holding(models.Model):
    """How many of one thing there are, all ever got, used or not. Counted again, the number is replaced."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="holdings")
    item = models.CharField(max_length=60)  # a key of supplies, or a thing of its own
    length_mm = models.FloatField(default=0)  # of one roll or offcut; 0 where length says nothing
    quantity = models.FloatField()
    note = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["item", "-length_mm"]
        constraints = [
            models.UniqueConstraint(fields=["build", "item", "length_mm"], name="one_holding_an_item_and_length"),
            models.CheckConstraint(condition=models.Q(quantity__gte=0), name="holding_not_below_zero"),
        ]

    def __str__(self) -> str:
        return f"{self.quantity:g} × {self.item}"

    def read(self) -> stock.StockItem:
        return stock.StockItem(self.item, self.quantity, self.length_mm or None, self.note)
