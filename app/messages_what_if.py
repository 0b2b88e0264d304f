"""Sentences about a supposed change, for the catalogue in `app.messages`.

They say what a change does to supplies and never that it would be good to make it.
"""

from __future__ import annotations

Message = str | tuple[str, str]

ENGLISH_WHAT_IF: dict[str, Message] = {
    # How long supplies last, first at home, then with the order on its way.
    "what-if-lasts-less": (
        "With this, supplies will probably last through {day}: {days} less than now."
    ),
    "what-if-lasts-more": (
        "With this, supplies will probably last through {day}: {days} more than now."
    ),
    "what-if-lasts-same": "With this, supplies will probably last through {day}, just as now.",
    "what-if-lasts-from-beyond": (
        "With this, supplies will probably last through {day}. As things are, they last past "
        "{other}."
    ),
    "what-if-lasts-to-beyond": (
        "With this, supplies will probably last past {day}. As things are, they last through "
        "{other}."
    ),
    "what-if-lasts-beyond": "With this, supplies will probably last past {day}, just as now.",
    "what-if-lasts-none": "With this, there is probably not enough for the next session.",
    "what-if-coming-less": "With the order on its way: through {day}, {days} less than now.",
    "what-if-coming-more": "With the order on its way: through {day}, {days} more than now.",
    "what-if-coming-same": "With the order on its way: through {day}, just as now.",
    "what-if-coming-from-beyond": (
        "With the order on its way: through {day}. As things are: past {other}."
    ),
    "what-if-coming-to-beyond": (
        "With the order on its way: past {day}. As things are: through {other}."
    ),
    "what-if-coming-beyond": "With the order on its way: past {day}, just as now.",
    "what-if-coming-none": "With the order on its way there is still not enough.",
    # When to order.
    "what-if-order-sooner": "The day to order by would be {day}, {days} sooner.",
    "what-if-order-later": "The day to order by would be {day}, {days} later.",
    "what-if-order-same": "The day to order by stays {day}.",
    "what-if-order-new": "Then an order is needed by {day}. As things are, none is needed.",
    "what-if-order-gone": "Then no order is needed. As things are, one is needed by {day}.",
    "what-if-order-none": "No order is needed, with this or without it.",
    "what-if-order-too-late": "An order placed today may come too late.",
    # What to order.
    "what-if-boxes": "{item}: {after} to order, {before} as things are.",
    "what-if-boxes-same": "{item}: {after} to order, just as now.",
    # The delivery and the chance to run out before it.
    "what-if-delivery": "The next delivery should then come on {day}, not on {other}.",
    "what-if-risk": (
        "The chance of running out before the next delivery would be {after}. Now it is {before}."
    ),
    "what-if-risk-same": "The chance of running out before the next delivery stays {after}.",
    # What to pack.
    "packing-days": "For {days} away, from {first} through {last}.",
    "packing-spare": (
        "{days} of them is in reserve, in case you come home late.",
        "{days} of them are in reserve, in case you come home late.",
    ),
    "packing-sessions": (
        "By your plan this is probably {sessions} on these days. It may be as many as {most}."
    ),
    "packing-sure": "This is almost sure to be enough ({protection}).",
    "packing-none": "By your plan nothing is used from the shelf on these days.",
    "packing-dressings": "Each kit holds one dressing pack, so {packs} come along with them.",
    "packing-missing": (
        "{missing} more of {item} are needed than lie on the shelf and stay in date. "
        "Call {supplier} before you leave."
    ),
    "packing-lasting": "Take the ones that may still be used on {day}.",
}
