"""A comparison and a packing list as plain sentences; the words are in the catalogue."""

from __future__ import annotations

from datetime import date, timedelta

from app import wording
from app.messages import message
from planner.comparison import BoxChange, Comparison, DateChange
from planner.items import ItemKind
from planner.packing import PackingList
from planner.results import Plan

_DAY = timedelta(days=1)


def difference_texts(
    found: Comparison, names: wording.Names, language: str | None = None
) -> tuple[str, ...]:
    """What the change does, the most important first; the first sentence says how long it lasts."""
    texts = [_lasts(found, found.expected, "lasts", language)]
    is_coming = found.before.run_out_with_coming != found.before.run_out
    if is_coming:
        texts.append(_lasts(found, found.expected_with_coming, "coming", language))
    texts.append(_order_by(found, language))
    if found.after.order.too_late and not found.before.order.too_late:
        texts.append(message("what-if-order-too-late", language=language))
    texts += [_boxes(one, names, language) for one in found.boxes]
    delivery = found.delivery
    if delivery.before != delivery.after and delivery.before and delivery.after:
        texts.append(
            message("what-if-delivery", language=language).format(
                day=_day(found, delivery.after, language),
                other=_day(found, delivery.before, language),
            )
        )
    texts.append(_risk(found, language))
    return tuple(texts)


def _lasts(found: Comparison, change: DateChange, code: str, language: str | None) -> str:
    """How long supplies last; the last covered day is the one before the run-out."""
    before, after = change.before, change.after
    kind = "same"
    if after is None:
        kind = "beyond" if before is None else "to-beyond"
    elif after <= found.after.as_of:
        kind = "none"
    elif before is None:
        kind = "from-beyond"
    elif change.days:
        kind = "less" if change.days < 0 else "more"
    return message(f"what-if-{code}-{kind}", language=language).format(
        day=_day(found, _last_covered(found.after, after), language),
        other=_day(found, _last_covered(found.before, before), language),
        days=wording.days_text(abs(change.days or 0), language),
    )


def _last_covered(plan: Plan, ends_on: date | None) -> date:
    return (ends_on or plan.as_of + plan.horizon_days * _DAY) - _DAY


def _order_by(found: Comparison, language: str | None) -> str:
    change = found.order_by
    before, after = change.before, change.after
    if before is None:
        kind = "none" if after is None else "new"
    elif after is None:
        kind = "gone"
    else:
        kind = "same" if before == after else "sooner" if after < before else "later"
    day = after or before
    return message(f"what-if-order-{kind}", language=language).format(
        day=_day(found, day, language) if day else "",
        days=wording.days_text(abs(change.days or 0), language),
    )


def _boxes(change: BoxChange, names: wording.Names, language: str | None) -> str:
    same = change.before == change.after
    return message("what-if-boxes-same" if same else "what-if-boxes", language=language).format(
        item=names.items.get(change.item_code, change.item_code),
        before=wording.count_text(change.before, "boxes", language),
        after=wording.count_text(change.after, "boxes", language),
    )


def _risk(found: Comparison, language: str | None) -> str:
    before = wording.chance_text(found.risk_before, language)
    after = wording.chance_text(found.risk_after, language)
    code = "what-if-risk-same" if before == after else "what-if-risk"
    return message(code, language=language).format(before=before, after=after)


def _day(found: Comparison, day: date, language: str | None) -> str:
    return wording.day_text(day, today=found.after.as_of, language=language)


def packing_texts(
    packing: PackingList, today: date, *, spare_days: int, language: str | None = None
) -> tuple[str, ...]:
    """What a packing list is for and how sure it is."""
    first = packing.days.starts_on
    last = (packing.days.ends_on or first + _DAY) - _DAY
    texts = [
        message("packing-days", language=language).format(
            days=wording.days_text((last - first).days + 1, language),
            first=wording.day_text(first, today=today, language=language),
            last=wording.day_text(last, today=today, language=language),
        )
    ]
    if spare_days:
        days = wording.days_text(spare_days, language)
        spare = message("packing-spare", count=spare_days, language=language)
        texts.append(spare.format(days=days))
    if not packing.items:
        return (*texts, message("packing-none", language=language))
    usual = sum(one.usual_sessions for one in packing.shelves)
    most = sum(one.most_sessions for one in packing.shelves)
    texts.append(
        message("packing-sessions", language=language).format(
            sessions=wording.count_text(usual, "sessions", language), most=most
        )
    )
    sure = wording.protection_text(packing.protection, language)
    texts.append(message("packing-sure", language=language).format(protection=sure))
    kits = sum(one.kit.units for one in packing.shelves)
    packs = wording.units_text(kits, ItemKind.DRESSING, language)
    texts.append(message("packing-dressings", language=language).format(packs=packs))
    day = wording.day_text(last, today=today, language=language)
    return (*texts, message("packing-lasting", language=language).format(day=day))


def missing_texts(
    packing: PackingList, names: wording.Names, language: str | None = None
) -> tuple[str, ...]:
    """What is needed away and does not lie on the shelf."""
    return tuple(
        message("packing-missing", language=language).format(
            missing=one.missing,
            item=names.items.get(one.item_code, one.item_code),
            supplier=wording.supplier_text(names, language),
        )
        for one in packing.items
        if one.missing
    )
