"""What the pages for paper show: the chart with past volumes, an empty one, the count sheet."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date, timedelta

from app import display, wording
from app.display import VolumeUnit
from app.errors import InvalidInput
from app.forms import FormReader
from app.messages import message
from app.texts import tr
from app.views_session import STOP_CHOICES
from app.volume_plot import VolumePlot, draw_volumes
from planner.dates import DateRange
from planner.errors import Fault
from planner.household import Household
from planner.ledger import Place
from planner.sessions import BottleUse, Session, StopReason
from planner.stock import shelf_on

USUAL_DAYS = 28
MOST_DAYS = 366
BLANK_ROWS = 21
LABELS = {"first": "First day", "last": "Last day"}
_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartRow:
    """One session on the chart; `bottles` are their volumes."""

    day: str
    time: str
    catheter: str
    bottles: str
    total: str
    ended: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartShown:
    """The chart of a span of days.

    Attributes:
        span: the days it covers, in words.
        rows: sessions, the earliest first.
        plots: one for each catheter with a session in the span.
        away: spans of days without home supplies, in words.
    """

    span: str
    rows: tuple[ChartRow, ...]
    plots: tuple[VolumePlot, ...]
    total: str
    away: tuple[str, ...]
    several: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class CountLine:
    """A lot to count."""

    lot: str
    use_by: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CountItem:
    """An item with its lots at home; empty boxes are filled in by hand."""

    name: str
    unit: str
    lines: tuple[CountLine, ...]


def usual_span(today: date) -> DateRange:
    """The last four weeks, today included."""
    return DateRange(today - (USUAL_DAYS - 1) * _DAY, today + _DAY)


def read_span(reader: FormReader, today: date) -> DateRange:
    """The span of days that a form asks for.

    Raises:
        InvalidInput: fields `first` and `last`.
    """
    first, last = reader.day("first"), reader.day("last")
    reader.refuse()
    assert first is not None
    assert last is not None
    if first > today:
        raise _fault("first", first, "it lies in the future; choose today or an earlier day")
    if last < first:
        raise _fault("last", last, f"it must not be before the first day, {first}")
    if (last - first).days >= MOST_DAYS:
        raise _fault("last", last, f"a chart holds {MOST_DAYS} days; choose days closer together")
    return DateRange(first, last + _DAY)


def _fault(field: str, day: date, fix: str) -> InvalidInput:
    return InvalidInput([Fault(field=field, value=str(day), fix=fix)])


def chart_shown(record: Household, span: DateRange) -> ChartShown:
    """Past sessions of a span."""
    sessions = [one for one in record.valid_sessions if one.drained_on in span]
    volume_ml = sum(one.volume_ml for one in sessions)
    together = tr(
        "{sessions}, {volume} together",
        sessions=wording.count_text(len(sessions), "sessions"),
        volume=wording.volume_text(volume_ml),
    )
    return ChartShown(
        span=_span_text(span),
        rows=tuple(_row(record, one, span.starts_on) for one in sessions),
        plots=tuple(_plots(record, sessions, span)),
        total=together if sessions else "",
        away=_away_texts(record, span),
        several=len(record.catheters) > 1,
    )


def _row(record: Household, session: Session, first: date) -> ChartRow:
    known = session.stop_reason is not StopReason.NOT_SAID
    return ChartRow(
        day=wording.day_text(session.drained_on, today=first),
        time=f"{session.started_at:%H:%M}",
        catheter=record.catheter(session.catheter_id).label,
        bottles=" + ".join(_bottle(one) for one in session.bottles),
        total=wording.volume_text(session.volume_ml),
        ended=tr(dict(STOP_CHOICES)[session.stop_reason.value]) if known else "",
    )


def _bottle(bottle: BottleUse) -> str:
    return wording.volume_text(bottle.volume_ml) + (
        tr(" (lost)") if bottle.loss is not None else ""
    )


def _plots(record: Household, sessions: list[Session], span: DateRange) -> list[VolumePlot]:
    last = (span.ends_on or span.starts_on + _DAY) - _DAY
    plots = []
    for catheter in record.catheters:
        ml_by_day: Counter[date] = Counter()
        for one in sessions:
            if one.catheter_id == catheter.id:
                ml_by_day[one.drained_on] += one.volume_ml
        if ml_by_day:
            shown = {day: _in_shown_unit(ml) for day, ml in ml_by_day.items()}
            label = f": {catheter.label}" if len(record.catheters) > 1 else ""
            title = tr("{unit} on each day", unit=shown_unit()) + label
            plots.append(draw_volumes(shown, span.starts_on, last, title))
    return plots


def shown_unit() -> str:
    """The unit that the person chose for volumes, as it is written."""
    return message(f"volume-{display.current().volume_unit.value}").format(volume="").strip()


def _in_shown_unit(volume_ml: float) -> float:
    if display.current().volume_unit is VolumeUnit.FLUID_OUNCE:
        return display.to_fluid_ounces(volume_ml)
    return volume_ml


def _away_texts(record: Household, span: DateRange) -> tuple[str, ...]:
    texts = []
    for pause in record.pauses:
        begins_in_time = span.ends_on is None or pause.starts_on < span.ends_on
        if begins_in_time and (pause.ends_on is None or pause.ends_on > span.starts_on):
            texts.append(_span_text(pause.days))
    return tuple(texts)


def _span_text(span: DateRange) -> str:
    first = wording.day_text(span.starts_on, with_year=True)
    if span.ends_on is None:
        return tr("from {first}", first=first)
    last = wording.day_text(span.ends_on - _DAY, with_year=True)
    return tr("{first} to {last}", first=first, last=last)


def count_items(record: Household, today: date) -> tuple[CountItem, ...]:
    """Every item with the lots that should lie at home."""
    shelf = shelf_on(record, today)
    return tuple(
        CountItem(
            name=item.name,
            unit=wording.units_text(2, item.kind).removeprefix("2 "),
            lines=tuple(
                CountLine(
                    lot=lot.lot or tr("not noted"),
                    use_by=tr("not noted")
                    if lot.expires_on is None
                    else wording.day_text(lot.expires_on, with_year=True),
                )
                for lot in shelf.lots_of(item.code, Place.HOME)
            ),
        )
        for item in record.items
    )
