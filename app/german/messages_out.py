"""German for what leaves the pages: calendars, e-mail reminders and invites.

As in English, the plain form names no illness, device, goods, amount or person.
"""

from __future__ import annotations

FEED: dict[str, str] = {
    "calendar.household": "Material",
    "calendar.coordinator": "Material der Haushalte",
    "standing.summary": "Materialkalender eingerichtet",
    "standing.text": "Termine für Ihr Material erscheinen von selbst in diesem Kalender.",
    "order-by.summary": "Bis heute Material bestellen",
    "order-by.text": (
        "Das ist der letzte Arbeitstag, an dem eine Bestellung noch rechtzeitig ankommt."
    ),
    "order-late.summary": "Heute Material bestellen",
    "order-late.text": "Neues Material kommt vielleicht erst, wenn das zu Hause schon aus ist.",
    "order.list": "Was zu bestellen ist, steht in Ihrem Materialplan.",
    "run-out-cautious.summary": "Material zu Hause kann ausgehen",
    "run-out-cautious.text": (
        "Sicher genug ({protection}) reicht es bis zum Tag davor, aber nicht länger."
    ),
    "run-out-expected.summary": "Material zu Hause geht wahrscheinlich aus",
    "run-out-expected.text": (
        "Wahrscheinlich ist das der erste Tag, für den das Material zu Hause nicht reicht."
    ),
    "run-out.coming": "Was unterwegs ist, zählt erst, wenn es da ist.",
    "delivery.summary": "Lieferung von Material erwartet",
    "delivery-late.summary": "Lieferung von Material ist verspätet",
    "delivery.text": "Sie sollte an diesem Tag kommen. Es kann bis {latest} dauern.",
    "delivery-sure.text": "Sie sollte an diesem Tag kommen.",
    "delivery-late.text": "Rufen Sie Ihren Lieferanten an und fragen Sie, wann sie kommt.",
    "call.summary": "Lieferanten wegen der Bestellung anrufen",
    "call.text": "Das Material zu Hause kann ausgehen, bevor die Lieferung kommt.",
    "short": (
        "Rufen Sie Ihren Lieferanten an und bitten Sie um eine Eillieferung. Rufen Sie Ihr Team an."
    ),
    "keep-to-plan": "Bleiben Sie bei Ihrem eigenen Plan.",
    "count.summary": "Material zu Hause zählen",
    "count.text": (
        "Eine Zählung hält die Termine richtig. Jeder Tag in der Nähe von diesem ist recht."
    ),
    "use-first.summary": "Haltbarkeit: letzter Tag für etwas Material zu Hause",
    "use-first.text": "Nur bis zu diesem Tag ist es haltbar. Nehmen Sie das älteste zuerst.",
    "use-first.line": "{item}: {units}, Charge {lot}",
    "use-first.line-without-lot": "{item}: {units}",
    "due-short.summary": "{reference}: heute wegen des Materials handeln",
    "due-short.text": (
        "Das Material kann ausgehen, bevor neues kommt. Bitten Sie um eine Eillieferung."
    ),
    "due-order.summary": "{reference}: bis heute Material bestellen",
    "due-order.text": (
        "Das ist der letzte Arbeitstag, an dem eine Bestellung noch rechtzeitig ankommt."
    ),
    "due-run-out.summary": "{reference}: Material kann ausgehen",
    "due-delivery.summary": "{reference}: Lieferung von Material erwartet",
    "due-delivery-late.summary": "{reference}: Lieferung von Material ist verspätet",
    "due-delivery-late.text": "Fragen Sie den Lieferanten, wann sie kommt.",
    "due.expected": "Geht wahrscheinlich am {day} aus.",
    "due.cautious": "Kann am {day} ausgehen.",
    "cancelled.summary": "Nicht mehr aktuell: {summary}",
    "phone.supplier": "Lieferant: {contact}",
    "phone.team": "Ihr Team: {contact}",
    "caution": "Dieses Programm zählt nur Material. Halten Sie sich an Ihren eigenen Plan.",
}

REMINDERS: dict[str, str] = {
    "order-by.subject": "Bis {day} Material bestellen",
    "risk.subject": "Heute wegen des Materials handeln",
    "risk.text": "Das Material kann ausgehen, bevor neues kommt.",
    "delivery-late.subject": "Eine Lieferung von Material ist verspätet",
    "delivery-late.text": "Sie kam nicht an dem Tag, an dem sie kommen sollte.",
    "digest.subject": "Material: Für {count} Haushalte ist zu handeln",
    "digest.subject-one": "Material: Für 1 Haushalt ist zu handeln",
    "digest.text": "Bei diesen Haushalten muss jemand handeln, die dringendsten zuerst.",
    "digest.line-short": "{reference}: heute handeln",
    "digest.line-order": "{reference}: bis {day} bestellen",
    "digest.more": "Und {count} weitere.",
    "open": "Ihr Materialplan: {address}",
    "stop": "Keine solchen Nachrichten mehr: {address}",
}

INVITES: dict[str, str] = {
    "subject": "Sie sind eingeladen",
    "text": (
        "{inviter} lädt Sie ein, sich gemeinsam um Material zu kümmern.\n\n"
        "Öffnen Sie diesen Link, um dazuzukommen. Er gilt einmal, 7 Tage lang:\n{address}\n\n"
        "Sie wissen nicht, wer das ist? Dann tun Sie nichts."
    ),
}
