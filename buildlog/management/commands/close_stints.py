"""End forgotten stints of every build, each to be confirmed: `python manage.py close_stints`, for a timer at night."""

from django.core.management.base import BaseCommand
from django.utils import timezone

from buildlog.actions import stints
from buildlog.models import Build


class Command(BaseCommand):
    help = "Ends stints that nobody can still be working on; each waits for somebody to say when it really ended."

    def handle(self, *args, **options):
        for build in Build.objects.all():
            closed = stints.close_forgotten(build=build, now=timezone.now())
            if closed:
                self.stdout.write(f"{build}: {closed} to be confirmed.")
