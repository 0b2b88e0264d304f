"""What a household has set, as plain sentences; the words are in the catalogue.

Nothing here says when or how much to drain: it repeats what was prescribed.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, time

from app.changes import SettingChange, Subject
from app.messages import message
from app.wording import count_text, day_text, days_text, joined, protection_text, volume_text
from planner.dates import WEEKDAY_NAMES
from planner.household import Catheter, Pause, PlanSettings
from planner.items import SupplyItem
from planner.regimen import Pattern, Regimen, weekly_rule
from planner.supply import AuthorizedQuantity, Closure, Contact, StandingDelivery, SupplierTerms

PAUSE_REASONS = ("hospital", "travel")


def weekday_text(weekday: int, language: str | None = None) -> str:
    """The name of a weekday, Monday = 0."""
    return message("weekday-names", language=language).split()[weekday]


def weekdays_of(regimen: Regimen) -> tuple[int, ...] | None:
    """The fixed weekdays of a regimen; None when it is written in another way."""
    rule = (regimen.rrule or "").upper().removeprefix("RRULE:")
    names = rule.partition("BYDAY=")[2].split(",")
    if not set(names) <= set(WEEKDAY_NAMES) or rule != weekly_rule(tuple(names)):
        return None
    return tuple(sorted(WEEKDAY_NAMES.index(name) for name in names))


def frequency_text(regimen: Regimen, language: str | None = None) -> str:
    """How often, "Every 2 days"."""
    if regimen.pattern is Pattern.AS_NEEDED:
        return message("as-needed", language=language)
    if regimen.pattern is Pattern.EVERY_N_DAYS:
        count = regimen.every_n_days or 0
        return message("every-n-days", count=count, language=language).format(count=count)
    weekdays = weekdays_of(regimen)
    if weekdays is None:
        return message("by-rule", language=language).format(rule=regimen.rrule)
    days = joined([weekday_text(one, language) for one in weekdays], language)
    return message("on-weekdays", language=language).format(days=days)


def regimen_texts(regimen: Regimen, today: date, language: str | None = None) -> tuple[str, ...]:
    """A regimen in short lines: how often and since when, the limit, the prescriber."""
    how, day = frequency_text(regimen, language), day_text(regimen.starts_on, today=today)
    lines = [message("regimen-since", language=language).format(how=how, day=day)]
    if regimen.session_limit_ml:
        volume = volume_text(regimen.session_limit_ml)
        lines.append(message("regimen-limit", language=language).format(volume=volume))
    if regimen.ordered_by:
        pattern = message("regimen-ordered-by", language=language)
        lines.append(pattern.format(name=regimen.ordered_by))
    return tuple(lines)


def catheter_texts(catheter: Catheter, today: date, language: str | None = None) -> tuple[str, ...]:
    """Where a catheter lies, what is expected of it, and until when it is there."""
    lines = [message(f"site-{catheter.site.value}", language=language)]
    if catheter.expected_ml_per_day is not None:
        volume = volume_text(catheter.expected_ml_per_day)
        lines.append(message("expected-volume", language=language).format(volume=volume))
    if catheter.removed_on is not None:
        day = day_text(catheter.removed_on, today=today)
        lines.append(message("removed-on", language=language).format(day=day))
    return tuple(lines)


def pause_text(pause: Pause, today: date, language: str | None = None) -> str:
    """A time away in one line."""
    reason = pause.reason if pause.reason in PAUSE_REASONS else "other"
    return message(
        "away-from" if pause.ends_on is None else "away-from-until", language=language
    ).format(
        what=message(f"away-{reason}", language=language),
        day=day_text(pause.starts_on, today=today),
        home="" if pause.ends_on is None else day_text(pause.ends_on, today=today),
    )


def supplier_texts(terms: SupplierTerms, language: str | None = None) -> tuple[str, ...]:
    """A supplier's terms in short lines."""
    lead = terms.lead_business_days
    lines = [message("lead-days", count=lead, language=language).format(count=lead)]
    if terms.express_business_days is not None:
        quick = terms.express_business_days
        lines.append(message("express-days", count=quick, language=language).format(count=quick))
    cut_off = message("cut-off", language=language)
    lines.append(cut_off.format(time=f"{terms.cut_off:%H:%M}"))
    if terms.time_zone is not None:
        zone = terms.time_zone.rpartition("/")[2].replace("_", " ")
        lines.append(message("cut-off-clock", language=language).format(place=zone))
    if terms.standing is not None:
        rule = terms.standing.rrule
        lines.append(message("delivers-by-rule", language=language).format(rule=rule))
    elif terms.delivery_weekdays is None:
        lines.append(message("delivers-any", language=language))
    else:
        days = joined([weekday_text(one, language) for one in terms.delivery_weekdays], language)
        lines.append(message("delivers-on", language=language).format(days=days))
    if terms.holiday_country is None:
        lines.append(message("keeps-none", language=language))
    else:
        where = "-".join(filter(None, (terms.holiday_country, terms.holiday_region)))
        lines.append(message("keeps-holidays", language=language).format(where=where))
    if terms.minimum_boxes:
        least = terms.minimum_boxes
        pattern = message("minimum-order", count=least, language=language)
        lines.append(pattern.format(count=least))
    if terms.contact is not None and terms.contact.phone:
        lines.append(message("phone", language=language).format(phone=terms.contact.phone))
    return tuple(lines)


def closure_text(closure: Closure, today: date, language: str | None = None) -> str:
    """Days on which the supplier is closed."""
    return message("closed-reason" if closure.reason else "closed", language=language).format(
        first=day_text(closure.starts_on, today=today),
        last=day_text(closure.ends_on, today=today),
        reason=closure.reason,
    )


def item_text(item: SupplyItem, language: str | None = None) -> str:
    """The bottle size and the box of an item."""
    holds = ""
    if item.capacity_ml is not None:
        holds = message("item-holds", language=language).format(
            volume=volume_text(item.capacity_ml)
        )
    return message("item-line", language=language).format(
        holds=holds,
        per_box=count_text(item.units_per_box, item.kind.value, language),
    )


def authorized_text(
    limit: AuthorizedQuantity,
    items: Mapping[str, SupplyItem],
    today: date,
    language: str | None = None,
) -> str:
    """How many units of an item are allowed."""
    item = items.get(limit.item_code)
    return message("allowed", language=language).format(
        item=limit.item_code if item is None else item.name,
        units=count_text(limit.units, "other" if item is None else item.kind.value, language),
        days=days_text(limit.per_days, language),
        day=day_text(limit.starts_on, today=today),
    )


def plan_texts(plan: PlanSettings, language: str | None = None) -> tuple[str, ...]:
    """How safe the plan is to be, and how long an order is to last."""
    protection = protection_text(plan.protection, language)
    return (
        message("protection-level", language=language).format(protection=protection),
        message("cover-days", language=language).format(days=days_text(plan.cover_days, language)),
    )


def change_text(
    change: SettingChange,
    was: Mapping[str, object],
    *,
    items: Mapping[str, SupplyItem],
    labels: Mapping[str, str],
    today: date,
    language: str | None = None,
) -> str:
    """A change in one line of the history.

    Args:
        change: what was changed.
        was: its fields before.
        items: the household's items by code.
        labels: what catheters are called, by id.
        today: days in another year show their year.
        language: a language of the catalogue.
    """
    code = f"change-{change.subject.value}"
    if change.is_removal:
        return message(f"{code}-removed", language=language)
    values = change.values
    match change.subject:
        case Subject.REGIMEN:
            what = ". ".join(regimen_texts(Regimen(**values), today, language))
        case Subject.PAUSE:
            what = pause_text(Pause(**values), today, language)
        case Subject.CLOSURE:
            what = closure_text(Closure(**values), today, language)
        case Subject.AUTHORIZED:
            what = authorized_text(AuthorizedQuantity(**values), items, today, language)
        case _:
            named = {code: item.name for code, item in items.items()}
            old, new = (_by_name(some, named, language) for some in (was, values))
            what = ", ".join(_field_texts(new, old, language))
    target = labels.get(change.target, change.target)
    return message(code, language=language).format(target=target, what=what)


def _by_name(
    values: Mapping[str, object], names: Mapping[str, str], language: str | None
) -> dict[str, object]:
    """Fields in which goods stand by what people call them."""
    goods = ("kit_code", "bottle_code")
    found = {
        field: names.get(str(value), value) if field in goods else value
        for field, value in values.items()
    }
    others = values.get("other_kit_codes")
    if isinstance(others, tuple):
        known = [names.get(str(code), str(code)) for code in others]
        found["other_kit_codes"] = joined(known, language)
    return found


def _field_texts(
    values: Mapping[str, object], was: Mapping[str, object], language: str | None
) -> Iterable[str]:
    for name, value in values.items():
        field = message(f"field-{name}", language=language)
        new = _value_text(value, language)
        if name not in was:
            yield message("field-new", language=language).format(field=field, value=new)
            continue
        old = _value_text(was[name], language)
        pattern = message("field-changed", language=language)
        yield pattern.format(field=field, value=new, was=old)


def _value_text(value: object, language: str | None) -> str:
    match value:
        case None | "":
            text = message("nothing-entered", language=language)
        case float():
            text = protection_text(value, language)
        case time():
            text = f"{value:%H:%M}"
        case date():
            text = day_text(value, with_year=True)
        case StandingDelivery():
            text = value.rrule
        case Contact():
            text = f"{value.name} {value.phone}".strip()
        case tuple():
            text = joined([weekday_text(one, language) for one in value], language)
        case _:
            text = str(value)
    return text
