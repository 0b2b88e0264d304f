"""What the settings pages show: what holds now, what is coming, and the history."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from starlette.responses import Response

from app import wording
from app import wording_settings as words
from app.access import HouseholdAccess
from app.changes import Parts, SettingChange, Subject
from app.changes_rows import NotedChange
from app.messages import message
from app.services_start import USUAL_BOTTLE_ML, USUAL_KITS_PER_BOX, USUAL_LEAD_BUSINESS_DAYS
from app.views import Place, Told, after, told_of
from app.writing import Saved
from planner.household import Catheter, Household
from planner.regimen import regimen_on
from planner.results import Plan


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One thing that is set, in short lines, with what may be done about it."""

    lines: tuple[str, ...]
    links: tuple[Place, ...] = ()
    title: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """A group of settings as shown."""

    id: str
    title: str
    rows: tuple[Row, ...]
    links: tuple[Place, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class HistoryLine:
    """One change in the history."""

    key: str
    day: str
    what: str
    by: str
    counts_from: str
    taken_back: bool


def cards_of(
    record: Household,
    parts: Parts,
    noted: tuple[NotedChange, ...],
    root: str,
    today: date,
) -> tuple[Card, ...]:
    """Everything that is set, what holds today first, what is coming after it."""

    def coming(*subjects: Subject, target: str = "") -> tuple[str, ...]:
        return tuple(
            message("from-day").format(
                day=wording.day_text(one.change.starts_on, today=today),
                what=change_said(one.change, one.was, record, today),
            )
            for one in reversed(noted)
            if one.change.subject in subjects
            and one.change.starts_on > today
            and not one.taken_back
            and target in ("", one.change.target)
        )

    return (
        Card(
            id="drain-plan",
            title="Drain plan",
            rows=tuple(
                Row(
                    title=one.label,
                    lines=_regimen_lines(one, today),
                    links=(
                        Place(
                            name="Change the drain plan", href=f"{root}/regimen?catheter={one.id}"
                        ),
                        Place(name="Change the rest", href=f"{root}/tube?which={one.id}"),
                    ),
                )
                for one in record.catheters
            ),
        ),
        _away_card(parts, root, today),
        _supplier_card(parts, root, today, coming(Subject.SUPPLIER)),
        _goods_card(parts, root, coming(Subject.ITEM)),
        Card(
            id="uses",
            title="What a session uses",
            rows=tuple(
                Row(
                    title=one.label,
                    lines=_used(one, parts) + coming(Subject.CATHETER, target=one.id),
                    links=(Place(name="Choose other goods", href=f"{root}/goods?which={one.id}"),),
                )
                for one in record.catheters
            ),
        ),
        _allowed_card(parts, root, today),
        Card(
            id="plan",
            title="How safe the plan is",
            rows=(Row(lines=words.plan_texts(parts.plan)),),
            links=(Place(name="Change it", href=f"{root}/plan"),),
        ),
        _home_card(parts, root),
    )


def _regimen_lines(catheter: Catheter, today: date) -> tuple[str, ...]:
    now = regimen_on(catheter.regimens, today)
    later = (one for one in catheter.regimens if one.starts_on > today)
    return (
        *words.catheter_texts(catheter, today),
        *(() if now is None else words.regimen_texts(now, today)),
        *(f"{message('coming')}: {'. '.join(words.regimen_texts(one, today))}" for one in later),
    )


def _away_card(parts: Parts, root: str, today: date) -> Card:
    rows = tuple(
        Row(
            lines=(words.pause_text(one, today),),
            links=(Place(name="Change or end it", href=f"{root}/away?pause={key}"),),
        )
        for key, one in parts.pauses.items()
        if one.ends_on is None or one.ends_on > today
    )
    return Card(
        id="away",
        title="Time away from home",
        rows=rows or (Row(lines=(message("away-none"),)),),
        links=(Place(name="Add a time away", href=f"{root}/away"),),
    )


def _supplier_card(parts: Parts, root: str, today: date, coming: tuple[str, ...]) -> Card:
    terms = Row(
        title=parts.supplier.name,
        lines=words.supplier_texts(parts.supplier) + coming,
        links=(Place(name="Change the supplier", href=f"{root}/supplier"),),
    )
    closed = tuple(
        Row(
            lines=(words.closure_text(one, today),),
            links=(Place(name="Change or take out", href=f"{root}/closed?which={key}"),),
        )
        for key, one in parts.closures.items()
        if one.ends_on >= today
    )
    return Card(
        id="supplier",
        title="Supplier",
        rows=(terms, *closed),
        links=(Place(name="Add days on which they are closed", href=f"{root}/closed"),),
    )


def _goods_card(parts: Parts, root: str, coming: tuple[str, ...]) -> Card:
    rows = tuple(
        Row(
            title=one.name,
            lines=(words.item_text(one),),
            links=(Place(name="Change it", href=f"{root}/item?which={code}"),),
        )
        for code, one in parts.items.items()
    )
    later = (Row(lines=coming),) if coming else ()
    return Card(
        id="items",
        title="Items",
        rows=rows + later,
        links=(Place(name="Add an item", href=f"{root}/item"),),
    )


def _used(catheter: Catheter, parts: Parts) -> tuple[str, ...]:
    kit = message("uses-kit").format(item=parts.items[catheter.kit_code].name)
    names = wording.joined([parts.items[code].name for code in catheter.other_kit_codes])
    others = (message("uses-others").format(items=names),) if names else ()
    if catheter.bottle_code is None:
        return (kit, *others, message("uses-kits-only"))
    bottle = parts.items[catheter.bottle_code].name
    return (kit, *others, message("uses-bottle").format(item=bottle))


def _allowed_card(parts: Parts, root: str, today: date) -> Card:
    rows = tuple(
        Row(
            lines=(words.authorized_text(one, parts.items, today),),
            links=(Place(name="Change or take out", href=f"{root}/allowed?which={key}"),),
        )
        for key, one in parts.authorized.items()
    )
    return Card(
        id="allowed",
        title="Amounts allowed",
        rows=rows or (Row(lines=(message("allowed-none"),)),),
        links=(Place(name="Add an amount", href=f"{root}/allowed"),),
    )


def _home_card(parts: Parts, root: str) -> Card:
    team = parts.care_team
    lines = (
        message("household-name").format(name=parts.name),
        message("household-zone").format(zone=parts.time_zone),
        message("care-team-none")
        if team is None
        else message("care-team-is").format(name=wording.contact_text(team, "your-care-team")),
    )
    return Card(
        id="home",
        title="Household",
        rows=(Row(lines=lines),),
        links=(
            Place(name="Change name or clock", href=f"{root}/household"),
            Place(name="Change the care team", href=f"{root}/care-team"),
        ),
    )


def history_lines(
    noted: tuple[NotedChange, ...], record: Household, today: date
) -> tuple[HistoryLine, ...]:
    """Every change, the latest first."""
    return tuple(
        HistoryLine(
            key=one.change.key,
            day=wording.day_text(one.recorded_at.date(), today=today),
            what=change_said(one.change, one.was, record, today),
            by=one.by,
            counts_from=_counts_from(one.change, today),
            taken_back=one.taken_back,
        )
        for one in noted
    )


def change_said(
    change: SettingChange, was: Mapping[str, object], record: Household, today: date
) -> str:
    """A change in one line."""
    return words.change_text(
        change,
        was,
        items={item.code: item for item in record.items},
        labels={one.id: one.label for one in record.catheters},
        today=today,
    )


def _counts_from(change: SettingChange, today: date) -> str:
    if change.starts_on <= today:
        return ""
    day = wording.day_text(change.starts_on, today=today)
    return message("counts-from").format(day=day)


def told_of_change(done: str, found: NotedChange | None, plan: Plan, today: date) -> Told | None:
    """What was changed, and how that moves the plan."""
    told = told_of(done)
    if told is None or found is None or done != "setting":
        return told
    more = [*_lasts_now(plan, found), *_order_now(plan, found)]
    if coming := _counts_from(found.change, today):
        more.insert(0, coming)
    return Told(
        text=told.text,
        more=tuple(more),
        undo_id="" if found.taken_back else found.change.key,
        undo_path="/settings/undo",
    )


def _lasts_now(plan: Plan, found: NotedChange) -> tuple[str, ...]:
    """Through which day supplies last now, and did before a change."""
    now, was = plan.run_out.expected_on, found.before.lasted_on
    if now == was:
        return (message("lasts-same"), wording.lasts_text(plan))
    return (_lasts("lasts-now", now, plan), _lasts("lasted-before", was, plan))


def _lasts(code: str, ends_on: date | None, plan: Plan) -> str:
    if ends_on is None:
        return message(f"{code}-beyond")
    if ends_on <= plan.as_of:
        return message(f"{code}-none")
    day = wording.day_text(ends_on - timedelta(days=1), today=plan.as_of)
    return message(code).format(day=day)


def _order_now(plan: Plan, found: NotedChange) -> tuple[str, ...]:
    """By which day to order now, and before a change, where that moved."""
    now, was = plan.order.order_by_on, found.before.order_by_on
    if now == was:
        return ()
    before = message("ordered-by-before-none")
    if was is not None:
        day = wording.day_text(was, today=plan.as_of)
        before = message("ordered-by-before").format(day=day)
    return (wording.order_by_text(plan), before)


def after_change(access: HouseholdAccess, saved: Saved) -> Response:
    """Lead to the settings, which say what was changed."""
    done = "setting" if saved.key else "unchanged"
    return after(f"/h/{access.household_id}/settings", done, saved.key)


def started_texts(codes: str) -> tuple[str, ...]:
    """How sure a first plan is, and what it counts with where the answer was not known."""
    counted = {
        "size": USUAL_BOTTLE_ML,
        "box": USUAL_KITS_PER_BOX,
        "lead": USUAL_LEAD_BUSINESS_DAYS,
    }
    known = [one for one in codes.split(".") if one in ("size", "count", "box", "lead")]
    checks = [message(f"start-check-{one}").format(**counted) for one in known]
    if checks:
        checks = [message("start-check"), *checks, message("start-check-where")]
    return (message("start-leans"), *checks)
