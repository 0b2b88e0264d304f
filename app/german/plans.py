"""German sentences about plans, by the codes of `app.messages`."""

from __future__ import annotations

Message = str | tuple[str, str]

PLANS: dict[str, Message] = {
    "caution": (
        "Dieses Programm zählt Material. Es sagt Ihnen nicht, wann oder wie viel Sie ableiten "
        "sollen. Halten Sie sich an Ihren eigenen Plan."
    ),
    "weekdays": "Mo Di Mi Do Fr Sa So",
    "months": (
        "Januar Februar März April Mai Juni Juli August September Oktober November Dezember"
    ),
    "day": "{weekday}, {day}. {month}",
    "day-with-year": "{weekday}, {day}. {month} {year}",
    "number-marks": ".,",
    "days": ("{count} Tag", "{count} Tage"),
    "weeks": ("{count} Woche", "{count} Wochen"),
    "sessions": ("{count} Sitzung", "{count} Sitzungen"),
    "boxes": ("{count} Packung", "{count} Packungen"),
    "kit": ("{count} Set", "{count} Sets"),
    "bottle": ("{count} Einzelflasche", "{count} Einzelflaschen"),
    "dressing": ("{count} Verbandpack", "{count} Verbandpacks"),
    "other": ("{count} Stück", "{count} Stück"),
    "and": "{first} und {last}",
    "chance-none": "weniger als 1 zu 1.000",
    "chance-one-in": "etwa 1 von {count}",
    "chance-of-ten": "etwa {count} von 10",
    "chance-most": "mehr als 9 von 10",
    "chance-nearly-all": "mehr als 99 von 100",
    "likelihood-99": "fast sicher",
    "likelihood-90": "sehr wahrscheinlich",
    "likelihood-66": "wahrscheinlich",
    "likelihood-33": "etwa gleich wahrscheinlich wie nicht",
    "likelihood-10": "nicht wahrscheinlich",
    "likelihood-1": "sehr unwahrscheinlich",
    "likelihood-0": "äußerst unwahrscheinlich",
    "protection": "{percent} von 100",
    "urgency-short": "Heute handeln: Das Material kann knapp werden",
    "urgency-order-now": "Heute bestellen",
    "urgency-order-soon": "Innerhalb einer Woche bestellen",
    "urgency-steady": "Vorerst genug",
    "urgency-resting": "Zurzeit nicht in Gebrauch",
    "urgency-short-name": "Wird knapp",
    "urgency-order-now-name": "Heute bestellen",
    "urgency-order-soon-name": "Bald bestellen",
    "urgency-steady-name": "Vorerst genug",
    "urgency-resting-name": "Nicht in Gebrauch",
    "headline-days": ("Material für {days}", "Material für {days}"),
    "headline-empty": "Keine Sets zu Hause",
    "headline-none": "Nicht genug Material für eine Sitzung heute",
    "headline-beyond": "Material für mehr als {days}",
    "headline-resting": "Zurzeit wird kein Material gebraucht",
    "lasts-until": "Es reicht wahrscheinlich noch bis einschließlich {day}.",
    "lasts-beyond": "Es reicht wahrscheinlich länger als bis {day}.",
    "lasts-empty": ("Die nächste Sitzung ist wahrscheinlich am {day}. Dafür ist noch kein Set da."),
    "lasts-none": "Es reicht wahrscheinlich nicht für die nächste Sitzung.",
    "sure-until": "Fast sicher ({protection}) reicht es bis einschließlich {day}.",
    "sure-very-likely-until": (
        "Sehr wahrscheinlich ({protection}) reicht es bis einschließlich {day}."
    ),
    "sure-likely-until": "Mit {protection} reicht es bis einschließlich {day}.",
    "sure-beyond": "Fast sicher ({protection}) reicht es länger als bis {day}.",
    "sure-very-likely-beyond": (
        "Sehr wahrscheinlich ({protection}) reicht es länger als bis {day}."
    ),
    "sure-likely-beyond": "Mit {protection} reicht es länger als bis {day}.",
    "sure-empty": "Sie kann schon am {day} sein.",
    "sure-none": "Es ist nicht sicher ({protection}), dass es noch für heute reicht.",
    "with-coming-until": (
        "Mit der Bestellung, die unterwegs ist, reicht es wahrscheinlich bis einschließlich {day}."
    ),
    "with-coming-beyond": (
        "Mit der Bestellung, die unterwegs ist, reicht es wahrscheinlich länger als bis {day}."
    ),
    "delivery-open": (
        "Die nächste Lieferung sollte am {usual} kommen. Spätestens kommt sie am {latest}."
    ),
    "delivery-open-sure": "Die nächste Lieferung sollte am {usual} kommen.",
    "delivery-if-ordered": (
        "Was heute bestellt wird, sollte am {usual} kommen. Spätestens kommt es am {latest}."
    ),
    "delivery-if-ordered-sure": "Was heute bestellt wird, sollte am {usual} kommen.",
    "delivery-usual-way": (
        "Auf dem üblichen Weg sollte, was heute bestellt wird, am {usual} kommen. Spätestens "
        "kommt es wohl am {latest}."
    ),
    "delivery-usual-way-sure": (
        "Auf dem üblichen Weg sollte, was heute bestellt wird, am {usual} kommen."
    ),
    "delivery-risk": (
        "Dass das Material vorher ausgeht, ist {likelihood}. Die Wahrscheinlichkeit ist {chance}."
    ),
    "order-lines": "Zu bestellen: {lines}.",
    "order-line": "{boxes} {item}",
    "order-line-units": "{boxes} {item} ({units})",
    "order-covers": "Das sollte bis {day} reichen.",
    "order-by": "Bis {day} bestellen.",
    "order-today": "Heute bestellen.",
    "order-today-closed": "Am {day} bestellen. Dann ist wieder geöffnet.",
    "who-orders": "Wer bestellt: {people}.",
    "order-none": "Jetzt muss nichts bestellt werden.",
    "call-express": "Rufen Sie heute an: {supplier}. Bitten Sie um eine Eillieferung.",
    "call-express-on": (
        "Rufen Sie am {day} an, sobald geöffnet ist: {supplier}. Bitten Sie um eine Eillieferung."
    ),
    "express-safe": (
        "Um sicherzugehen, bitten Sie für diese Bestellung um eine Eillieferung: {supplier}."
    ),
    "express-whole": "Bitten Sie um die ganze Bestellung als Eillieferung.",
    "express-lines": "Bitten Sie um {lines} als Eillieferung.",
    "express-unless": ("Kann sie nicht bis {by} kommen, bitten Sie um eine Eillieferung."),
    "express-unless-lines": (
        "Kann sie nicht bis {by} kommen, bitten Sie um {lines} als Eillieferung."
    ),
    "express-comes": (
        "Eine Eillieferung sollte am {usual} kommen. Dass das Material vorher ausgeht, ist "
        "{likelihood}. Die Wahrscheinlichkeit ist {chance}."
    ),
    "call-where-is-it": "Rufen Sie an: {supplier}. Fragen Sie, wann die Bestellung kommt.",
    "call-care-team": "Sagen Sie Bescheid, dass das Material knapp werden kann: {care_team}.",
    "call-care-team-ask": "Sprechen Sie darüber: {care_team}.",
    "keep-to-plan": "Bleiben Sie bei Ihrem Ableitungsplan.",
    "contact-with-phone": "{name} ({phone})",
    "your-supplier": "Ihr Lieferant",
    "your-care-team": "Ihr Behandlungsteam",
    "title": "{name} - Plan vom {day}",
    "to-do": "Was zu tun ist",
    "on-shelf": "Im Regal",
    "next-delivery": "Nächste Lieferung",
    "good-to-know": "Gut zu wissen",
    "combined-order": "Bestellungen der kommenden Woche, zusammengefasst",
    "combined-part": "{supplier}: bis {order_by} bestellen, kommt am {delivery}",
    "combined-total": "Insgesamt: {lines}",
    "combined-none": "Kein Haushalt muss in der kommenden Woche bestellen.",
    "who-needs-what": "Haushalte, die dringendsten zuerst",
    "days-left": "noch {days}, sicher {sure}",
    "days-left-beyond": "noch mehr als {days}, sicher {sure}",
    "usable": "{units} verwendbar",
    "of-them-expiring": "{count} davon laufen wahrscheinlich vorher ab",
    "expired": "{units} abgelaufen",
    "recalled": "{units} zurückgerufen",
    "away-in-bag": "{units} in der Reisetasche",
    "in-transit": "{units} unterwegs",
    "short-before-delivery": (
        "Das Material kann ausgehen, bevor eine Bestellung von heute da ist. "
        "Die Wahrscheinlichkeit ist {risk}."
    ),
    "risk-before-open-delivery": (
        "Das Material kann vor der Lieferung am {usual_on} ausgehen. "
        "Die Wahrscheinlichkeit ist {risk}."
    ),
    "short-before-delivery-unlikely": (
        "Das Material reicht sehr wahrscheinlich, bis eine Bestellung von heute da ist. "
        "Die Wahrscheinlichkeit, dass es vorher ausgeht, ist {risk}. "
        "Das ist mehr, als Ihr Plan zulässt."
    ),
    "risk-before-open-delivery-unlikely": (
        "Das Material reicht sehr wahrscheinlich bis zur Lieferung am {usual_on}. "
        "Die Wahrscheinlichkeit, dass es vorher ausgeht, ist {risk}. "
        "Das ist mehr, als Ihr Plan zulässt."
    ),
    "nothing-to-order": "Es ist genug da, so weit dieser Plan vorausschaut.",
    "reason-order-by": "Eine Bestellung bis {order_by} sollte rechtzeitig da sein.",
    "delivery-overdue": "Eine Bestellung ist am erwarteten Tag nicht gekommen.",
    "leans-on-starting-expectation": (
        "Bisher aufgeschrieben ({catheter}): {sessions}. Die Vorhersage stützt sich noch auf das, "
        "was bei anderen üblich ist. Sie kann daher danebenliegen."
    ),
    "leans-on-starting-expectation-none": (
        "Noch ist keine Sitzung aufgeschrieben ({catheter}). Die Vorhersage geht von dem aus, "
        "was bei anderen üblich ist. Sie kann daher danebenliegen."
    ),
    "three-dry-sessions": (
        "Bei den letzten 3 Sitzungen ({catheter}) kam fast nichts. Sagen Sie vor der nächsten "
        "Bestellung Bescheid: {care_team}. Bleiben Sie bei Ihrem Ableitungsplan, bis Sie eine "
        "Antwort haben."
    ),
    "above-authorized": (
        "{item}: Etwa {expected_units} können je {per_days} nötig sein, genehmigt sind "
        "{authorized_units}. Bitten Sie, das zu prüfen: {care_team}."
    ),
    "order-capped": (
        "{item}: Nötig wären {wanted_boxes}, jetzt dürfen aber nur {allowed_boxes} bestellt "
        "werden. Bitten Sie, das zu prüfen: {care_team}."
    ),
    "last-box-left-for-later": (
        "{item}: jetzt {allowed_boxes}, nicht {wanted_boxes}. Die nächste Packung wird vielleicht "
        "nicht gebraucht: Sie wird mit einer Chance von {chance} geöffnet. Man kann sie später "
        "bestellen."
    ),
    "goods-come-short-dated": (
        "{item}: Bei der letzten Lieferung waren es noch {days} bis zum Verfallsdatum. Es wird "
        "nicht mehr vorgeschlagen, als in dieser Zeit verbraucht werden kann. Fragen Sie nach "
        "länger haltbarer Ware: {supplier}."
    ),
    "no-room-at-home": (
        "{item}: Nötig wären {wanted_boxes}, Platz ist aber nur für {allowed_boxes}. Sie haben "
        "angegeben, dass höchstens {most_units} Stück zu Hause liegen sollen. Bestellen Sie "
        "früher nach oder schaffen Sie Platz."
    ),
    "prescription-ends": (
        "Die Verordnung endet am {ends_on}, vor dem Tag der Bestellung ({order_by}). Bitten Sie "
        "jetzt um eine neue: {care_team}."
    ),
    "below-minimum-order": (
        "Die Bestellung hat {boxes}. {supplier} liefert ab {minimum_boxes}. Fragen Sie, was "
        "möglich ist."
    ),
    "expired-on-shelf": (
        "{item}: {units} ist abgelaufen. Nicht verwenden. Es wird nicht mitgezählt.",
        "{item}: {units} sind abgelaufen. Nicht verwenden. Sie werden nicht mitgezählt.",
    ),
    "expires-before-use": (
        "{item}: {units} läuft wahrscheinlich unbenutzt ab. Nehmen Sie das älteste zuerst.",
        "{item}: {units} laufen wahrscheinlich unbenutzt ab. Nehmen Sie die ältesten zuerst.",
    ),
    "recalled-on-shelf": (
        (
            "{item}: {units} ist zurückgerufen. Nicht verwenden. Fragen Sie, was damit geschehen "
            "soll: {supplier}."
        ),
        (
            "{item}: {units} sind zurückgerufen. Nicht verwenden. Fragen Sie, was damit geschehen "
            "soll: {supplier}."
        ),
    ),
    "wrong-goods-here": (
        (
            "Falsche Ware ist gekommen: {what}, {units}. Nicht verwenden. Bitten Sie um Abholung: "
            "{supplier}."
        ),
        (
            "Falsche Ware ist gekommen: {what}, {units}. Nicht verwenden. Bitten Sie um Abholung: "
            "{supplier}."
        ),
    ),
    "count-differed": (
        "{item}: Am {on} lagen {counted} im Regal, es hätten {recorded} sein sollen. Der Plan "
        "richtet sich nach der Zählung."
    ),
    "shelf-never-counted": (
        "{item} wurde noch nie gezählt. Zählen Sie nach, damit dieser Plan stimmt."
    ),
    "record-below-zero": (
        "{item}: {units} mehr wurde verbraucht, als aufgeschrieben ankam. Zählen Sie das Regal.",
        "{item}: {units} mehr wurden verbraucht, als aufgeschrieben ankamen. Zählen Sie das Regal.",
    ),
    "away": "Nicht zu Hause ({catheter}). Wieder zu Hause am {home_on}.",
    "away-open": "Nicht zu Hause ({catheter}). Der Tag der Rückkehr steht noch nicht fest.",
    "not-in-use": "Der Katheter ({catheter}) ist nicht mehr in Gebrauch.",
    "refill-window-conflict": (
        "Um sicher zu sein, bis {order_by} bestellen. Die Regel des Kostenträgers erlaubt die "
        "Anfrage ab {earliest_contact} und die Lieferung ab {earliest_delivery}. Fragen Sie "
        "jetzt, wie die Lücke zu schließen ist: {supplier}."
    ),
    "risk-is-upper-bound": (
        "Mehrere Katheter nutzen dasselbe Material. Das gezeigte Risiko liegt auf der sicheren "
        "Seite: Das wahre kann kleiner sein."
    ),
}
