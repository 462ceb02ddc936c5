"""`manage.py start`: from a fresh clone to a served week plan in one command."""

from __future__ import annotations

import signal
import socket
from typing import Any, NoReturn

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from apps.inspections.evidence.services import sweep
from apps.pages.owner import owner_account, sign_in_address
from apps.pages.planner import plan_now
from apps.planning.models import Plan
from apps.property.models import Property
from renovation.checks import LOOPBACK

WEEKS_SHOWN = 5
# Compared with; bound only when asked.
EVERYWHERE = {"0.0.0.0", "::"}  # noqa: S104 # nosec B104


class Command(BaseCommand):
    help = "Prepare the database, plan the week, print it, and serve on this machine."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--demo", action="store_true", help="Load the demo house if empty.")
        parser.add_argument("--port", type=int, default=8000)
        parser.add_argument(
            "--listen", default="127.0.0.1", metavar="ADDRESS",
            help="Serve others too, on this address; wants LIFTED_BOARDS_HOSTS.",
        )  # fmt: skip
        parser.add_argument("--no-serve", action="store_true", help="Stop after printing.")
        parser.add_argument("--no-plan", action="store_true", help="Make no new plan.")

    def handle(self, *args: Any, **options: Any) -> None:
        if not 1 <= options["port"] <= 65535:
            raise CommandError("A port is a number from 1 to 65535.")
        if not options["no_serve"]:
            refuse_unnamed_hosts(options["listen"])
            refuse_taken_port(options["listen"], options["port"])
        # rich takes 100 ms: not for every other command.
        from apps.pages.terminal import console_on  # noqa: PLC0415

        console = console_on(self.stdout)
        with console.status("Preparing the database …"):
            call_command("migrate", verbosity=0, interactive=False)
            sweep(now=timezone.now())
        owner = owner_account()
        if options["demo"]:
            self.load_demo(console, owner)
        if not options["no_plan"]:
            for house in Property.objects.order_by("pk"):
                self.plan(console, house, owner)
        self.print_weeks(console)
        address = f"http://{name_of(options['listen'])}:{options['port']}"
        console.print("\nAPI token:  manage.py token makes one", highlight=False)
        console.print(f"API docs:   {address}/api/docs/", highlight=False)
        console.print(
            f"Sign in:    {sign_in_address(owner, base=address)}",
            highlight=False, soft_wrap=True,
        )  # fmt: skip
        if not options["no_serve"]:
            self.serve(console, options["listen"], options["port"])

    def load_demo(self, console: Any, owner: Any) -> None:
        if Property.objects.exists():
            console.print("There is a house already; the demo house was not added.")
            return
        from apps.planning.demo import load_demo  # noqa: PLC0415 (geometry, 120 ms)

        with console.status("Building 14 Tidemill Lane …"):
            load_demo(owner=owner, today=timezone.localdate())

    def plan(self, console: Any, house: Property, owner: Any) -> None:
        from rich.markup import escape  # noqa: PLC0415 (loaded by now)

        with console.status(f"Planning {escape(house.name)} …"):
            plan = plan_now(house=house, requested_by=owner)
        if plan.state == Plan.State.FAILED:
            console.print(f"[bold red]{plan.failure}[/bold red]")
        elif plan.state == Plan.State.READY:
            console.print(
                f"Planned in {plan.solve_seconds:.1f} s "
                f"(first plan after {plan.first_plan_seconds or 0:.1f} s).",
                style="dim",
            )
        else:
            console.print("The plan is queued; a worker will make it.")

    def print_weeks(self, console: Any) -> None:
        houses = list(Property.objects.order_by("pk"))
        if not houses:
            console.print("No house yet: POST /api/v1/properties/, or start again with --demo.")
        for house in houses[:WEEKS_SHOWN]:
            call_command("week", property=house.pk, stdout=self.stdout)
        if len(houses) > WEEKS_SHOWN:
            more = len(houses) - WEEKS_SHOWN
            console.print(f"More houses: {more}. manage.py week --property ID prints one's week.")

    def serve(self, console: Any, listen: str, port: int) -> None:
        # Only when serving; it ships no types.
        from waitress import serve  # type: ignore[import-untyped]  # noqa: PLC0415

        from renovation.beat import beating  # noqa: PLC0415 (only when serving)
        from renovation.wsgi import application  # noqa: PLC0415 (only when serving)

        console.print(f"Serving on http://{listen}:{port} — stop with Ctrl-C.")
        signal.signal(signal.SIGTERM, end_as_with_ctrl_c)
        with beating():
            serve(
                application, host=listen, port=port, threads=8,
                max_request_body_size=max(settings.LARGE_BODIES.values()), ident="lifted-boards",
            )  # fmt: skip


def end_as_with_ctrl_c(*args: Any) -> NoReturn:
    """Whoever ends the process from outside has its requests answered too."""
    raise SystemExit(0)


def name_of(listen: str) -> str:
    """The name in the printed addresses: the one listened on, or the first that may be typed."""
    if listen in EVERYWHERE:
        return next(iter(settings.ALLOWED_HOSTS), "127.0.0.1")
    return listen


def refuse_unnamed_hosts(listen: str) -> None:
    """Whoever serves others has to say under which names, or all they get is a refusal."""
    if listen not in LOOPBACK and set(settings.ALLOWED_HOSTS) <= LOOPBACK:
        raise CommandError(
            f"Others may reach {listen}: name it, or the name they type, in LIFTED_BOARDS_HOSTS."
        )


def refuse_taken_port(listen: str, port: int) -> None:
    """Say at once, not after planning, that something else is served there."""
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((listen, port))
        except OSError as exc:
            raise CommandError(
                f"Port {port} of {listen} cannot be used ({exc.strerror}). Try --port or --listen."
            ) from exc
