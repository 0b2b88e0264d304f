"""German for the plain texts of the forms in which a household's terms are set."""

from __future__ import annotations

TERMS: dict[str, str] = {
    "What the others call you": "Wie die anderen Sie nennen",
    "Bottle 1 ({1})": "Flasche 1 ({1})",
    "Bottle 2 ({1})": "Flasche 2 ({1})",
    "Total ({1})": "Summe ({1})",
    "Each bottle": "Jede Flasche",
    "Total": "Summe",
    "Take {1} out": "{1} herausnehmen",
    "They can see nothing here any more. What they wrote stays.": (
        "Die Person sieht hier nichts mehr. Was sie aufgeschrieben hat, bleibt."
    ),
    "Yes, take out {1}": "Ja, herausnehmen: {1}",
    "Yes, take out": "Ja, herausnehmen",
    "You can see nothing here any more. Your calendar and reminders of it stop.": (
        "Sie sehen hier dann nichts mehr. Ihr Kalender und Ihre Erinnerungen dazu enden."
    ),
    "Yes, leave": "Ja, verlassen",
    "Read in households from a file": "Haushalte aus einer Datei einlesen",
    "Do you have a file from before? <1>Read it in</1>.": (
        "Haben Sie eine Datei von früher? <1>Lesen Sie sie ein</1>."
    ),
    "Sheet for counting, to print": "Zählblatt zum Drucken",
    "Packed something? Write it down.": "Etwas eingepackt? Schreiben Sie es auf.",
    "Has the supplier named a new day? Write it down with the order.": (
        "Hat der Lieferant einen neuen Tag genannt? Schreiben Sie ihn bei der Bestellung auf."
    ),
    "How they take orders and deliver. The plan uses it to say by when to order.": (
        "Wie bestellt und geliefert wird. Der Plan braucht es, um zu sagen, bis wann zu bestellen "
        "ist."
    ),
    "Whom to ask for": "Ansprechperson",
    "Phone": "Telefon",
    "Orders before what time count for the same day?": (
        "Bis zu welcher Uhrzeit zählen Bestellungen noch für denselben Tag?"
    ),
    "Working days by express": "Arbeitstage als Eillieferung",
    "Leave it empty when they have no express, or when you do not know.": (
        "Lassen Sie es leer, wenn es keine Eillieferung gibt oder wenn Sie es nicht wissen."
    ),
    "When do they deliver?": "Wann wird geliefert?",
    "On any working day": "An jedem Arbeitstag",
    "By an agreed calendar rule": "Nach einer vereinbarten Kalenderregel",
    "Fixed weekdays": "Feste Wochentage",
    "Agreed calendar rule": "Vereinbarte Kalenderregel",
    "For “by an agreed calendar rule”, in the form of RFC 5545. Every second Tuesday: "
    "FREQ=WEEKLY;INTERVAL=2;BYDAY=TU": (
        "Für „nach einer vereinbarten Kalenderregel“, in der Form von RFC 5545. Jeden zweiten "
        "Dienstag: FREQ=WEEKLY;INTERVAL=2;BYDAY=TU"
    ),
    "A day on which they deliver by this rule": "Ein Tag, an dem nach dieser Regel geliefert wird",
    "Whose public holidays do they keep?": "Die Feiertage welches Landes gelten?",
    "None": "Keines",
    "Region, if holidays differ there": "Region, wenn dort andere Feiertage gelten",
    "Its short code, such as ENG or BY. It may stay empty.": (
        "Ihr Kürzel, zum Beispiel ENG oder BY. Es darf leer bleiben."
    ),
    "Fewest boxes in one order": "Mindestzahl Packungen je Bestellung",
    "0 when there is no such rule.": "0, wenn es keine solche Regel gibt.",
    "It may lie ahead. Until then all stays as it is.": (
        "Er darf in der Zukunft liegen. Bis dahin bleibt alles, wie es ist."
    ),
    "Days on which the supplier is closed": "Tage, an denen der Lieferant geschlossen hat",
    "Public holidays are known already. Add other days here.": (
        "Feiertage sind schon bekannt. Fügen Sie hier andere Tage hinzu."
    ),
    "Reason": "Grund",
    "A bottle of another size is a new item. Add it, then choose it for the sessions.": (
        "Eine Flasche anderer Größe ist ein neuer Artikel. Fügen Sie ihn hinzu, und wählen Sie ihn "
        "dann für die Sitzungen."
    ),
    "What do you call it?": "Wie nennen Sie es?",
    "What is it?": "Was ist es?",
    "Kit: one bottle with its dressing pack": "Set: eine Flasche mit ihrem Verbandpack",
    "Loose bottle": "Einzelflasche",
    "Dressing pack": "Verbandpack",
    "Something else": "Etwas anderes",
    "How much does its bottle hold, in mL?": "Wie viel fasst die Flasche, in ml?",
    "It is printed on the bottle. Leave it empty where there is no bottle.": (
        "Es steht auf der Flasche. Lassen Sie es leer, wo es keine Flasche gibt."
    ),
    "The supplier's number for it": "Die Nummer des Lieferanten dafür",
    "How many single pieces are in a box?": "Wie viele einzelne Stücke sind in einer Packung?",
    "Kits of another size count in the plan if you tick them here.": (
        "Sets einer anderen Größe zählen im Plan mit, wenn Sie sie hier ankreuzen."
    ),
    "Which kit do you order?": "Welches Set bestellen Sie?",
    "Which other kits fit as well?": "Welche anderen Sets passen auch?",
    "Other kits": "Andere Sets",
    "Tick kits that you still have and use up. They are never ordered. The kit with the soonest "
    "date is used first, whatever its size. With no date, or the same date, these go before the "
    "kit you order.": (
        "Kreuzen Sie Sets an, die Sie noch haben und aufbrauchen. Sie werden nie bestellt. Das Set "
        "mit dem frühesten Datum wird zuerst benutzt, gleich welcher Größe. Ohne Datum, oder bei "
        "gleichem Datum, kommen diese vor dem Set, das Sie bestellen."
    ),
    "What is opened when its bottle is full?": "Was wird geöffnet, wenn die Flasche darin voll ist?",
    "Another kit": "Noch ein Set",
    "Amount allowed": "Genehmigte Menge",
    "If your payer or prescriber sets a limit, orders stay within it.": (
        "Gibt der Kostenträger oder die Verordnung eine Grenze vor, bleiben Bestellungen darunter."
    ),
    "How many single pieces are allowed?": "Wie viele einzelne Stücke sind genehmigt?",
    "In how many days?": "Für wie viele Tage?",
    "A month is 30.": "Ein Monat ist 30.",
    "The tube": "Der Schlauch",
    "Write down what your care team told you. It changes the forecast, nothing else.": (
        "Schreiben Sie auf, was Ihr Behandlungsteam Ihnen gesagt hat. Es ändert die Vorhersage, "
        "sonst nichts."
    ),
    "Where does it lie?": "Wo liegt er?",
    "How many mL a day does the prescriber expect?": (
        "Wie viele ml am Tag werden laut Verordnung erwartet?"
    ),
    "Only if they named a number. It helps the plan until there are sessions.": (
        "Nur wenn eine Zahl genannt wurde. Sie hilft dem Plan, bis es Sitzungen gibt."
    ),
    "First day without it": "Erster Tag ohne ihn",
    "Only once a day is set for taking it out.": (
        "Erst wenn ein Tag feststeht, an dem er herausgenommen wird."
    ),
    "Care team": "Behandlungsteam",
    "The plan names them when you should talk to somebody.": (
        "Der Plan nennt es, wenn Sie mit jemandem sprechen sollten."
    ),
    "Name of the nurse or doctor": "Name der Pflegekraft, der Ärztin oder des Arztes",
    "More safety means more boxes at home. If you are not sure, leave it.": (
        "Mehr Sicherheit heißt mehr Packungen zu Hause. Sind Sie nicht sicher, lassen Sie es so."
    ),
    "How sure should it be that nothing runs out before new supplies come?": (
        "Wie sicher soll sein, dass nichts ausgeht, bevor neues Material kommt?"
    ),
    "How many days should one usual order last?": "Wie viele Tage soll eine übliche Bestellung reichen?",
    "95 in 100: fewer boxes at home, later warnings": (
        "95 von 100: weniger Packungen zu Hause, spätere Warnungen"
    ),
    "99 in 100: the usual": "99 von 100: das Übliche",
    "999 in 1000: more boxes at home, earlier warnings": (
        "999 von 1000: mehr Packungen zu Hause, frühere Warnungen"
    ),
    "Name and clock": "Name und Uhr",
    "What was written down stays at the time at which it was written.": (
        "Was aufgeschrieben ist, behält die Zeit, zu der es aufgeschrieben wurde."
    ),
    "Initials will do.": "Anfangsbuchstaben genügen.",
    "It sets the clock by which days begin and end.": (
        "Er bestimmt die Uhr, nach der Tage beginnen und enden."
    ),
    "The day to order by": "Der Tag, bis zu dem zu bestellen ist",
    "The day supplies may run out": "Der Tag, an dem das Material ausgehen kann",
    "The next delivery": "Die nächste Lieferung",
    "How many kits and bottles is there room for?": "Für wie viele Sets und Flaschen ist Platz?",
    "Leave it empty if room does not matter.": "Lassen Sie es leer, wenn der Platz keine Rolle spielt.",
    "Last day on which the prescription allows an order": (
        "Letzter Tag, an dem die Verordnung eine Bestellung erlaubt"
    ),
    "Leave it empty if it has no end.": "Lassen Sie es leer, wenn sie kein Ende hat.",
    "I do not know (the plan counts with {volume} mL)": (
        "Ich weiß es nicht (der Plan rechnet mit {volume} ml)"
    ),
}
