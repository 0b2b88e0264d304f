"""What the calendar page says about a coordinator's choices, and how it reads them."""

from __future__ import annotations

from collections.abc import Mapping

from app.errors import InvalidInput
from app.feed_filter import LEVELS, DueKind, FeedFilter
from app.forms import Form, FormReader
from app.texts import tr
from app.wording import joined
from planner.results import Urgency

LABELS = {
    "least_urgency": "The choice of households",
    "kinds": "The choice of entries",
    "supplier": "Supplier",
}
ALL_SUPPLIERS = "All suppliers"

_HOUSEHOLDS = {
    Urgency.SHORT: "households that run short",
    Urgency.ORDER_NOW: "households that run short or have to order today",
    Urgency.ORDER_SOON: "households that run short or have to order within a week",
}
_LEVELS = {
    Urgency.SHORT: "Running short only",
    Urgency.ORDER_NOW: "Running short, and order today",
    Urgency.ORDER_SOON: "All that need an order within a week",
}
_KINDS = {
    DueKind.ORDER_BY: "the day to order by",
    DueKind.RUN_OUT: "the day supplies may run out",
    DueKind.DELIVERY: "the next delivery",
}


def level_choices() -> list[tuple[str, str]]:
    """How urgent a household must be, as value and label."""
    return [(level.value, tr(_LEVELS[level])) for level in LEVELS]


def kind_choices() -> list[tuple[str, str]]:
    """The kinds of entries, as name of the field and label."""
    return [(kind.value, tr(text)[:1].upper() + tr(text)[1:]) for kind, text in _KINDS.items()]


def supplier_choices(form: Form, known: tuple[str, ...]) -> list[tuple[str, str]]:
    """All suppliers or one, as value and label; what stands in the form is always among them."""
    choices = [("", ALL_SUPPLIERS), *((name, name) for name in known)]
    typed = form.value("supplier")
    if typed and typed not in known:
        choices.append((typed, tr("{supplier} (no household has it now)", supplier=typed)))
    return choices


def shown_text(wanted: FeedFilter) -> str:
    """What an address shows, as one sentence."""
    kinds = [tr(text) for kind, text in _KINDS.items() if wanted.wants(kind)]
    if not wanted.wants(DueKind.ORDER_BY):
        kinds.insert(0, tr("today for those that run short"))
    listed = joined(kinds)
    whose = tr("of all suppliers")
    if wanted.supplier is not None:
        whose = tr("of {supplier} only", supplier=wanted.supplier)
    return tr(
        "This address shows: {households}, {whose}; {kinds}.",
        households=tr(_HOUSEHOLDS[wanted.least_urgency]),
        whose=whose,
        kinds=listed,
    )


def form_of(wanted: FeedFilter) -> Form:
    """The form with these choices."""
    values = {kind.value: "yes" for kind in wanted.kinds}
    values["least_urgency"] = wanted.least_urgency.value
    values["supplier"] = wanted.supplier or ""
    return Form(values=values, labels=LABELS)


def read_filter(values: Mapping[str, str]) -> FeedFilter:
    """The choices of a posted form.

    Raises:
        InvalidInput: fields `least_urgency`, `kinds`.
    """
    reader = FormReader(values)
    level = next((one for one in LEVELS if one == reader.text("least_urgency")), None)
    if level is None:
        reader.fault("least_urgency", "choose one of the three below")
    kinds = frozenset(kind for kind in DueKind if reader.text(kind) == "yes")
    if not kinds:
        reader.fault("kinds", "tick at least one kind of entry")
    if level is None or not kinds:
        raise InvalidInput(reader.faults)
    return FeedFilter(least_urgency=level, kinds=kinds, supplier=values.get("supplier") or None)
