"""The command `ebbstock`.

    ebbstock plan PATH...     plan scenario files, as text or as JSON
    ebbstock check PATH...    only say whether they can be used
    ebbstock export ID        write a household of the database as a scenario file
    ebbstock serve            serve the pages
    ebbstock demo             the same, with invented households in a new database
    ebbstock remind           send the e-mail reminders that are due; the server does so as well
    ebbstock account add      give a link with which somebody makes an account
    ebbstock account password EMAIL    give a link that sets a new password
    ebbstock backup FILE      copy the database while it is in use
    ebbstock assumptions      list what the model assumes and may be changed, as TOML

Exit status: 0 when all went well, 2 for bad input, with one sentence for each fault on
standard error and nothing on standard output.
"""

from __future__ import annotations

import argparse
import importlib.metadata
import os
import sys
import tomllib
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from app.plan_codec import change_assumptions
from app.plan_json import plans_document
from app.plan_text import plan_text, plans_text
from app.settings import BadSetting, Settings, read_settings, refuse_taken_address
from planner.assumption_changes import as_toml
from planner.errors import InvalidValue
from planner.household import Household
from planner.plan import make_plan
from planner.results import Plan
from planner.rollup import combine
from planner.scenario import InvalidScenario, ScenarioFile, check_as_of, read_scenario

if TYPE_CHECKING:
    from app.mail import MailSettings

OK, BAD_INPUT, STOPPED, BROKEN_PIPE = 0, 2, 130, 141
_SHOW_PROGRESS_FROM = 5


FAULTS_SHOWN = 20


class BadInput(ValueError):
    """What the user gave cannot be used; each line of the text is one sentence."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One scenario file and the day to plan it for."""

    path: Path
    file: ScenarioFile
    as_of: date


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command and give its exit status."""
    try:
        arguments = _parser().parse_args(argv)
        _change_assumptions()
        output = arguments.run(arguments)
        if output:
            sys.stdout.write(output)
            sys.stdout.flush()
    except SystemExit as stop:
        return stop.code if isinstance(stop.code, int) else BAD_INPUT
    except (BadInput, InvalidScenario) as error:
        sys.stderr.write(f"{error}\n")
        return BAD_INPUT
    except KeyboardInterrupt:
        return STOPPED
    except BrokenPipeError:
        # The reader went away, as `head` does; keep Python from saying so at the end.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return BROKEN_PIPE
    return OK


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="ebbstock",
        description="Forecast drainage kit and bottle use at home and prepare the reorder.",
        epilog="This tool counts supplies. It does not tell anyone when or how much to drain.",
    )
    parser.add_argument("--version", action="version", version=f"ebbstock {_version()}")
    commands = parser.add_subparsers(required=True, metavar="COMMAND")

    plan = commands.add_parser("plan", help="plan scenario files")
    plan.add_argument("paths", nargs="+", type=Path, metavar="PATH", help="a file or a folder")
    plan.add_argument("--as-of", metavar="DATE", help="day of the plan; the file's own by default")
    plan.add_argument("--json", action="store_true", help="write JSON instead of text")
    plan.set_defaults(run=_plan)

    check = commands.add_parser("check", help="only check scenario files")
    check.add_argument("paths", nargs="+", type=Path, metavar="PATH", help="a file or a folder")
    check.set_defaults(run=_check, as_of=None)

    export = commands.add_parser("export", help="write a household as a scenario file")
    export.add_argument("household", metavar="ID", help="the household's id")
    export.set_defaults(run=_export)

    for name, run, text in (
        ("serve", _serve, "serve the pages"),
        ("demo", _demo, "serve the pages, with invented households in a new database"),
    ):
        command = commands.add_parser(name, help=text)
        command.add_argument("--host", help="address to listen on (EBBSTOCK_HOST)")
        command.add_argument("--port", help="port to listen on (EBBSTOCK_PORT)")
        command.set_defaults(run=run)

    account = commands.add_parser("account", help="let people in")
    actions = account.add_subparsers(required=True, metavar="ACTION")
    add = actions.add_parser("add", help="give a link with which somebody makes an account")
    add.add_argument("--agency", metavar="NAME", help="as coordinator of this agency, new or not")
    add.add_argument("--time-zone", metavar="ZONE", help="time zone of a new agency; UTC otherwise")
    add.set_defaults(run=_add_account)

    reset = actions.add_parser("password", help="give a link that sets a new password")
    reset.add_argument("email", metavar="EMAIL", help="with which the person signs in")
    reset.set_defaults(run=_new_password)

    assumed = commands.add_parser("assumptions", help="list what the model assumes, as TOML")
    assumed.set_defaults(run=lambda _: as_toml())

    backup = commands.add_parser("backup", help="copy the database while it is in use")
    backup.add_argument("file", type=Path, metavar="FILE", help="a new file")
    backup.set_defaults(run=_backup)

    remind = commands.add_parser("remind", help="send the e-mail reminders that are due")
    remind.set_defaults(run=_remind)
    return parser


def _version() -> str:
    try:
        return importlib.metadata.version("ebbstock")
    except importlib.metadata.PackageNotFoundError:
        return "(not installed)"


# Scenario files.


def _plan(arguments: argparse.Namespace) -> str:
    jobs = _read_all(arguments.paths, arguments.as_of)
    pairs = [(household, job.as_of) for job in jobs for household in job.file.households]
    households = {household.id: household for household, _ in pairs}
    plans = list(_planned(pairs))
    several = len(plans) > 1
    combined = combine(plans, households) if several else ()
    if arguments.json:
        return plans_document(plans, households, combined)
    if several:
        return plans_text(plans, households, combined)
    return plan_text(plans[0], households[plans[0].household_id])


def _check(arguments: argparse.Namespace) -> str:
    jobs = _read_all(arguments.paths, None)
    lines = []
    for job in jobs:
        count = len(job.file.households)
        sessions = sum(len(one.sessions) for one in job.file.households)
        words = f"{count} household{'' if count == 1 else 's'}"
        words += f", {sessions} session{'' if sessions == 1 else 's'}"
        lines.append(f"{job.path}: can be used ({words}, up to {job.file.as_of})\n")
    return "".join(lines)


def _read_all(paths: Sequence[Path], as_of: str | None) -> list[Job]:
    """Read and check every file before anything is worked out.

    Raises:
        BadInput: with the faults of all files together.
    """
    day = _day(as_of)
    jobs: list[Job] = []
    faults: list[str] = []
    for path in _files(paths, faults):
        try:
            file = read_scenario(path)
            check_as_of(file, day or file.as_of, str(path))
            jobs.append(Job(path=path, file=file, as_of=day or file.as_of))
        except InvalidScenario as error:
            faults += _first_faults(str(error).splitlines(), path)
        except OSError as error:
            reason = (error.strerror or "cannot be opened").lower()
            faults.append(f"{path}: the file cannot be read: {reason}; check the path.")
    faults += _between_files(jobs)
    if faults:
        raise BadInput("\n".join(faults))
    return jobs


def _first_faults(sentences: Sequence[str], path: Path) -> list[str]:
    """As many faults of one file as a person can take in at once, and how many more there are."""
    left = len(sentences) - FAULTS_SHOWN
    if left <= 1:
        return [*sentences]
    return [*sentences[:FAULTS_SHOWN], f"{path}: {left} more faults; correct these first."]


def _day(text: str | None) -> date | None:
    if text is None:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise BadInput(f"--as-of is {text}: give a date such as 2026-03-08.") from None


def _files(paths: Sequence[Path], faults: list[str]) -> Iterator[Path]:
    """The files named, and those in the folders named, each folder by name."""
    seen: set[Path] = set()
    for path in paths:
        found = sorted(path.glob("*.toml")) if path.is_dir() else [path]
        if not found:
            faults.append(f"{path}: the folder holds no file that ends in .toml; check the path.")
        for one in found:
            if one.resolve() not in seen:
                seen.add(one.resolve())
                yield one


def _between_files(jobs: Sequence[Job]) -> Iterator[str]:
    """What only shows when the files are held side by side."""
    where: dict[str, Path] = {}
    for job in jobs:
        for household in job.file.households:
            first = where.setdefault(household.id, job.path)
            if first != job.path:
                yield (
                    f"{job.path}: household.id is {household.id}: {first} has it too; "
                    "give each household its own id."
                )
    if len({job.as_of for job in jobs}) > 1:
        yield (
            "The files are of different days, so their orders cannot be put together: "
            "give one day with --as-of, or plan the files one by one."
        )


def _planned(pairs: Sequence[tuple[Household, date]]) -> Iterator[Plan]:
    shows = len(pairs) >= _SHOW_PROGRESS_FROM and sys.stderr.isatty()
    for done, (household, as_of) in enumerate(pairs, 1):
        yield make_plan(household, as_of)
        if shows:
            end = "\n" if done == len(pairs) else ""
            sys.stderr.write(f"\rPlanned {done} of {len(pairs)} households{end}")
            sys.stderr.flush()


# The server and its database. Imported late: planning a file needs neither.


def _serve(arguments: argparse.Namespace) -> None:
    from app.serving import serve  # noqa: PLC0415

    serve(_free_address(arguments), _mail_settings())


def _demo(arguments: argparse.Namespace) -> None:
    from app.serving import run_demo  # noqa: PLC0415

    run_demo(_free_address(arguments), _mail_settings())


def _remind(arguments: argparse.Namespace) -> str:
    from app.mail import Outcome  # noqa: PLC0415
    from app.reminding import remind_once  # noqa: PLC0415

    tally = remind_once(_settings(arguments), _mail_settings())
    lost = tally[Outcome.NEVER] + tally[Outcome.UNSURE]
    return f"Reminders: {tally[Outcome.SENT]} sent, {tally[Outcome.LATER]} later, {lost} not.\n"


def _add_account(arguments: argparse.Namespace) -> str:
    from app.admin import make_link  # noqa: PLC0415

    return _told(
        "Open this link within 24 hours to make the account. It works once.",
        lambda settings: make_link(
            settings, agency=arguments.agency, time_zone=arguments.time_zone
        ),
        arguments,
    )


def _new_password(arguments: argparse.Namespace) -> str:
    from app.admin import make_reset_link  # noqa: PLC0415

    return _told(
        "Open this link within 24 hours to set a new password. It works once.",
        lambda settings: make_reset_link(settings, arguments.email),
        arguments,
    )


def _backup(arguments: argparse.Namespace) -> str:
    from app.backup import back_up  # noqa: PLC0415

    return _told(
        "The copy is whole and can be used. It holds health data: keep it in a safe place.",
        lambda settings: back_up(settings, arguments.file),
        arguments,
    )


def _told(sentence: str, action: Callable[[Settings], str], arguments: argparse.Namespace) -> str:
    try:
        return f"{sentence}\n{action(_settings(arguments))}\n"
    except BadSetting as error:
        raise BadInput(str(error)) from None


def _export(arguments: argparse.Namespace) -> str:
    from app.exporting import export_household  # noqa: PLC0415

    text = export_household(_settings(arguments), arguments.household)
    if text is None:
        raise BadInput(
            f"ID is {arguments.household}: the database has no such household; check the id."
        )
    return text


def _mail_settings() -> MailSettings:
    from app.mail import read_mail_settings  # noqa: PLC0415

    try:
        return read_mail_settings(os.environ)
    except BadSetting as error:
        raise BadInput(str(error)) from None


def _change_assumptions() -> None:
    """Take over the assumptions of the file that EBBSTOCK_ASSUMPTIONS names."""
    name = os.environ.get("EBBSTOCK_ASSUMPTIONS")
    if not name:
        return
    try:
        change_assumptions(tomllib.loads(Path(name).read_text(encoding="utf-8")))
    except OSError as error:
        reason = (error.strerror or "cannot be read").lower()
        raise BadInput(f"EBBSTOCK_ASSUMPTIONS is {name} ({reason}): name a TOML file.") from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError, InvalidValue) as error:
        raise BadInput(f"{name}: {error}") from None


def _free_address(arguments: argparse.Namespace) -> Settings:
    settings = _settings(arguments)
    try:
        refuse_taken_address(settings)
    except BadSetting as error:
        raise BadInput(str(error)) from None
    return settings


def _settings(arguments: argparse.Namespace) -> Settings:
    given = {"EBBSTOCK_HOST": "host", "EBBSTOCK_PORT": "port"}
    chosen = {name: getattr(arguments, key, None) for name, key in given.items()}
    try:
        return read_settings({**os.environ, **{k: v for k, v in chosen.items() if v is not None}})
    except BadSetting as error:
        raise BadInput(str(error)) from None


if __name__ == "__main__":
    sys.exit(main())
