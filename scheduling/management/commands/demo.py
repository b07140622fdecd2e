"""`manage.py demo`: a made-up company, its week planned and printed, then served until Ctrl-C."""

from argparse import ArgumentParser
from typing import Any

from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from scheduling.errors import Refusal
from scheduling.management.demo import company, printing, serve


class Command(BaseCommand):
    help = "Make a made-up company, plan its week, print it, and serve pages, API and worker until Ctrl-C."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--once", action="store_true", help="print and leave")

    def handle(self, *args: Any, once: bool, **options: Any) -> None:
        call_command("migrate", verbosity=0)
        try:
            monday = company.make_company(now=timezone.now())
        except Refusal as refusal:
            raise CommandError(refusal.message) from refusal
        printing.print_week(monday)
        printing.print_plan(company.shown_pour(monday))
        for pour in company.told_pours(monday):
            printing.print_story(pour)
        printing.print_morning_texts(monday)
        if once:
            return
        port = serve.free_port()
        printing.print_doors(f"http://{serve.HOST}:{port}")
        if serve.run_until_stopped(serve.start(port)):
            raise CommandError("The web server or the worker ended by itself; see above.")
