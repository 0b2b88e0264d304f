"""What the pages about sessions show: choices, the list, the caution about a limit."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from app import wording
from app.texts import tr
from planner.household import Household
from planner.regimen import regimen_on
from planner.sessions import LossReason, Session, StopReason

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
