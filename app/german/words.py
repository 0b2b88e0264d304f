"""German for plain texts that stand in the program: names of pages, choices, values."""

from __future__ import annotations

WORDS: dict[str, str] = {
    # Names of pages, and what was done.
    "Overview": "Stand",
    "Your session is written down.": "Ihre Sitzung ist aufgeschrieben.",
    "That entry was taken back.": "Der Eintrag wurde zurückgenommen.",
    "That entry was taken back before.": "Der Eintrag war schon zurückgenommen.",
    "Your count is written down.": "Ihre Zählung ist aufgeschrieben.",
    "The loss is written down.": "Der Verlust ist aufgeschrieben.",
    "The delivery is on your shelf now.": "Die Lieferung liegt jetzt in Ihrem Regal.",
    "Your yes is written down. Now place the order with your supplier.": (
        "Ihr Ja ist aufgeschrieben. Geben Sie jetzt die Bestellung beim Lieferanten auf."
    ),
    "Your order is written down as placed.": "Ihre Bestellung ist als aufgegeben aufgeschrieben.",
    "Your answer is written down. Nothing was ordered.": (
        "Ihre Antwort ist aufgeschrieben. Es wurde nichts bestellt."
    ),
    "The step is written down.": "Der Schritt ist aufgeschrieben.",
    "The last step was taken back.": "Der letzte Schritt wurde zurückgenommen.",
    "The delivery is written down. A lot in it is recalled: do not use it. Call your supplier.": (
        "Die Lieferung ist aufgeschrieben. Eine Charge darin ist zurückgerufen: nicht verwenden. "
        "Rufen Sie Ihren Lieferanten an."
    ),
    "That is written down.": "Das ist aufgeschrieben.",
    "The lot is marked as recalled. Do not use it. Call your supplier.": (
        "Die Charge ist als zurückgerufen vermerkt. Nicht verwenden. Rufen Sie Ihren Lieferanten an."
    ),
    "The wrong goods are off the list.": "Die falsche Ware ist von der Liste.",
    "The lot is marked as recalled in all these households.": (
        "Die Charge ist in all diesen Haushalten als zurückgerufen vermerkt."
    ),
    "The recall was taken back in all these households.": (
        "Der Rückruf wurde in all diesen Haushalten zurückgenommen."
    ),
    "The goods are on your shelf now.": "Die Ware steht jetzt in Ihrem Regal.",
    "The order is marked as cancelled. Tell your supplier, too.": (
        "Die Bestellung ist als storniert vermerkt. Sagen Sie auch dem Lieferanten Bescheid."
    ),
    "The old address does not work any more.": "Die alte Adresse gilt nicht mehr.",
    "Your choices are saved.": "Ihre Auswahl ist gespeichert.",
    "Your first plan is ready.": "Ihr erster Plan ist fertig.",
    "Your change is saved.": "Ihre Änderung ist gespeichert.",
    "That change cannot be taken back. It was before, or later entries need it.": (
        "Diese Änderung lässt sich nicht zurücknehmen. Sie war es schon, oder spätere Einträge "
        "brauchen sie."
    ),
    "Nothing was changed: it was so already.": "Nichts wurde geändert: Es war schon so.",
    "The role is changed.": "Die Rolle ist geändert.",
    "That person is taken out. Nothing they wrote is lost.": (
        "Die Person ist herausgenommen. Was sie aufgeschrieben hat, bleibt."
    ),
    "The invite does not work any more.": "Die Einladung gilt nicht mehr.",
    "Welcome. You are in now.": "Willkommen. Sie sind jetzt dabei.",
    "Your name is changed.": "Ihr Name ist geändert.",
    "Your password is changed. Other devices are signed out.": (
        "Ihr Passwort ist geändert. Andere Geräte sind abgemeldet."
    ),
    "That device is signed out.": "Das Gerät ist abgemeldet.",
    "The file is read in. Look it over: count the shelf if you are not sure.": (
        "Die Datei ist eingelesen. Sehen Sie sie durch: Zählen Sie das Regal, wenn Sie nicht sicher "
        "sind."
    ),
    "Saved. Your calendar follows when it next looks for changes.": (
        "Gespeichert. Ihr Kalender folgt, sobald er wieder nach Änderungen sieht."
    ),
    # When something goes wrong.
    "This did not work": "Das ging nicht",
    "Nothing was changed. Go back and try again.": (
        "Es wurde nichts geändert. Gehen Sie zurück, und versuchen Sie es noch einmal."
    ),
    "Something changed in the meantime": "Inzwischen hat sich etwas geändert",
    "The record changed after this page was shown. Nothing was saved. Look again.": (
        "Die Aufzeichnung hat sich geändert, nachdem diese Seite gezeigt wurde. Es wurde nichts "
        "gespeichert. Sehen Sie noch einmal nach."
    ),
    "Page not found": "Seite nicht gefunden",
    "There is nothing here for you to see. Check the address or go to the start page.": (
        "Hier gibt es für Sie nichts zu sehen. Prüfen Sie die Adresse, oder gehen Sie zur Startseite."
    ),
    "Please sign in": "Bitte melden Sie sich an",
    "Sign in to see this page.": "Melden Sie sich an, um diese Seite zu sehen.",
    "Please try again": "Bitte versuchen Sie es noch einmal",
    "The e-mail address or the password is not right. Check both and try again.": (
        "Die E-Mail-Adresse oder das Passwort stimmt nicht. Prüfen Sie beides, und versuchen Sie es "
        "noch einmal."
    ),
    "Please send the form again": "Bitte senden Sie das Formular noch einmal",
    "This form is too old or came from elsewhere. Open the page again and send it anew.": (
        "Dieses Formular ist zu alt oder kam von anderswo. Öffnen Sie die Seite noch einmal, und "
        "senden Sie es neu."
    ),
    "Please wait a little": "Bitte warten Sie etwas",
    "There were too many attempts. Wait 15 minutes and try again.": (
        "Es gab zu viele Versuche. Warten Sie 15 Minuten, und versuchen Sie es noch einmal."
    ),
    "The record is busy right now. Nothing was saved. Wait a moment and try again.": (
        "Die Aufzeichnung ist gerade belegt. Es wurde nichts gespeichert. Warten Sie kurz, und "
        "versuchen Sie es noch einmal."
    ),
    "Something went wrong on our side. Nothing was saved. Try again in a few minutes.": (
        "Bei uns ist etwas schiefgegangen. Es wurde nichts gespeichert. Versuchen Sie es in ein paar "
        "Minuten noch einmal."
    ),
    "This page cannot be used in this way. Nothing was changed. Go to the start page.": (
        "So lässt sich diese Seite nicht benutzen. Es wurde nichts geändert. Gehen Sie zur "
        "Startseite."
    ),
    "This link does not work any more": "Dieser Link gilt nicht mehr",
    "It was used before, taken back, or is too old. Ask the person who gave it to you for a new "
    "one.": (
        "Er wurde schon benutzt, zurückgenommen oder ist zu alt. Bitten Sie um einen neuen, wer ihn "
        "Ihnen gegeben hat."
    ),
    # Choices about sessions.
    "No more fluid came": "Es kam keine Flüssigkeit mehr",
    "The limit in my plan was reached": "Die Grenze in meinem Plan war erreicht",
    "The bottle was full": "Die Flasche war voll",
    "Pain, coughing or feeling unwell": "Schmerzen, Husten oder Unwohlsein",
    "There was no other bottle": "Es war keine weitere Flasche da",
    "I do not know": "Ich weiß es nicht",
    "Good": "In Ordnung",
    "Lost: no vacuum": "Verloren: kein Vakuum",
    "Lost: came apart": "Verloren: abgegangen",
    "Lost: dropped": "Verloren: heruntergefallen",
    "Lost: something else": "Verloren: etwas anderes",
    "{count} bottle": "{count} Flasche",
    "{count} bottles": "{count} Flaschen",
    ", {count} lost": ", {count} verloren",
    "It was {volume}. The limit in your plan is {most}. Tell {team}.": (
        "Es waren {volume}. Die Grenze in Ihrem Plan ist {most}. Sagen Sie Bescheid: {team}."
    ),
    "Day and time": "Tag und Uhrzeit",
    "Catheter": "Katheter",
    "Volume in bottle {n}": "Menge in Flasche {n}",
    "State of bottle {n}": "Zustand von Flasche {n}",
    "Kind of bottle {n}": "Art von Flasche {n}",
    "As usual": "Wie üblich",
    # The picture.
    "Kits left in the coming weeks": "Sets in den kommenden Wochen",
    "A falling line that starts at {kits} today.": "Eine fallende Linie, die heute bei {kits} beginnt.",
    "They are almost sure to last through {day}.": "Fast sicher reichen sie bis einschließlich {day}.",
    "They will probably last through {day}.": "Wahrscheinlich reichen sie bis einschließlich {day}.",
    "A delivery is expected on {day}.": "Eine Lieferung wird am {day} erwartet.",
    "The next order is due by {day}.": "Die nächste Bestellung ist bis {day} fällig.",
    "sure to {day}": "sicher bis {day}",
    "likely to {day}": "wohl bis {day}",
    "order by {day}": "bestellen bis {day}",
    "delivery {day}": "Lieferung {day}",
    "No bars: nothing was written down.": "Keine Balken: Es wurde nichts aufgeschrieben.",
    "{count} bars, one for each day with a session, the lowest {low} and the highest {high}.": (
        "{count} Balken, einer für jeden Tag mit einer Sitzung, der niedrigste {low} und der "
        "höchste {high}."
    ),
    "{unit} on each day": "{unit} an jedem Tag",
    # Orders.
    "confirmed, not placed yet": "bestätigt, noch nicht aufgegeben",
    "placed": "aufgegeben",
    "placed, the supplier has it": "aufgegeben, liegt beim Lieferanten",
    "on its way": "unterwegs",
    "received in part": "teilweise gekommen",
    "received": "gekommen",
    "cancelled": "storniert",
    "Confirmed": "Bestätigt",
    "Placed with the supplier": "Beim Lieferanten aufgegeben",
    "The supplier has it": "Der Lieferant hat sie",
    "On its way": "Unterwegs",
    "A part came": "Ein Teil kam",
    "It came": "Sie kam",
    "Cancelled": "Storniert",
    "The rest will not come": "Der Rest kommt nicht",
    "Goods were taken back, so more may come": "Ware wurde zurückgenommen, es kann noch etwas kommen",
    "I have placed it with the supplier": "Ich habe sie beim Lieferanten aufgegeben",
    "The supplier says that they have it": "Der Lieferant sagt, dass er sie hat",
    "It is on its way": "Sie ist unterwegs",
    "It is cancelled, and the supplier knows": "Sie ist storniert, und der Lieferant weiß es",
    "The supplier named another day": "Der Lieferant nannte einen anderen Tag",
    "It is on its way, but on another day": "Sie ist unterwegs, kommt aber an einem anderen Tag",
    "The rest is on its way": "Der Rest ist unterwegs",
    "It will not be placed": "Sie wird nicht aufgegeben",
    "Taken back on {moment} by {name}": "Zurückgenommen am {moment} von {name}",
    "late, it should have come on {day}": "verspätet, sie hätte am {day} kommen sollen",
    "Yes, we need these supplies and want this order placed.": (
        "Ja, wir brauchen dieses Material und möchten, dass es bestellt wird."
    ),
    "We use these supplies as planned, and what is at home will run out.": (
        "Wir verbrauchen dieses Material wie geplant, und was zu Hause ist, geht aus."
    ),
    "No, not needed now.": "Nein, jetzt nicht nötig.",
    "The box for your yes": "Das Kästchen für Ihr Ja",
    "Boxes in line {n}": "Packungen in Zeile {n}",
    "Item in line {n}": "Artikel in Zeile {n}",
    "{item}, on the way": "{item}, unterwegs",
    "Fluid a day": "Flüssigkeit am Tag",
    "about {volume} (8 in 10: {low} to {high})": "etwa {volume} (8 von 10: {low} bis {high})",
    "Usual days between sessions": "Übliche Tage zwischen Sitzungen",
    "Sessions held on their day": "Sitzungen am vorgesehenen Tag",
    "Bottles in a usual session": "Flaschen in einer üblichen Sitzung",
    "Chance of a further bottle": "Wahrscheinlichkeit einer weiteren Flasche",
    "Chance that a bottle is lost": "Wahrscheinlichkeit, dass eine Flasche verloren geht",
    "Sessions learned from": "Sitzungen, aus denen gelernt wurde",
    "How much your own record counts": "Wie viel Ihre eigene Aufzeichnung zählt",
    "{part} in 100; the rest is what is usual for others": (
        "{part} von 100; der Rest ist, was bei anderen üblich ist"
    ),
    "Chance to run out before goods ordered today come": (
        "Wahrscheinlichkeit, dass es ausgeht, bevor da ist, was heute bestellt wird"
    ),
    "Chance that this order does not last as long as it should, at most": (
        "Wahrscheinlichkeit, dass diese Bestellung kürzer reicht als vorgesehen, höchstens"
    ),
    "As proposed": "Wie vorgeschlagen",
    "One box more": "Eine Packung mehr",
    "One box less": "Eine Packung weniger",
    "Kits only, no loose bottles": "Nur Sets, keine Einzelflaschen",
    "through {day}": "bis {day}",
    "past {day}": "länger als bis {day}",
    "not through today": "nicht bis heute Abend",
    "not today": "heute nicht",
    "at least {days} more": "mindestens {days} mehr",
    "as long": "gleich lang",
    "{days} more": "{days} mehr",
    "{days} less": "{days} weniger",
    # The shelf.
    "usable": "verwendbar",
    "not noted": "nicht notiert",
    "recalled – do not use": "zurückgerufen – nicht verwenden",
    "past its date – do not use": "abgelaufen – nicht verwenden",
    "in the travel bag": "in der Reisetasche",
    "recalled – do not use (in the travel bag)": (
        "zurückgerufen – nicht verwenden (in der Reisetasche)"
    ),
    "past its date – do not use (in the travel bag)": (
        "abgelaufen – nicht verwenden (in der Reisetasche)"
    ),
    "{units} will probably pass their use-by date first": "{units} laufen wahrscheinlich vorher ab",
    "{units} past the use-by date – do not use": "{units} abgelaufen – nicht verwenden",
    "{units} recalled – do not use": "{units} zurückgerufen – nicht verwenden",
    "{units} in the travel bag": "{units} in der Reisetasche",
    "Fits as well as {kit}. The soonest date goes first, whatever the size. It is not ordered.": (
        "Passt ebenso wie {kit}. Das früheste Datum kommt zuerst, gleich welche Größe. Es wird "
        "nicht bestellt."
    ),
    "{units} on the way, not counted yet": "{units} unterwegs, noch nicht mitgezählt",
    "{units} ": "{units} ",
    "{item}, lot {lot}: {units}": "{item}, Charge {lot}: {units}",
    "{units} of {what}, came on {day}": "{units} {what}, gekommen am {day}",
    "Recalled: {item}, lot {lot}": "Zurückgerufen: {item}, Charge {lot}",
    "Came by mistake: {units} of {what}": "Irrtümlich gekommen: {units} {what}",
    "Wrong goods have left": "Falsche Ware ist weg",
    "Wrong goods have left: {units}": "Falsche Ware ist weg: {units}",
    "Came by mistake and stays: {units}": "Irrtümlich gekommen und bleibt: {units}",
    "Received {units}": "Angenommen: {units}",
    "Thrown away {units}": "Weggeworfen: {units}",
    "Counted {units}": "Gezählt: {units}",
    ", lot {lot}": ", Charge {lot}",
    "{boxes} ordered on {day}": "{boxes}, bestellt am {day}",
    "No order": "Keine Bestellung",
    "Packed in the travel bag": "In die Reisetasche gepackt",
    "Back from the travel bag": "Aus der Reisetasche zurück",
    "Taken to a clinic, and it stays there": "In eine Klinik mitgenommen, und es bleibt dort",
    "{item}: {units} here; households that have it: {count}": (
        "{item}: {units} da; Haushalte, die es haben: {count}"
    ),
    "; that had it: {count}": "; die es hatten: {count}",
    "; marked already: {count}": "; schon vermerkt: {count}",
    "They have left: sent back or disposed of": "Sie ist weg: zurückgeschickt oder entsorgt",
    "They stay, and we will use them": "Sie bleibt, und wir verwenden sie",
    "Sent back to the supplier": "An den Lieferanten zurückgeschickt",
    "Disposed of: out of date or recalled": "Entsorgt: abgelaufen oder zurückgerufen",
    "Given away": "Weggegeben",
    # Paper.
    "{sessions}, {volume} together": "{sessions}, zusammen {volume}",
    " (lost)": " (verloren)",
    "from {first}": "ab {first}",
    "{first} to {last}": "{first} bis {last}",
    "Born on": "Geboren am",
    "Counted by": "Gezählt von",
    "On": "Am",
    # People.
    "Patient": "Patient/in",
    "Carer": "Helfer/in",
    "Viewer": "Zuschauer/in",
    "Coordinator": "Koordination",
    "Patient: may do everything here": "Patient/in: darf hier alles tun",
    "Carer: may do everything here": "Helfer/in: darf hier alles tun",
    "Viewer: may look, but not change anything": "Zuschauer/in: darf sehen, aber nichts ändern",
    "The supplies are for me": "Das Material ist für mich",
    "I help somebody": "Ich helfe jemandem",
    "Choose a place": "Einen Ort wählen",
    "Phone or tablet": "Telefon oder Tablet",
    "Computer": "Computer",
    "Device": "Gerät",
    # Calendars and reminders.
    "All suppliers": "Alle Lieferanten",
    "of all suppliers": "von allen Lieferanten",
    "of {supplier} only": "nur von {supplier}",
    "{supplier} (no household has it now)": "{supplier} (zurzeit hat ihn kein Haushalt)",
    "today for those that run short": "heute für die, bei denen es knapp wird",
    "This address shows: {households}, {whose}; {kinds}.": (
        "Diese Adresse zeigt: {households}, {whose}; {kinds}."
    ),
    "households that run short": "Haushalte, bei denen es knapp wird",
    "households that run short or have to order today": (
        "Haushalte, bei denen es knapp wird oder die heute bestellen müssen"
    ),
    "households that run short or have to order within a week": (
        "Haushalte, bei denen es knapp wird oder die innerhalb einer Woche bestellen müssen"
    ),
    "Running short only": "Nur wenn es knapp wird",
    "Running short, and order today": "Wenn es knapp wird oder heute zu bestellen ist",
    "All that need an order within a week": "Alle, die innerhalb einer Woche bestellen müssen",
    "the day to order by": "der Tag, bis zu dem zu bestellen ist",
    "the day supplies may run out": "der Tag, an dem das Material ausgehen kann",
    "the next delivery": "die nächste Lieferung",
    "not yet": "noch nicht",
    "Detailed: they also name what to order": "Ausführlich: Sie nennen auch, was zu bestellen ist",
    "Detailed: they also name the households": "Ausführlich: Sie nennen auch die Haushalte",
    "The day to order by is 3 days away or less": (
        "Der Tag, bis zu dem zu bestellen ist, ist höchstens 3 Tage entfernt"
    ),
    "Supplies may run out before new ones come": "Material kann ausgehen, bevor neues kommt",
    "A delivery is late": "Eine Lieferung ist spät",
    "Each working day: the households that need somebody to act": (
        "An jedem Arbeitstag: die Haushalte, bei denen jemand handeln muss"
    ),
    # What if.
    "We travel": "Wir verreisen",
    "What to pack, and what is left at home.": "Was einzupacken ist und was zu Hause bleibt.",
    "A hospital stay": "Ein Aufenthalt im Krankenhaus",
    "The hospital uses its own goods on these days.": (
        "An diesen Tagen nimmt das Krankenhaus eigenes Material."
    ),
    "The supplier is closed": "Der Lieferant hat geschlossen",
    "Orders and vans stand still.": "Bestellungen und Wagen stehen still.",
    "An order comes days later.": "Eine Bestellung kommt Tage später.",
    "Goods are damaged": "Material ist beschädigt",
    "A box got wet or broke.": "Eine Packung wurde nass oder ging kaputt.",
    "The plan changes": "Der Plan ändert sich",
    "Only the prescriber changes the plan. See what it means for supplies.": (
        "Nur wer ihn verordnet hat, ändert den Plan. Sehen Sie, was das für das Material heißt."
    ),
    "One box of {item} holds {units}.": "Eine Packung {item} enthält {units}.",
    "When symptoms ask for it": "Wenn Beschwerden es verlangen",
    "How often": "Wie oft",
    # Settings.
    "Drain plan": "Ableitungsplan",
    "Change the drain plan": "Ableitungsplan ändern",
    "Add a time away": "Eine Abwesenheit hinzufügen",
    "Change or end it": "Ändern oder beenden",
    "Change it": "Ändern",
    "Change the rest": "Das Übrige ändern",
    "Change or take out": "Ändern oder herausnehmen",
    "What a session uses": "Was eine Sitzung verbraucht",
    "Choose other goods": "Anderes Material wählen",
    "How safe the plan is": "Wie sicher der Plan ist",
    "Change the supplier": "Lieferanten ändern",
    "Supplier": "Lieferant",
    "Add days on which they are closed": "Tage hinzufügen, an denen geschlossen ist",
    "Items": "Artikel",
    "Add an item": "Einen Artikel hinzufügen",
    "Amounts allowed": "Genehmigte Mengen",
    "Add an amount": "Eine Menge hinzufügen",
    "Change name or clock": "Namen oder Uhr ändern",
    "Change the care team": "Behandlungsteam ändern",
    "Every so many days": "Alle so viele Tage",
    "On fixed weekdays": "An festen Wochentagen",
    "As needed": "Nach Bedarf",
    "By a calendar rule": "Nach einer Kalenderregel",
    "In hospital": "Im Krankenhaus",
    "Travelling": "Auf Reisen",
    "Other": "Anderes",
    "Monday": "Montag",
    "Tuesday": "Dienstag",
    "Wednesday": "Mittwoch",
    "Thursday": "Donnerstag",
    "Friday": "Freitag",
    "Saturday": "Samstag",
    "Sunday": "Sonntag",
    "Chest": "Brust",
    "Belly": "Bauch",
    "Another size": "Andere Größe",
    "Days": "Tage",
    "Volumes": "Mengen",
    # Faults.
    "{label} is {value}. {fix}.": "{label}: {value}. {fix}.",
    "empty": "leer",
    "not ticked": "nicht angekreuzt",
    "missing": "fehlt",
}
