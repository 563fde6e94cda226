"""The commands of manage.py that are ours; every other word goes to Django."""

import argparse
import os
from collections.abc import Sequence

from tubertrack.config.setup import environment, frontend, system_packages
from tubertrack.config.setup.progress import Stop, say

SETTINGS = "tubertrack.config.settings"
LANES = ("fast", "frontend", "sqlite", "postgres", "browser", "kills")
ON_REQUEST = ("mutants",)  # half an hour: run by name


def main(arguments: Sequence[str]) -> int:
    """The exit code of the command. A Stop becomes its sentence and code 1."""
    command = arguments[0] if arguments else "help"
    try:
        if command in OURS:
            return OURS[command](arguments[1:])
        return _django(arguments)
    except Stop as stop:
        say(str(stop))
        return 1
    except KeyboardInterrupt:
        return 130


def _start(arguments: Sequence[str]) -> int:
    options = _start_options().parse_args(arguments)
    environment.ensure("runtime")
    frontend.ensure_built()
    system_packages.ensure_pango()
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", SETTINGS)
    from tubertrack.config.start import Choices, start

    return start(
        Choices(
            port=options.port,
            opens_browser=not options.no_browser,
            on_farm_network=options.lan,
            empty=options.empty,
        )
    )


def _start_options() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="manage.py start", description="Sets everything up where needed, then runs the app."
    )
    parser.add_argument("--port", type=int, default=8000, help="first port to try (8000)")
    parser.add_argument("--no-browser", action="store_true", help="print the link, open nothing")
    parser.add_argument(
        "--lan", action="store_true", help="HTTPS on the farm's network, for phones"
    )
    parser.add_argument("--empty", action="store_true", help="first start: no demo farm")
    return parser


def _test(arguments: Sequence[str]) -> int:
    parser = argparse.ArgumentParser(
        prog="manage.py test", description="Sets everything up where needed, then runs every test."
    )
    known = (*LANES, *ON_REQUEST)
    parser.add_argument("lane", nargs="*", help=f"only these: {', '.join(known)}")
    parser.add_argument("--kills", type=int, help="in the lane kills, on each database (10)")
    asked = parser.parse_args(arguments)
    if asked.kills:
        os.environ["TUBERTRACK_KILLS"] = str(asked.kills)
    chosen = asked.lane or list(LANES)
    unknown = [name for name in chosen if name not in known]
    if unknown:
        parser.error(f"there is no lane {unknown[0]}; there are {', '.join(known)}")
    environment.ensure("test")
    from tubertrack.config.lanes import run_lanes

    return run_lanes(chosen)


def _types(arguments: Sequence[str]) -> int:
    """The OpenAPI file and the client's types are those of the code as it stands."""
    argparse.ArgumentParser(prog="manage.py types", description=_types.__doc__).parse_args(
        arguments
    )
    environment.ensure("test")
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", SETTINGS)
    from tubertrack.config.api_types import write_api_types

    write_api_types()
    return 0


def _audit(arguments: Sequence[str]) -> int:
    """What registries know against the packages in the locks is told; the code is 0."""
    argparse.ArgumentParser(prog="manage.py audit", description=_audit.__doc__).parse_args(
        arguments
    )
    environment.ensure("test")
    from tubertrack.config.audit import audit

    return audit()


def _django(arguments: Sequence[str]) -> int:
    environment.ensure_importable()
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", SETTINGS)
    from django.core.management import execute_from_command_line

    if not arguments or arguments[0] in {"help", "--help", "-h"}:
        say("Of our own: start, test, types, audit (each takes --help). Django's:")
    execute_from_command_line(["manage.py", *arguments])
    return 0


OURS = {"start": _start, "test": _test, "types": _types, "audit": _audit}
