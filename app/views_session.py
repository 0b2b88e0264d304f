"""What the pages about sessions show: choices, the list, the caution about a limit."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime

from app import wording
from app.texts import tr
from planner.fitting_kits import others_on_shelf
from planner.household import Catheter, Household
from planner.regimen import regimen_on
from planner.sessions import BottleUse, LossReason, Session, StopReason
from planner.stock import items_taken, shelf_on

BOTTLE_ROWS = 6
STOP_CHOICES = (
    (StopReason.RAN_DRY.value, "No more fluid came"),
    (StopReason.LIMIT_REACHED.value, "The limit in my plan was reached"),
    (StopReason.BOTTLE_FULL.value, "The bottle was full"),
    (StopReason.PAIN.value, "Pain, coughing or feeling unwell"),
    (StopReason.NO_FURTHER_BOTTLE.value, "There was no other bottle"),
    (StopReason.NOT_SAID.value, "I do not know"),
)
LOSS_CHOICES = (
    ("", "Good"),
    (LossReason.VACUUM_LOST.value, "Lost: no vacuum"),
    (LossReason.SEPARATED.value, "Lost: came apart"),
    (LossReason.DROPPED.value, "Lost: dropped"),
    (LossReason.OTHER.value, "Lost: something else"),
)
LABELS = {
    "day": "Day",
    "time": "Time",
    "started_at": "Day and time",
    "catheter": "Catheter",
    "stop_reason": "Why it ended",
    "bottles": "Bottles",
    "bottles[].volume_ml": "Volume in bottle {n}",
    "bottles[].loss": "State of bottle {n}",
    "bottles[].item": "Kind of bottle {n}",
}


USUAL_KIT = ("", "I do not know")
USUAL_FURTHER = ("", "As usual")


@dataclass(frozen=True, slots=True, kw_only=True)
class KitQuestion:
    """What the form asks where kits of several sizes may have been opened.

    Attributes:
        first: kits to choose from.
        further: kits and loose bottles, for further bottles.
        preset: the kit that is next by the rule; empty when that depends on the catheter.
    """

    first: tuple[tuple[str, str], ...]
    further: tuple[tuple[str, str], ...]
    preset: str


def catheters_in_use(record: Household, today: date) -> tuple[Catheter, ...]:
    """Those that a session may be of; all where none is in use any more."""
    in_use = (one for one in record.catheters if not one.removed_on or one.removed_on > today)
    return tuple(in_use) or record.catheters


def kit_question(record: Household, now: datetime) -> KitQuestion | None:
    """The question, or None where no catheter in use has kits of another size at hand."""
    in_use = catheters_in_use(record, now.date())
    others = others_on_shelf(in_use)
    if not others:
        return None
    shelf = shelf_on(record, now.date())
    if not any(shelf.usable_units(code) + shelf.away_units(code) for code in others):
        return None
    kits = {code for one in in_use for code in one.kits_that_fit}
    bottles = {one.bottle_code for one in in_use}
    named = [(one.code, one.name) for one in record.items]
    next_ones = {_next_kit(record, one, now) for one in in_use}
    return KitQuestion(
        first=(USUAL_KIT, *(one for one in named if one[0] in kits)),
        further=(USUAL_FURTHER, *(one for one in named if one[0] in kits | bottles)),
        preset=next_ones.pop() if len(next_ones) == 1 else "",
    )


def _next_kit(record: Household, catheter: Catheter, now: datetime) -> str:
    """The kit that a session at this moment opens."""
    known = {one.id for one in (*record.sessions, *record.ledger)}
    key = next(one for n in range(len(known) + 1) if (one := f"next{n}") not in known)
    first = (BottleUse(volume_ml=0),)
    session = Session(id=key, catheter_id=catheter.id, started_at=now, bottles=first)
    return items_taken(replace(record, sessions=(*record.sessions, session)))[key][0]


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionLine:
    """One recorded session in a list."""

    key: str
    day: str
    time: str
    catheter: str
    volume: str
    bottles: str
    ended: str
    taken_back: bool
    by: str


def session_lines(
    record: Household, sessions: list[Session], authors: Mapping[str, str]
) -> tuple[SessionLine, ...]:
    """Lines of the list; an entry that was taken back stays in it."""
    valid = {one.id for one in record.valid_sessions}
    return tuple(
        SessionLine(
            key=one.id,
            day=wording.day_text(one.drained_on),
            time=f"{one.started_at:%H:%M}",
            catheter=record.catheter(one.catheter_id).label,
            volume=wording.volume_text(one.volume_ml),
            bottles=_bottles_text(one),
            ended=tr(dict(STOP_CHOICES)[one.stop_reason.value]),
            taken_back=one.id not in valid,
            by=authors.get(one.id, ""),
        )
        for one in sessions
    )


def _bottles_text(session: Session) -> str:
    count, lost = len(session.bottles), session.bottles_lost
    said = tr("{count} bottle" if count == 1 else "{count} bottles", count=count)
    return said + (tr(", {count} lost", count=lost) if lost else "")


def last_session(record: Household) -> str:
    """Day and volume of the last session; empty when there is none."""
    sessions = record.valid_sessions
    if not sessions:
        return ""
    last = sessions[-1]
    return f"{wording.day_text(last.drained_on)}, {wording.volume_text(last.volume_ml)}"


def above_limit(record: Household, key: str) -> tuple[str, ...]:
    """A caution, never a refusal, when a session went above the limit in the plan."""
    session = next((one for one in record.sessions if one.id == key), None)
    if session is None:
        return ()
    regimen = regimen_on(record.catheter(session.catheter_id).regimens, session.drained_on)
    limit = regimen.session_limit_ml if regimen else None
    if limit is None or session.volume_ml <= limit:
        return ()
    team = wording.care_team_text(wording.names_of(record))
    volume, most = wording.volume_text(session.volume_ml), wording.volume_text(limit)
    said = "It was {volume}. The limit in your plan is {most}. Tell {team}."
    return (tr(said, volume=volume, most=most, team=team),)


def limit_texts(record: Household) -> tuple[str, ...]:
    """The prescribed limits per session, with the catheter's label when there are several."""
    several = len(record.catheters) > 1
    latest = ((one, max(one.regimens, key=lambda r: r.starts_on)) for one in record.catheters)
    return tuple(
        f"{one.label}: {wording.volume_text(regimen.session_limit_ml)}"
        if several
        else wording.volume_text(regimen.session_limit_ml)
        for one, regimen in latest
        if regimen.session_limit_ml
    )
