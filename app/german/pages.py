"""German for the plain texts of templates: the pages used every day."""

from __future__ import annotations

PAGES: dict[str, str] = {
    # On every page.
    "Supplies": "Material",
    "Skip to the page": "Zum Inhalt springen",
    "Your account: {1}": "Ihr Konto: {1}",
    "Sign out": "Abmelden",
    "<1>{1}</1> <2>Go to another household</2>": "<1>{1}</1> <2>Zu einem anderen Haushalt</2>",
    "Pages": "Seiten",
    "<1>{1}</1> <2>When to call somebody</2>": "<1>{1}</1> <2>Wann Sie anrufen sollten</2>",
    "Please check what you entered": "Bitte prüfen Sie Ihre Eingaben",
    "Nothing was saved yet. Your entries are still here.": (
        "Noch ist nichts gespeichert. Ihre Eingaben sind noch da."
    ),
    "Back to the shelf": "Zurück zum Regal",
    "Go to the start page": "Zur Startseite",
    "Sign in": "Anmelden",
    "E-mail address": "E-Mail-Adresse",
    "Password": "Passwort",
    "Start": "Start",
    "Where do you want to go?": "Wohin möchten Sie?",
    "<1>Set up another household</1> <2>How you see things</2>": (
        "<1>Einen weiteren Haushalt einrichten</1> <2>Wie Sie die Seiten sehen</2>"
    ),
    # The patient's page.
    "Days of supply": "So lange reicht das Material",
    "Record a session": "Sitzung aufschreiben",
    "Last one written down: {1}. <1>All sessions</1>": (
        "Zuletzt aufgeschrieben: {1}. <1>Alle Sitzungen</1>"
    ),
    "What comes next": "Wie es weitergeht",
    "See the order": "Zur Bestellung",
    "Good to know": "Gut zu wissen",
    "On the shelf": "Im Regal",
    "The coming weeks": "Die kommenden Wochen",
    "Kits left at home if nothing more came. Line: expected. Shaded: 8 in 10 cases.": (
        "Sets, die zu Hause bleiben, wenn nichts mehr käme. Linie: erwartet. Fläche: 8 von 10 "
        "Fällen."
    ),
    "The same as a table": "Dasselbe als Tabelle",
    "End of": "Ende von",
    "Kits": "Sets",
    "8 in 10": "8 von 10",
    "Chance to have run out": "Wahrscheinlichkeit, dass es ausgegangen ist",
    # Sessions.
    "Record": "Eintrag",
    "Choose one": "Bitte wählen",
    "Which one": "Welcher",
    "Which kit did you open?": "Welches Set haben Sie geöffnet?",
    "The one with the soonest date goes first. If you took another one, choose it here.": (
        "Das mit dem frühesten Datum kommt zuerst. Haben Sie ein anderes genommen, wählen Sie es "
        "hier."
    ),
    " came from": " kam aus",
    "How much was in each bottle": "Wie viel in jeder Flasche war",
    "Write 0 if nothing came. A line for the next bottle appears by itself.": (
        "Schreiben Sie 0, wenn nichts kam. Die Zeile für die nächste Flasche erscheint von selbst."
    ),
    "The limit in your plan: {1}.": "Die Grenze in Ihrem Plan: {1}.",
    "Bottle ": "Flasche ",
    " (mL)": " (ml)",
    " was": " war",
    "Why did it end?": "Warum war Schluss?",
    "Save": "Speichern",
    "Day": "Tag",
    "Time": "Uhrzeit",
    "Sessions": "Sitzungen",
    "Chart to print": "Übersicht zum Drucken",
    "{1} written down, the latest first. An entry that was taken back stays in the list.": (
        "{1} aufgeschrieben, die neueste zuerst. Was zurückgenommen wurde, bleibt in der Liste."
    ),
    "When": "Wann",
    "Which": "Welcher",
    "Volume": "Menge",
    "Bottles": "Flaschen",
    "Why it ended": "Warum Schluss war",
    "Ended": "Schluss",
    "Written by": "Aufgeschrieben von",
    "By": "Von",
    "Correct": "Berichtigen",
    "(taken back)": "(zurückgenommen)",
    "Take back": "Zurücknehmen",
    "Take back the session of {1}, {2}": "Die Sitzung von {1}, {2} zurücknehmen",
    "Take back: {1}, {2}": "Zurücknehmen: {1}, {2}",
    "Pages of the list": "Seiten der Liste",
    "Later": "Später",
    "Earlier": "Früher",
    "Page {1} of {2}": "Seite {1} von {2}",
    "No session is written down yet.": "Noch ist keine Sitzung aufgeschrieben.",
    # The shelf.
    "Shelf": "Regal",
    "<1>Count</1><2>Receive a delivery</2><3>Something was lost</3>"
    "<4>Pack, send back, take along</4><5>A lot is recalled</5>": (
        "<1>Zählen</1><2>Lieferung annehmen</2><3>Etwas ging verloren</3>"
        "<4>Packen, zurückschicken, mitnehmen</4><5>Eine Charge ist zurückgerufen</5>"
    ),
    "On its way: {1}. <1>It has come</1>": "Unterwegs: {1}. <1>Sie ist da</1>",
    "<1>Recalled – do not use.</1> {1}. Call {2} and ask what to do with it.": (
        "<1>Zurückgerufen – nicht verwenden.</1> {1}. Fragen Sie, was damit geschehen soll: {2}."
    ),
    "It has left: lot {1}": "Es ist weg: Charge {1}",
    "It has left": "Es ist weg",
    "<1>Wrong goods – not stock.</1> {1}. Call {2} and ask them to take it back.": (
        "<1>Falsche Ware – kein Vorrat.</1> {1}. Bitten Sie um Abholung: {2}."
    ),
    "It has left: {1}": "Es ist weg: {1}",
    "<1>{1}</1> to use": "<1>{1}</1> verwendbar",
    "Count {1}": "{1} zählen",
    "· <1>count</1>": "· <1>zählen</1>",
    "Unpack {1}": "{1} auspacken",
    "· <1>unpack the bag</1>": "· <1>Tasche auspacken</1>",
    "Lot": "Charge",
    "Use by": "Haltbar bis",
    "Units": "Stück",
    "State": "Zustand",
    "<1>Lot </1>{1}": "<1>Charge </1>{1}",
    "Use the soonest date first.": "Nehmen Sie zuerst, was am frühesten abläuft.",
    "Latest entries": "Letzte Einträge",
    "What": "Was",
    "Nothing has been counted or received yet.": "Noch wurde nichts gezählt oder angenommen.",
    "Count": "Zählen",
    "Count the shelf": "Das Regal zählen",
    "Count all units of one item at home: single pieces, not boxes. Leave out what is packed in "
    "the travel bag.": (
        "Zählen Sie alles von einem Artikel zu Hause: einzelne Stücke, keine Packungen. Lassen Sie "
        "weg, was in der Reisetasche ist."
    ),
    "Your count and the record differ": "Ihre Zählung weicht ab",
    "This happens. Your count will be kept. It is not saved yet: if you see a slip, change the "
    "number below.": (
        "Das kommt vor. Ihre Zählung wird gelten. Sie ist noch nicht gespeichert: Wenn Sie sich "
        "verschrieben haben, ändern Sie unten die Zahl."
    ),
    "What do you think happened?": "Was ist wohl geschehen?",
    "What did you count?": "Was haben Sie gezählt?",
    "How many are there?": "Wie viele sind da?",
    "Single pieces, also those past their date.": "Einzelne Stücke, auch abgelaufene.",
    "Save the count": "Zählung speichern",
    "One less": "Eins weniger",
    "One more": "Eins mehr",
    "Lost": "Verlust",
    "Something was lost": "Etwas ging verloren",
    "For goods thrown away outside a session. A bottle lost during a session belongs to that "
    "session.": (
        "Für Material, das außerhalb einer Sitzung weggeworfen wurde. Eine Flasche, die in einer "
        "Sitzung verloren ging, gehört zu dieser Sitzung."
    ),
    "What was it?": "Was war es?",
    "How many?": "Wie viele?",
    "What happened?": "Was ist geschehen?",
    "A few words, such as: no vacuum, box got wet.": (
        "Ein paar Worte, zum Beispiel: kein Vakuum, Packung nass geworden."
    ),
    "Lot, if you know it": "Charge, wenn Sie sie kennen",
    "Move": "Weggeben",
    "Goods go somewhere else": "Material geht woandershin",
    "For goods that you did not use. What is in the travel bag is still yours, but it does not "
    "count as stock at home.": (
        "Für Material, das Sie nicht verbraucht haben. Was in der Reisetasche ist, gehört noch "
        "Ihnen, zählt aber nicht als Vorrat zu Hause."
    ),
    "What happens?": "Was geschieht?",
    "Which item?": "Welcher Artikel?",
    "Single pieces, not boxes.": "Einzelne Stücke, keine Packungen.",
    "Lot, if it must be that one": "Charge, wenn es genau diese sein muss",
    "Leave it empty, and the soonest date goes first.": (
        "Bleibt das leer, geht zuerst weg, was am frühesten abläuft."
    ),
    "Recall": "Rückruf",
    "A lot is recalled": "Eine Charge ist zurückgerufen",
    "Write the lot that the maker or supplier has called back. Nothing of it counts as stock any "
    "more, not even if it comes later.": (
        "Schreiben Sie die Charge auf, die der Hersteller oder Lieferant zurückruft. Nichts davon "
        "zählt mehr als Vorrat, auch nicht, wenn es später kommt."
    ),
    "As it is printed on the box.": "So wie es auf der Packung steht.",
    "Mark as recalled": "Als zurückgerufen vermerken",
    "Delivery": "Lieferung",
    "Receive a delivery": "Lieferung annehmen",
    "Write what really came, in single pieces. Check the use-by dates on the boxes.": (
        "Schreiben Sie auf, was wirklich kam, in einzelnen Stücken. Prüfen Sie auf den Packungen, "
        "wie lange es haltbar ist."
    ),
    "It came twice": "Es kam zweimal",
    "So many came": "So viel kam",
    "{came}, {more} more than ordered": "{came}, {more} mehr als bestellt",
    "Which order is it?": "Welche Bestellung ist es?",
    "Day it came": "Tag, an dem sie kam",
    "More": "Mehr",
    "More lines": "Weitere Zeilen",
    "Line {1}": "Zeile {1}",
    "Item in line ": "Artikel in Zeile ",
    "Units in line ": "Stück in Zeile ",
    "Lot in line ": "Charge in Zeile ",
    "Use-by date in line ": "Haltbar bis in Zeile ",
    "Something wrong came": "Etwas Falsches kam",
    "For goods that nobody ordered, of the wrong kind, or past their date. They are kept apart "
    "until they go back, and never count as stock. If the right goods still come, choose No below.": (
        "Für Ware, die niemand bestellt hat, von falscher Art oder abgelaufen. Sie bleibt getrennt, "
        "bis sie zurückgeht, und zählt nie als Vorrat. Kommt die richtige Ware noch, wählen Sie "
        "unten Nein."
    ),
    "Wrong goods {1}": "Falsche Ware {1}",
    "What came by mistake (": "Was irrtümlich kam (",
    "How many came by mistake (": "Wie viele irrtümlich kamen (",
    "Lot that came by mistake (": "Charge, die irrtümlich kam (",
    "Is the order complete now?": "Ist die Bestellung jetzt vollständig?",
    "Yes, or the rest will not come": "Ja, oder der Rest kommt nicht mehr",
    "No, more is still to come": "Nein, es kommt noch etwas",
    "Put it on the shelf": "Ins Regal legen",
    # The order.
    "Order": "Bestellen",
    "Supplier: {1}": "Lieferant: {1}",
    "Put this day into my calendar": "Diesen Tag in meinen Kalender eintragen",
    "Why this much? The numbers behind it": "Warum so viel? Die Zahlen dahinter",
    "Confirmed, but not placed yet": "Bestätigt, aber noch nicht aufgegeben",
    "{1}, confirmed by {2} on {3}. Call {4} and place it. Then write that down. Until then it does "
    "not count as on its way.": (
        "{1}, bestätigt von {2} am {3}. Rufen Sie an und geben Sie sie auf: {4}. Schreiben Sie das "
        "dann auf. Bis dahin zählt sie nicht als unterwegs."
    ),
    "Write down that it is placed": "Aufschreiben, dass sie aufgegeben ist",
    "Confirm an order": "Eine Bestellung bestätigen",
    "The record has changed": "Die Aufzeichnung hat sich geändert",
    "Nothing was ordered. Below is what the plan says now. Look again before you say yes.": (
        "Es wurde nichts bestellt. Unten steht, was der Plan jetzt sagt. Sehen Sie es noch einmal "
        "an, bevor Sie Ja sagen."
    ),
    "First place or cancel the order that waits.": (
        "Geben Sie zuerst die wartende Bestellung auf, oder stornieren Sie sie."
    ),
    "Nothing is sent by itself. You say yes here and place the order with your supplier.": (
        "Nichts wird von selbst verschickt. Sie sagen hier Ja und bestellen dann beim Lieferanten."
    ),
    ", boxes": ", Packungen",
    "One box holds ": "Eine Packung enthält ",
    "Delivery day the supplier named, if any": "Liefertag, falls der Lieferant einen genannt hat",
    "Your name": "Ihr Name",
    "I have placed it with the supplier already.": "Ich habe sie schon beim Lieferanten aufgegeben.",
    "Confirm the order": "Bestellung bestätigen",
    "Not needed now?": "Jetzt nicht nötig?",
    "Your answer is kept. Nothing is ordered, and the plan goes on counting.": (
        "Ihre Antwort wird aufbewahrt. Es wird nichts bestellt, und der Plan zählt weiter."
    ),
    "Who says no": "Wer Nein sagt",
    "Orders so far": "Bisherige Bestellungen",
    "Ordered": "Bestellt",
    "Confirmed by": "Bestätigt von",
    "It has come: the order of {1}": "Sie ist da: die Bestellung von {1}",
    "It has come": "Sie ist da",
    "No order has been written down yet.": "Noch ist keine Bestellung aufgeschrieben.",
    "Not needed at the time": "Damals nicht nötig",
    "The plan had proposed {1}.": "Der Plan hatte vorgeschlagen: {1}.",
    "One order": "Eine Bestellung",
    "Order of {1}": "Bestellung von {1}",
    "This order is {1}.": "Diese Bestellung ist {1}.",
    "It goes by express.": "Sie kommt als Eillieferung.",
    "Express": "Eillieferung",
    ", express": ", als Eillieferung",
    "It is {1}.": "Sie ist {1}.",
    "Call {1} and place it. Then write that down here.": (
        "Rufen Sie an und geben Sie sie auf: {1}. Schreiben Sie das dann hier auf."
    ),
    "Call {1} and ask when it will come.": "Rufen Sie an und fragen Sie, wann sie kommt: {1}.",
    "What was ordered": "Was bestellt wurde",
    "Came so far": "Bisher gekommen",
    "Still to come": "Kommt noch",
    "What happened next?": "Wie ging es weiter?",
    "What happened": "Was geschah",
    "Day it happened": "Tag, an dem es geschah",
    "Write it down": "Aufschreiben",
    "What happened so far": "Was bisher geschah",
    "Step": "Schritt",
    "Day named": "Genannter Tag",
    "Was the last step a mistake?": "War der letzte Schritt ein Irrtum?",
    "It stays in the list, crossed out. Goods that came with it leave the shelf's record.": (
        "Er bleibt durchgestrichen in der Liste. Ware, die damit kam, geht aus dem Regal wieder "
        "heraus."
    ),
    "Yes, take the last step back": "Ja, den letzten Schritt zurücknehmen",
    "All orders": "Alle Bestellungen",
    # When to call.
    "When to call": "Wann anrufen",
    "When to call somebody": "Wann Sie anrufen sollten",
    "Your own plan and what your nurse or doctor told you come first, and so do local rules. "
    "This page is a reminder.": (
        "Ihr eigener Plan und was Pflegekraft, Ärztin oder Arzt Ihnen gesagt haben, gehen vor, "
        "ebenso die Regeln vor Ort. Diese Seite ist nur eine Erinnerung."
    ),
    "Call the emergency number now": "Rufen Sie sofort den Notruf",
    "You are suddenly or badly short of breath, or your chest hurts a lot.": (
        "Sie bekommen plötzlich oder sehr schlecht Luft, oder Ihre Brust tut stark weh."
    ),
    "You faint, fall or feel confused.": "Sie werden ohnmächtig, stürzen oder sind verwirrt.",
    "There is a lot of fresh blood.": "Es kommt viel frisches Blut.",
    "The tube is cut, cracked or lets air in. First pinch or clamp it between the break and your "
    "skin.": (
        "Der Schlauch ist durchtrennt, hat einen Riss oder zieht Luft. Drücken oder klemmen Sie ihn "
        "zuerst zwischen der schadhaften Stelle und Ihrer Haut ab."
    ),
    "Your belly hurts very badly.": "Ihr Bauch tut sehr stark weh.",
    "Call your nurse or doctor today": "Rufen Sie heute Ihre Pflegekraft oder Ihre Ärztin, Ihren "
    "Arzt an",
    "Your temperature is 38 °C or more, or you shiver.": (
        "Sie haben 38 °C Fieber oder mehr, oder Sie haben Schüttelfrost."
    ),
    "The skin at the tube is red, swollen, warm or smells, or there is pus.": (
        "Die Haut am Schlauch ist rot, geschwollen, warm oder riecht, oder es kommt Eiter."
    ),
    "The fluid turns cloudy, thick or bloody, or smells.": (
        "Die Flüssigkeit wird trüb, dick oder blutig, oder sie riecht."
    ),
    "You have new pain.": "Sie haben neue Schmerzen.",
    "The tube has slipped, its cuff shows, or it came out. Cover the place with a clean dressing.": (
        "Der Schlauch ist verrutscht, die Manschette ist zu sehen, oder er ist herausgekommen. "
        "Decken Sie die Stelle mit einem sauberen Verband ab."
    ),
    "Fluid leaks around the tube.": "Neben dem Schlauch tritt Flüssigkeit aus.",
    "Nothing drains, but you feel breathless or swollen.": (
        "Es kommt nichts, aber Sie sind kurzatmig oder fühlen sich aufgebläht."
    ),
    "You feel dizzy or very weak after a session.": (
        "Nach einer Sitzung ist Ihnen schwindlig, oder Sie sind sehr schwach."
    ),
    "During a session": "Während einer Sitzung",
    "Stop and tell your nurse if it hurts, if you cough hard, if you get breathless or "
    "light-headed, or when you reach the limit in your plan.": (
        "Hören Sie auf und sagen Sie Ihrer Pflegekraft Bescheid, wenn es weh tut, wenn Sie stark "
        "husten, wenn Sie kurzatmig oder benommen werden oder wenn die Grenze in Ihrem Plan "
        "erreicht ist."
    ),
    "Tell your care team soon": "Sagen Sie Ihrem Behandlungsteam bald Bescheid",
    "Less than 50 mL came out three times in a row. Do not stop or cancel supplies on your own.": (
        "Dreimal hintereinander kamen weniger als 50 ml. Hören Sie nicht von sich aus auf, und "
        "bestellen Sie nichts von sich aus ab."
    ),
    "There is much more or much less fluid than usual.": (
        "Es ist viel mehr oder viel weniger Flüssigkeit als sonst."
    ),
    "You would like another plan.": "Sie möchten einen anderen Plan.",
    "Supplies will run out before the next delivery.": (
        "Das Material geht vor der nächsten Lieferung aus."
    ),
    "Never": "Niemals",
    "Never use a bottle twice.": "Verwenden Sie nie eine Flasche zweimal.",
    "Never use one that is past its date, open, damaged or without vacuum.": (
        "Verwenden Sie nie eine, die abgelaufen, offen, beschädigt oder ohne Vakuum ist."
    ),
    "Never skip or delay a session to save supplies. Call instead.": (
        "Lassen Sie nie eine Sitzung aus und verschieben Sie keine, um Material zu sparen. Rufen "
        "Sie stattdessen an."
    ),
}
