"""German sentences about a supposed change, by the codes of `app.messages`."""

from __future__ import annotations

Message = str | tuple[str, str]

WHAT_IF: dict[str, Message] = {
    "what-if-lasts-less": (
        "Damit reicht das Material wahrscheinlich bis einschließlich {day}: {days} weniger als "
        "jetzt."
    ),
    "what-if-lasts-more": (
        "Damit reicht das Material wahrscheinlich bis einschließlich {day}: {days} mehr als jetzt."
    ),
    "what-if-lasts-same": (
        "Damit reicht das Material wahrscheinlich bis einschließlich {day}, genau wie jetzt."
    ),
    "what-if-lasts-from-beyond": (
        "Damit reicht das Material wahrscheinlich bis einschließlich {day}. So wie es ist, reicht "
        "es länger als bis {other}."
    ),
    "what-if-lasts-to-beyond": (
        "Damit reicht das Material wahrscheinlich länger als bis {day}. So wie es ist, reicht es "
        "bis einschließlich {other}."
    ),
    "what-if-lasts-beyond": (
        "Damit reicht das Material wahrscheinlich länger als bis {day}, genau wie jetzt."
    ),
    "what-if-lasts-none": "Damit reicht es wahrscheinlich nicht für die nächste Sitzung.",
    "what-if-coming-less": (
        "Mit der Bestellung, die unterwegs ist: bis einschließlich {day}, {days} weniger als jetzt."
    ),
    "what-if-coming-more": (
        "Mit der Bestellung, die unterwegs ist: bis einschließlich {day}, {days} mehr als jetzt."
    ),
    "what-if-coming-same": (
        "Mit der Bestellung, die unterwegs ist: bis einschließlich {day}, genau wie jetzt."
    ),
    "what-if-coming-from-beyond": (
        "Mit der Bestellung, die unterwegs ist: bis einschließlich {day}. So wie es ist: länger "
        "als bis {other}."
    ),
    "what-if-coming-to-beyond": (
        "Mit der Bestellung, die unterwegs ist: länger als bis {day}. So wie es ist: bis "
        "einschließlich {other}."
    ),
    "what-if-coming-beyond": (
        "Mit der Bestellung, die unterwegs ist: länger als bis {day}, genau wie jetzt."
    ),
    "what-if-coming-none": "Auch mit der Bestellung, die unterwegs ist, reicht es nicht.",
    "what-if-order-sooner": "Spätestens zu bestellen wäre am {day}, {days} früher.",
    "what-if-order-later": "Spätestens zu bestellen wäre am {day}, {days} später.",
    "what-if-order-same": "Spätestens zu bestellen ist weiterhin am {day}.",
    "what-if-order-new": (
        "Dann ist bis {day} eine Bestellung nötig. So wie es ist, ist keine nötig."
    ),
    "what-if-order-gone": (
        "Dann ist keine Bestellung nötig. So wie es ist, ist bis {day} eine nötig."
    ),
    "what-if-order-none": "Eine Bestellung ist nicht nötig, weder damit noch ohne.",
    "what-if-order-too-late": "Eine Bestellung von heute kann zu spät kommen.",
    "what-if-boxes": "{item}: {after} zu bestellen, so wie es ist {before}.",
    "what-if-boxes-same": "{item}: {after} zu bestellen, genau wie jetzt.",
    "what-if-delivery": "Die nächste Lieferung sollte dann am {day} kommen, nicht am {other}.",
    "what-if-risk": (
        "Die Wahrscheinlichkeit, dass es vor der nächsten Lieferung ausgeht, wäre {after}. Jetzt "
        "ist sie {before}."
    ),
    "what-if-risk-same": (
        "Die Wahrscheinlichkeit, dass es vor der nächsten Lieferung ausgeht, bleibt {after}."
    ),
    "packing-days": "Unterwegs für {days}, von {first} bis einschließlich {last}.",
    "packing-spare": (
        "{days} davon ist Reserve, falls Sie später heimkommen.",
        "{days} davon sind Reserve, falls Sie später heimkommen.",
    ),
    "packing-sessions": (
        "Nach Ihrem Plan sind das an diesen Tagen wahrscheinlich {sessions}. Es können bis zu "
        "{most} werden."
    ),
    "packing-sure": "Das reicht fast sicher ({protection}).",
    "packing-none": "Nach Ihrem Plan wird an diesen Tagen nichts aus dem Regal gebraucht.",
    "packing-dressings": ("In jedem Set ist ein Verbandpack, {packs} kommen also schon mit."),
    "packing-missing": (
        "Es fehlen {missing} ({item}): So viel liegt nicht haltbar im Regal. Rufen Sie vor der "
        "Abreise an: {supplier}."
    ),
    "packing-lasting": "Nehmen Sie die, die am {day} noch haltbar sind.",
}
