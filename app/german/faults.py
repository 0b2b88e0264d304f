"""German for what is wrong with an entry and how to put it right; names in braces are any text.

Each is a clause without a full stop that begins small, as in English.
"""

from __future__ import annotations

FAULTS: dict[str, str] = {
    # Numbers, texts and choices.
    "give a whole number of {unit}, for example {example}": (
        "geben Sie eine ganze Zahl ein, zum Beispiel {example}"
    ),
    "give a whole number of {unit}": "geben Sie eine ganze Zahl ein",
    "give {least} to {most} {unit}": "geben Sie {least} bis {most} ein",
    "give 1 to {most}": "geben Sie 1 bis {most} ein",
    "give 0.5 to 0.999, for example 0.99": (
        "geben Sie eine Zahl von 0.5 bis 0.999 ein, zum Beispiel 0.99"
    ),
    "give a short text": "geben Sie einen kurzen Text ein",
    "save each household that has some in a file of its own": "speichern Sie jeden Haushalt, der "
    "welche hat, in einer eigenen Datei",
    "write it as it was saved, or take it out": "schreiben Sie es, wie es gespeichert war, oder "
    "nehmen Sie es heraus",
    "leave out the character with code zero": "lassen Sie das Zeichen mit dem Code null weg",
    "use at most {count} characters": "verwenden Sie höchstens {count} Zeichen",
    "use {least} to {most} characters": "verwenden Sie {least} bis {most} Zeichen",
    "choose one of {words}": "wählen Sie eines von diesen: {words}",
    "choose at least one of {words}": "wählen Sie mindestens eines von diesen: {words}",
    "choose one of those on the page": "wählen Sie eines von denen auf der Seite",
    "choose one of the list": "wählen Sie etwas aus der Liste",
    "choose one of the three below": "wählen Sie eines der drei unten",
    "choose one of the three": "wählen Sie eines der drei",
    "choose one of the steps": "wählen Sie einen der Schritte",
    "choose one of the steps on the page": "wählen Sie einen der Schritte auf der Seite",
    "tick at least one": "kreuzen Sie mindestens eines an",
    "tick at least one kind of entry": "kreuzen Sie mindestens eine Art von Einträgen an",
    "tick at least one weekday": "kreuzen Sie mindestens einen Wochentag an",
    "write a name": "schreiben Sie einen Namen",
    "write a name or initials": "schreiben Sie einen Namen oder Anfangsbuchstaben",
    # Days and times.
    "give a day of the calendar as year-month-day": (
        "geben Sie einen Tag des Kalenders als Jahr-Monat-Tag ein"
    ),
    "give a time of day such as {time}": "geben Sie eine Uhrzeit ein, etwa {time}",
    "it lies in the future; today is {day}": "das liegt in der Zukunft; heute ist {day}",
    "it lies in the future; it is now {moment}": "das liegt in der Zukunft; jetzt ist {moment}",
    "it lies in the future; choose today or an earlier day": (
        "das liegt in der Zukunft; wählen Sie heute oder einen früheren Tag"
    ),
    "it lies more than a year back; check the date": (
        "das liegt mehr als ein Jahr zurück; prüfen Sie das Datum"
    ),
    "it lies in the past; check the day": ("das liegt in der Vergangenheit; prüfen Sie den Tag"),
    "it lies too far away; check the year": "das liegt zu weit weg; prüfen Sie das Jahr",
    "it lies before the order of {day}": "das liegt vor der Bestellung vom {day}",
    "it lies before the step before it, {day}; check the day": (
        "das liegt vor dem vorigen Schritt, {day}; prüfen Sie den Tag"
    ),
    "it lies before the day of this step, {day}; check the day": (
        "das liegt vor dem Tag dieses Schritts, {day}; prüfen Sie den Tag"
    ),
    "it lies before the receipt on {day}; check the use-by date": (
        "das liegt vor dem Tag der Lieferung, {day}; prüfen Sie, wie lange es haltbar ist"
    ),
    "it lies after the day of the plan, {day}; correct it or plan for a later day": (
        "das liegt nach dem Tag des Plans, {day}; berichtigen Sie es, oder planen Sie für einen "
        "späteren Tag"
    ),
    "it lies more than {days} days ago; choose a later day": (
        "das liegt mehr als {days} Tage zurück; wählen Sie einen späteren Tag"
    ),
    "it lies before today, {day}; choose a later day": (
        "das liegt vor heute, {day}; wählen Sie einen späteren Tag"
    ),
    "it lies more than {days} days ahead; choose a nearer day": (
        "das liegt mehr als {days} Tage voraus; wählen Sie einen näheren Tag"
    ),
    "it must not be before today, {day}": "das darf nicht vor heute liegen, {day}",
    "it must be after today, {day}": "das muss nach heute liegen, {day}",
    "it must not be before the start, {day}": "das darf nicht vor dem Anfang liegen, {day}",
    "it must not be before the first day, {day}": (
        "das darf nicht vor dem ersten Tag liegen, {day}"
    ),
    "it must be after the first day away": "das muss nach dem ersten Tag außer Haus liegen",
    "the first day at home again comes after the first day away": (
        "der erste Tag wieder zu Hause kommt nach dem ersten Tag außer Haus"
    ),
    "a chart holds {days} days; choose days closer together": (
        "eine Liste fasst {days} Tage; wählen Sie Tage, die näher beieinander liegen"
    ),
    "give a year from {first} to {last}": "geben Sie ein Jahr von {first} bis {last} ein",
    # Sessions and the drain plan.
    "choose which one this session was for": "wählen Sie, für welchen diese Sitzung war",
    "write how much came out; write 0 for nothing": (
        "schreiben Sie, wie viel kam; schreiben Sie 0, wenn nichts kam"
    ),
    "a session at this moment is in the record already; take it back or change the time": (
        "zu dieser Zeit ist schon eine Sitzung aufgeschrieben; nehmen Sie sie zurück, oder ändern "
        "Sie die Uhrzeit"
    ),
    "it was taken back already": "das wurde schon zurückgenommen",
    "list at least one bottle; a skipped session is not recorded at all": (
        "nennen Sie mindestens eine Flasche; eine Sitzung, die ausfiel, wird nicht aufgeschrieben"
    ),
    "give the household's own clock, without a time zone": (
        "geben Sie die Uhrzeit am Ort des Haushalts an, ohne Zeitzone"
    ),
    "a bottle of {item} holds {volume} mL; split the volume over the bottles that were used": (
        "eine Flasche von {item} fasst {volume} ml; verteilen Sie die Menge auf die Flaschen, die "
        "benutzt wurden"
    ),
    "that takes more than {count} bottles of {volume} mL; check the limit and the capacity": (
        "das braucht mehr als {count} Flaschen zu {volume} ml; prüfen Sie die Grenze und die Größe "
        "der Flasche"
    ),
    "write who prescribed this": "schreiben Sie, wer das verordnet hat",
    "write who changed the plan; only a prescriber does": (
        "schreiben Sie, wer den Plan geändert hat; das darf nur, wer ihn verordnet"
    ),
    "say after how many days to drain again": (
        "geben Sie an, nach wie vielen Tagen die nächste Sitzung nach Plan ist"
    ),
    "give the prescribed drain frequency": "geben Sie an, wie oft es verordnet ist",
    "write one recurrence rule such as FREQ=WEEKLY;BYDAY=MO,WE,FR": (
        "schreiben Sie eine einzige Kalenderregel, etwa FREQ=WEEKLY;BYDAY=MO,WE,FR"
    ),
    "give INTERVAL as a whole number from 1": "geben Sie INTERVAL als ganze Zahl ab 1 an",
    "it is not a recurrence rule of RFC 5545 ({why})": (
        "das ist keine Kalenderregel nach RFC 5545 ({why})"
    ),
    "it falls on no day within two years; check it": (
        "in zwei Jahren fällt sie auf keinen Tag; prüfen Sie sie"
    ),
    "{times} regimens start on this day; keep one": (
        "{times} Ableitungspläne beginnen an diesem Tag; behalten Sie einen"
    ),
    "describe at least one catheter": "beschreiben Sie mindestens einen Katheter",
    "no such catheter; correct the id (known: {known})": (
        "es gibt keinen solchen Katheter; berichtigen Sie die Kennung (bekannt: {known})"
    ),
    "no such catheter; correct the id": (
        "es gibt keinen solchen Katheter; berichtigen Sie die Kennung"
    ),
    # Goods.
    "no such item; choose one of {words}": (
        "es gibt keinen solchen Artikel; wählen Sie einen von diesen: {words}"
    ),
    "no such item; correct the code or add it (known: {known})": (
        "es gibt keinen solchen Artikel; berichtigen Sie die Nummer, oder nehmen Sie ihn auf "
        "(bekannt: {known})"
    ),
    "no such item; add it to items or correct the code": (
        "es gibt keinen solchen Artikel; nehmen Sie ihn auf, oder berichtigen Sie die Nummer"
    ),
    "an item with this number is there already": "einen Artikel mit dieser Nummer gibt es schon",
    "name a kit": "nennen Sie ein Set",
    "it is the kit that is ordered; name other kits only": (
        "das ist das Set, das bestellt wird; nennen Sie nur andere"
    ),
    "it is named twice; name each kit once": ("es steht zweimal da; nennen Sie jedes Set einmal"),
    "another catheter orders this kit; leave it out here": (
        "ein anderer Katheter bestellt dieses Set; lassen Sie es hier weg"
    ),
    "a catheter that orders another kit names it too; keep it with one of them": (
        "ein Katheter, der ein anderes Set bestellt, nennt es auch; lassen Sie es bei einem von "
        "beiden"
    ),
    "name a loose bottle": "nennen Sie eine Einzelflasche",
    "it holds no bottle": "darin ist keine Flasche",
    "{item} holds no bottle": "in {item} ist keine Flasche",
    "a kit or bottle needs its bottle capacity, for example 500": (
        "ein Set oder eine Flasche braucht die Größe der Flasche, zum Beispiel 500"
    ),
    "only kits and bottles have a capacity; leave it out": (
        "nur Sets und Flaschen haben eine Größe; lassen Sie sie weg"
    ),
    "it stands there {times} times; each must be different": (
        "das steht {times}-mal da; jedes muss anders sein"
    ),
    "write how many came": "schreiben Sie, wie viele kamen",
    "choose what happens with the goods": "wählen Sie, was mit dem Material geschieht",
    "the record has only {count} to take; correct the number, or unpack the bag first": (
        "nach der Aufzeichnung sind nur {count} da; berichtigen Sie die Zahl, oder packen Sie "
        "zuerst die Tasche aus"
    ),
    "the record has only {count} to take; correct the number, or count the shelf first": (
        "nach der Aufzeichnung sind nur {count} da; berichtigen Sie die Zahl, oder zählen Sie "
        "zuerst das Regal"
    ),
    "the record has only {count} of lot {lot} to take; correct the number, "
    "or unpack the bag first": (
        "nach der Aufzeichnung sind von Charge {lot} nur {count} da; berichtigen Sie die Zahl, "
        "oder packen Sie zuerst die Tasche aus"
    ),
    "the record has only {count} of lot {lot} to take; correct the number, "
    "or count the shelf first": (
        "nach der Aufzeichnung sind von Charge {lot} nur {count} da; berichtigen Sie die Zahl, "
        "oder zählen Sie zuerst das Regal"
    ),
    "the record has no such lot; leave it empty or choose one of these: none": (
        "die Aufzeichnung kennt keine solche Charge; lassen Sie das Feld leer"
    ),
    "the record has no such lot; leave it empty or choose one of these: {known}": (
        "die Aufzeichnung kennt keine solche Charge; lassen Sie das Feld leer, oder wählen Sie "
        "eine von diesen: {known}"
    ),
    "it is marked as recalled already; nothing to do": (
        "sie ist schon als zurückgerufen vermerkt; es ist nichts zu tun"
    ),
    "it has left already": "es ist schon weg",
    "only {count} are there; give at most {most}, or count the shelf first": (
        "nur {count} sind da; geben Sie höchstens {most} ein, oder zählen Sie zuerst das Regal"
    ),
    "only {count} can be used; give at most {most}": (
        "nur {count} sind verwendbar; geben Sie höchstens {most} ein"
    ),
    # Orders and deliveries.
    "it is not on its way; choose an open order": (
        "sie ist nicht unterwegs; wählen Sie eine offene Bestellung"
    ),
    "it is marked as received on {day} already; choose another order, or none": (
        "sie ist schon am {day} als gekommen vermerkt; wählen Sie eine andere Bestellung oder keine"
    ),
    "the order asked for {count}; check the number and the order; if so many came, tick the box "
    "and save again": (
        "bestellt waren {count}; prüfen Sie die Zahl und die Bestellung; wenn so viel kam, kreuzen "
        "Sie das Kästchen an und speichern Sie noch einmal"
    ),
    "no calendar reaches two years further; check the year": (
        "kein Kalender reicht zwei Jahre weiter; prüfen Sie das Jahr"
    ),
    "the same is written down for {day} already; if it came twice, tick the box and save again": (
        "dasselbe ist für den {day} schon aufgeschrieben; kam es zweimal, kreuzen Sie das Kästchen "
        "an, und speichern Sie noch einmal"
    ),
    "choose the order that is late": "wählen Sie die Bestellung, die spät ist",
    "it was confirmed and waits to be placed; place or cancel it first": (
        "sie ist bestätigt und wartet darauf, aufgegeben zu werden; geben Sie sie zuerst auf, oder "
        "stornieren Sie sie"
    ),
    "the payer wants to know that the supplies are needed; tick the box if they are": (
        "der Kostenträger will wissen, dass das Material gebraucht wird; kreuzen Sie das Kästchen "
        "an, wenn es so ist"
    ),
    "the supplier's terms name no express; take the tick out, or enter its days first": (
        "in den Bedingungen des Lieferanten steht keine Eillieferung; nehmen Sie das Häkchen "
        "heraus, oder tragen Sie zuerst ihre Tage ein"
    ),
    "tick the box to say that you want this order": (
        "kreuzen Sie das Kästchen an, um zu sagen, dass Sie diese Bestellung möchten"
    ),
    "it is the first step and stays; cancel the order instead": (
        "das ist der erste Schritt, er bleibt; stornieren Sie stattdessen die Bestellung"
    ),
    "write down the goods that came instead": "schreiben Sie stattdessen auf, was gekommen ist",
    "the order is {state}, so nothing follows; undo its last step first": (
        "die Bestellung ist abgeschlossen, es folgt nichts mehr; nehmen Sie zuerst den letzten "
        "Schritt zurück"
    ),
    "some of the goods came already; say that the rest will not come instead": (
        "ein Teil ist schon gekommen; sagen Sie stattdessen, dass der Rest nicht kommt"
    ),
    "an order that is {state} cannot be {next} next; look at its history": (
        "dieser Schritt kann jetzt nicht folgen; sehen Sie an, was bisher geschah"
    ),
    "keep at least the first step": "behalten Sie mindestens den ersten Schritt",
    "leave it out for this step": "lassen Sie es bei diesem Schritt weg",
    "list at least one item with its boxes": "nennen Sie mindestens einen Artikel mit Packungen",
    "say on which day the goods came": "geben Sie an, an welchem Tag die Ware kam",
    "its steps lead to {state}; correct one of them": (
        "die Schritte führen zu einem anderen Stand; berichtigen Sie einen davon"
    ),
    "no such order; correct it or leave it out": (
        "es gibt keine solche Bestellung; berichtigen Sie das, oder lassen Sie es weg"
    ),
    "no such session or entry; correct the id": (
        "es gibt keine solche Sitzung und keinen solchen Eintrag; berichtigen Sie die Kennung"
    ),
    "no such wrong delivery; correct the id": (
        "es gibt keine solche falsche Lieferung; berichtigen Sie die Kennung"
    ),
    "only {units} of these goods are here; correct the number": (
        "von dieser Ware sind nur {units} da; berichtigen Sie die Zahl"
    ),
    "write the lot on the notice": "schreiben Sie die Charge aus der Mitteilung",
    "no household of yours has had it; check the lot, letter by letter": (
        "keiner Ihrer Haushalte hatte sie; prüfen Sie die Charge, Zeichen für Zeichen"
    ),
    "choose at least one that is not marked yet": (
        "wählen Sie mindestens einen, der noch nicht vermerkt ist"
    ),
    # The supplier.
    "give a two-letter country code such as GB, or leave it out": (
        "geben Sie ein Länderkürzel aus zwei Buchstaben an, etwa GB, oder lassen Sie es weg"
    ),
    "give no more than the {days} of a usual order, or leave it empty for no express": (
        "geben Sie höchstens die {days} einer üblichen Bestellung ein, oder lassen Sie es leer, "
        "wenn es keine Eillieferung gibt"
    ),
    "{country} has no such region here; leave it out or choose one ({known}, ...)": (
        "{country} hat hier keine solche Region; lassen Sie sie weg, oder wählen Sie eine "
        "({known}, ...)"
    ),
    "name the holiday_country it belongs to, or leave it out": (
        "nennen Sie das Land, zu dem sie gehört, oder lassen Sie sie weg"
    ),
    "a closure may last {days} days; name another supplier instead": (
        "geschlossen sein darf höchstens {days} Tage lang; nennen Sie sonst einen anderen "
        "Lieferanten"
    ),
    "its deliveries lie more than {days} days apart; check it": (
        "die Lieferungen liegen mehr als {days} Tage auseinander; prüfen Sie das"
    ),
    "leave it out where standing deliveries say when the van comes": (
        "lassen Sie das weg, wenn feste Liefertage sagen, wann der Wagen kommt"
    ),
    "name at least one weekday, or leave it out for any business day": (
        "nennen Sie mindestens einen Wochentag, oder lassen Sie es für jeden Arbeitstag weg"
    ),
    "number the weekdays from 0 for Monday to 6 for Sunday": (
        "zählen Sie die Wochentage von 0 für Montag bis 6 für Sonntag"
    ),
    "choose a supplier of your households, or all suppliers": (
        "wählen Sie einen Lieferanten Ihrer Haushalte oder alle Lieferanten"
    ),
    # Settings.
    "by its clock, entries of today would lie ahead; change it tomorrow": (
        "nach dieser Uhr lägen Einträge von heute in der Zukunft; ändern Sie es morgen"
    ),
    "take back the later change first": "nehmen Sie zuerst die spätere Änderung zurück",
    "give a time zone by its IANA name, for example Europe/London": (
        "geben Sie eine Zeitzone mit ihrem IANA-Namen an, zum Beispiel Europe/Berlin"
    ),
    "write a name such as {zone}": "schreiben Sie einen Namen wie {zone}",
    "give 0 to {most} days": "geben Sie 0 bis {most} Tage ein",
    # Accounts and people.
    "write what people call you, in at most {count} letters": (
        "schreiben Sie, wie man Sie nennt, in höchstens {count} Zeichen"
    ),
    "give an e-mail address such as ann@example.org": (
        "geben Sie eine E-Mail-Adresse ein, etwa ann@example.org"
    ),
    "it has an account already": "dazu gibt es schon ein Konto",
    "write an address such as ann@example.org, or leave it empty": (
        "schreiben Sie eine Adresse wie ann@example.org, oder lassen Sie es leer"
    ),
    "write at most {count} letters, or leave it empty": (
        "schreiben Sie höchstens {count} Zeichen, oder lassen Sie es leer"
    ),
    "{count} invites are open already; take one back first": (
        "{count} Einladungen sind schon offen; nehmen Sie zuerst eine zurück"
    ),
    "write the password with which you sign in": (
        "schreiben Sie das Passwort, mit dem Sie sich anmelden"
    ),
    "write {name} to delete it": "schreiben Sie {name}, um ihn zu löschen",
    # Values that say what was found.
    "{count} characters long": "{count} Zeichen lang",
    "{count} in one file": "{count} in einer Datei",
}
