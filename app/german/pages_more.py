"""German for the plain texts of templates: calendars, settings, households of an agency."""

from __future__ import annotations

PAGES_MORE: dict[str, str] = {
    # A coordinator's pages.
    "Households": "Haushalte",
    "Who needs something this week?": "Wer braucht diese Woche etwas?",
    "{1}, {2}. {3} households.": "{1}, {2}. Haushalte: {3}.",
    "plan is": "Plan wird",
    "plans are": "Pläne werden",
    "being brought up to date. Load this page again in a few minutes.": (
        "gerade erneuert. Laden Sie diese Seite in ein paar Minuten noch einmal."
    ),
    "Find a household by name": "Einen Haushalt nach Namen suchen",
    "Find": "Suchen",
    "Show all": "Alle zeigen",
    "household": "Haushalt",
    "households": "Haushalte",
    ", most urgent first": ", die dringendsten zuerst",
    "Household": "Haushalt",
    "Order by": "Bestellen bis",
    "Almost sure through": "Fast sicher bis",
    "Probably through": "Wahrscheinlich bis",
    "“Through” names the last day with supplies. Only goods at home count.": (
        "„Bis“ nennt den letzten Tag mit Material. Nur was zu Hause ist, zählt."
    ),
    "Back": "Zurück",
    "Next": "Weiter",
    "No household fits. <1>Show all</1>": "Kein Haushalt passt. <1>Alle zeigen</1>",
    "Combined order": "Sammelbestellung",
    "{1}, {2}. Orders to place in the next 7 days, by supplier and usual day of delivery. Each "
    "home gets its own whole boxes; goods are not moved between homes. Every household still "
    "confirms its own order.": (
        "{1}, {2}. Was in den nächsten 7 Tagen zu bestellen ist, nach Lieferant und üblichem "
        "Liefertag. Jeder Haushalt bekommt seine eigenen ganzen Packungen; Ware wird nicht zwischen "
        "Haushalten verschoben. Jeder Haushalt bestätigt seine Bestellung weiterhin selbst."
    ),
    "Download for a spreadsheet": "Für eine Tabelle herunterladen",
    "No order is due in the next 7 days.": "In den nächsten 7 Tagen ist nichts zu bestellen.",
    "{1}, for {2}": "{1}, für {2}",
    "<1>Place by {1}.</1> Call {2}.": "<1>Bis {1} aufgeben.</1> Anrufen: {2}.",
    "In all": "Insgesamt",
    "Item": "Artikel",
    "Boxes": "Packungen",
    "By household": "Nach Haushalt",
    # Calendar and reminders.
    "Who appears?": "Wer erscheint?",
    "Which entries?": "Welche Einträge?",
    "A household that runs short has an entry today in any case.": (
        "Ein Haushalt, bei dem es knapp wird, hat auf jeden Fall heute einen Eintrag."
    ),
    "Which supplier?": "Welcher Lieferant?",
    "Calendar": "Kalender",
    "Dates in your own calendar": "Termine in Ihrem eigenen Kalender",
    "Your calendar can show the day to order, the next delivery and the day supplies may end. "
    "The dates move when the plan moves.": (
        "Ihr Kalender kann den Tag zum Bestellen, die nächste Lieferung und den Tag zeigen, an dem "
        "das Material ausgehen kann. Ändert sich der Plan, ändern sich die Termine."
    ),
    "Some calendar programs look for changes only once or twice a day, and some never ring for a "
    "calendar of this kind. So look at your plan as well, or have <1>reminders by e-mail</1>.": (
        "Manche Kalenderprogramme sehen nur ein- oder zweimal am Tag nach Änderungen, und manche "
        "läuten bei so einem Kalender nie. Sehen Sie also auch in Ihren Plan, oder lassen Sie sich "
        "<1>per E-Mail erinnern</1>."
    ),
    "Your new address": "Ihre neue Adresse",
    "It is shown only this once. Whoever has it can read these dates, so keep it to yourself.": (
        "Sie wird nur dieses eine Mal gezeigt. Wer sie hat, kann diese Termine lesen. Behalten Sie "
        "sie für sich."
    ),
    "Open in my calendar": "In meinem Kalender öffnen",
    "Or copy it, and choose “subscribe to a calendar” or “add by address” in your calendar "
    "program.": (
        "Oder kopieren Sie sie, und wählen Sie in Ihrem Kalenderprogramm „Kalender abonnieren“ oder "
        "„über Adresse hinzufügen“."
    ),
    "You have an address": "Sie haben eine Adresse",
    "Last read by a calendar: {1}. Entries use {2} words.": (
        "Zuletzt von einem Kalender gelesen: {1}. Wortwahl der Einträge: {2}."
    ),
    "neutral": "neutral",
    "detailed": "ausführlich",
    "Lost it, or somebody saw it? Make a new one below. The old one then stops working.": (
        "Verloren, oder jemand hat sie gesehen? Machen Sie unten eine neue. Die alte gilt dann "
        "nicht mehr."
    ),
    "Switch it off": "Abschalten",
    "Change what it shows": "Ändern, was sie zeigt",
    "The address stays the same. What it no longer shows is marked as no longer current when your "
    "calendar next looks for changes.": (
        "Die Adresse bleibt dieselbe. Was sie nicht mehr zeigt, wird als nicht mehr aktuell "
        "vermerkt, sobald Ihr Kalender wieder nach Änderungen sieht."
    ),
    "Save what it shows": "Speichern, was sie zeigt",
    "Make a new address": "Eine neue Adresse machen",
    "Make an address": "Eine Adresse machen",
    "Make the address": "Die Adresse machen",
    "It will show the same as the one you have.": "Sie zeigt dasselbe wie die, die Sie haben.",
    "Which words should the entries use?": "Welche Worte sollen in den Einträgen stehen?",
    "Neutral: others who see my calendar learn nothing about my health": (
        "Neutral: Wer meinen Kalender sieht, erfährt nichts über meine Gesundheit"
    ),
    "Detailed: say what to order": "Ausführlich: sagen, was zu bestellen ist",
    "Reminders": "Erinnerungen",
    "Reminders by e-mail": "Erinnerungen per E-Mail",
    "You get a message only about what you choose here, once for each fact. It goes to {1}. While "
    "you are away from home or no longer need supplies, nothing is sent.": (
        "Sie bekommen nur zu dem eine Nachricht, was Sie hier wählen, und zu jeder Sache einmal. "
        "Sie geht an {1}. Solange Sie nicht zu Hause sind oder kein Material mehr brauchen, wird "
        "nichts verschickt."
    ),
    "<1>No mail server is set up here.</1> Messages are only written on this machine and reach "
    "nobody. Whoever runs it can set one up.": (
        "<1>Hier ist kein Mailserver eingerichtet.</1> Nachrichten werden nur auf diesem Rechner "
        "geschrieben und erreichen niemanden. Wer ihn betreibt, kann einen einrichten."
    ),
    "Send me a message when": "Schicken Sie mir eine Nachricht, wenn",
    "Quiet hours: no messages in this time": "Ruhezeit: keine Nachrichten in dieser Zeit",
    "From": "Von",
    "Until": "Bis",
    "The same time twice means no quiet hours.": "Zweimal dieselbe Zeit heißt: keine Ruhezeit.",
    "Your time zone": "Ihre Zeitzone",
    "For example Europe/Lisbon.": "Zum Beispiel Europe/Berlin.",
    "Which words should messages use?": "Welche Worte sollen in Nachrichten stehen?",
    "Neutral: they say nothing about anybody’s health": (
        "Neutral: Sie sagen nichts über jemandes Gesundheit"
    ),
    "E-mail may be late or get lost. Look at your plan as well.": (
        "E-Mails können spät kommen oder verloren gehen. Sehen Sie auch in Ihren Plan."
    ),
    "Save my choices": "Meine Auswahl speichern",
    "Back to the calendar": "Zurück zum Kalender",
    "Stop messages": "Nachrichten abstellen",
    "Messages are stopped": "Die Nachrichten sind abgestellt",
    "You will get no more of these messages. To have them again, sign in and choose them on the "
    "page “Reminders”.": (
        "Sie bekommen keine solchen Nachrichten mehr. Möchten Sie wieder welche, melden Sie sich an "
        "und wählen Sie sie auf der Seite „Erinnerungen“."
    ),
    "Stop these messages?": "Diese Nachrichten abstellen?",
    "Then no reminder of this kind comes by e-mail any more. Your plan and your calendar stay as "
    "they are.": (
        "Dann kommt keine solche Erinnerung mehr per E-Mail. Ihr Plan und Ihr Kalender bleiben, wie "
        "sie sind."
    ),
    "Stop the messages": "Nachrichten abstellen",
    # Settings.
    "Settings": "Einstellungen",
    "What is set here tells the plan how supplies are used and how they come. A change never "
    "wipes out what was before.": (
        "Was hier eingestellt ist, sagt dem Plan, wie Material verbraucht wird und wie es kommt. "
        "Eine Änderung löscht nie, was vorher war."
    ),
    "How days and volumes are written is up to each person.": (
        "Wie Tage und Mengen geschrieben werden, bestimmt jede Person für sich."
    ),
    "Days, volumes and language": "Tage, Mengen und Sprache",
    "Changes so far": "Bisherige Änderungen",
    "Written on": "Aufgeschrieben am",
    "Nothing has been changed since the start.": "Seit dem Anfang wurde nichts geändert.",
    "How you see things": "Wie Sie die Seiten sehen",
    "This is for you alone. Others see the pages in their own way. Nothing in the record changes.": (
        "Das gilt nur für Sie. Andere sehen die Seiten auf ihre Weise. An der Aufzeichnung ändert "
        "sich nichts."
    ),
    "How should days be written?": "Wie sollen Tage geschrieben werden?",
    "In which unit should volumes be shown?": "In welcher Einheit sollen Mengen stehen?",
    "You still write volumes down in mL, as they stand on the bottle.": (
        "Aufschreiben müssen Sie Mengen weiterhin in ml, wie sie auf der Flasche stehen."
    ),
    "Language": "Sprache",
    "Time away": "Abwesenheit",
    "Time away from home": "Zeit außer Haus",
    "Change a time away": "Eine Abwesenheit ändern",
    "While you are away, nothing is taken from the shelf at home. The plan counts on.": (
        "Solange Sie weg sind, wird zu Hause nichts aus dem Regal genommen. Der Plan zählt weiter."
    ),
    "Home again today": "Heute wieder zu Hause",
    "Or change it": "Oder ändern",
    "Why?": "Warum?",
    "Which one is not drained at home?": "Welcher wird nicht zu Hause abgeleitet?",
    "Leave it empty if you do not know yet. The plan then has supplies ready for tomorrow.": (
        "Lassen Sie es leer, wenn Sie es noch nicht wissen. Der Plan hält dann Material für morgen "
        "bereit."
    ),
    "It did not happen: take it out": "Es fand nicht statt: herausnehmen",
    "Back to the settings": "Zurück zu den Einstellungen",
    "Plan": "Plan",
    "Drain plan: {1}": "Ableitungsplan: {1}",
    "Copy what your doctor or nurse wrote. This page only tells the forecast what to count with. "
    "If you are not sure what your plan says, ask them first.": (
        "Schreiben Sie ab, was Ärztin, Arzt oder Pflegekraft aufgeschrieben hat. Diese Seite sagt "
        "der Vorhersage nur, womit sie rechnen soll. Sind Sie nicht sicher, was Ihr Plan sagt, "
        "fragen Sie zuerst dort."
    ),
    "How is it written?": "Wie ist er geschrieben?",
    "Number of days": "Zahl der Tage",
    "For “every so many days”. Every other day is 2.": (
        "Für „alle so viele Tage“. Jeden zweiten Tag ist 2."
    ),
    "Weekdays": "Wochentage",
    "For “on fixed weekdays”.": "Für „an festen Wochentagen“.",
    "Another rule": "Eine andere Regel",
    "Calendar rule": "Kalenderregel",
    "For “by a calendar rule”, in the form of RFC 5545. Example: FREQ=MONTHLY;BYDAY=1MO": (
        "Für „nach einer Kalenderregel“, in der Form von RFC 5545. Beispiel: FREQ=MONTHLY;BYDAY=1MO"
    ),
    "First day": "Erster Tag",
    "The first day on which this holds. It may lie ahead.": (
        "Der erste Tag, an dem das gilt. Er darf in der Zukunft liegen."
    ),
    "Who prescribed it?": "Wer hat es verordnet?",
    "Limit for one session, in mL": "Grenze für eine Sitzung, in ml",
    "Only if your plan names one.": "Nur wenn Ihr Plan eine nennt.",
    # What if.
    "What if": "Was wäre, wenn",
    "What if …": "Was wäre, wenn …",
    "Try out what something would mean for your supplies. Nothing is saved until you say so.": (
        "Probieren Sie aus, was etwas für Ihr Material bedeuten würde. Nichts wird gespeichert, "
        "bevor Sie es sagen."
    ),
    "All questions": "Alle Fragen",
    "What if: {1}": "Was wäre, wenn: {1}",
    "<1>Only your prescriber changes your plan.</1> This page does not say what is right for you. "
    "It only counts supplies.": (
        "<1>Nur wer Ihren Plan verordnet hat, ändert ihn.</1> Diese Seite sagt nicht, was für Sie "
        "richtig ist. Sie zählt nur Material."
    ),
    "The difference": "Der Unterschied",
    "This is only a question. Nothing was saved.": (
        "Das ist nur eine Frage. Es wurde nichts gespeichert."
    ),
    "If it comes to this": "Wenn es dazu kommt",
    "What to pack": "Was einzupacken ist",
    "The list alone, to print": "Nur die Liste, zum Drucken",
    "Make this so": "So festlegen",
    "Ask again": "Noch einmal fragen",
    "No order is on its way, so none can be late.": (
        "Keine Bestellung ist unterwegs, also kann keine zu spät kommen."
    ),
    "First day away": "Erster Tag außer Haus",
    "First day at home again": "Erster Tag wieder zu Hause",
    "Days in reserve": "Tage in Reserve",
    "In case you come home late. They are packed for as well.": (
        "Falls Sie später heimkommen. Auch für sie wird gepackt."
    ),
    "What you take along": "Was Sie mitnehmen",
    "Leave this empty to take what the packing list says.": (
        "Lassen Sie das leer, um mitzunehmen, was die Packliste sagt."
    ),
    "Leave it empty if you do not know.": "Lassen Sie es leer, wenn Sie es nicht wissen.",
    "First day closed": "Erster geschlossener Tag",
    "Last day closed": "Letzter geschlossener Tag",
    "Which order is late?": "Welche Bestellung ist spät?",
    "How many working days late?": "Wie viele Arbeitstage zu spät?",
    "Counted from the day it should come, or from today if that has passed.": (
        "Gezählt ab dem Tag, an dem sie kommen sollte, oder ab heute, wenn der vorbei ist."
    ),
    "What is damaged?": "Was ist beschädigt?",
    "How many single pieces?": "Wie viele einzelne Stücke?",
    "From which day": "Ab welchem Tag",
    "How often does the new plan say?": "Wie oft sagt der neue Plan?",
    "Days from one session to the next": "Tage von einer Sitzung zur nächsten",
    "Only for every so many days.": "Nur für „alle so viele Tage“.",
    "Only for fixed weekdays.": "Nur für feste Wochentage.",
    "Limit for one session in the new plan (mL)": "Grenze für eine Sitzung im neuen Plan (ml)",
    "Leave it empty if it stays as it is.": "Lassen Sie es leer, wenn es so bleibt.",
    "Name of the prescriber": "Wer es verordnet hat",
    "Only needed if the plan has really changed and you want to save it.": (
        "Nur nötig, wenn sich der Plan wirklich geändert hat und Sie das speichern möchten."
    ),
    "Show what it means": "Zeigen, was es bedeutet",
    "Packing list": "Packliste",
    "Back to the question": "Zurück zur Frage",
    "Your own things": "Ihre eigenen Sachen",
    "Whom to call": "Wen Sie anrufen",
    "Print this page with your browser's print command.": (
        "Drucken Sie diese Seite mit dem Druckbefehl Ihres Browsers."
    ),
    # Goods that came by mistake.
    "Only part of it, or it stays: {1}": "Nur ein Teil, oder es bleibt: {1}",
    "Only part, or it stays": "Nur ein Teil, oder es bleibt",
    "Wrong goods": "Falsche Ware",
    "Some may leave and some may stay. Save one part, then come back for the rest.": (
        "Ein Teil kann weggehen und ein Teil bleiben. Speichern Sie einen Teil, und kommen Sie für "
        "den Rest zurück."
    ),
    "Which goods?": "Welche Ware?",
    "What happens with them?": "Was geschieht damit?",
    "Only if they stay": "Nur wenn sie bleibt",
    "Ask your supplier first. They may want them back.": (
        "Fragen Sie zuerst Ihren Lieferanten. Vielleicht will er sie zurück."
    ),
    "Which item is it?": "Welcher Artikel ist es?",
    "No wrong goods are here.": "Hier ist keine falsche Ware.",
    # A lot recalled for many households.
    "Recalls": "Rückrufe",
    "{1}, {2}. Mark it once, for every household that has had it. Each of them sees it on the "
    "first page and on the shelf.": (
        "{1}, {2}. Vermerken Sie es einmal, für jeden Haushalt, der sie hatte. Jeder davon sieht es "
        "auf der ersten Seite und beim Regal."
    ),
    "Lot on the notice": "Charge laut Mitteilung",
    "Who has it?": "Wer hat sie?",
    "Lot {1}": "Charge {1}",
    "Which items are meant?": "Welche Artikel sind gemeint?",
    "Nobody uses goods of a recalled lot. They count as missing, so plans and orders change at "
    "once. Call the supplier, and tell the households.": (
        "Niemand verwendet Ware aus einer zurückgerufenen Charge. Sie zählt als fehlend, Pläne und "
        "Bestellungen ändern sich also sofort. Rufen Sie den Lieferanten an, und sagen Sie den "
        "Haushalten Bescheid."
    ),
    "Mark as recalled in all of them": "In allen als zurückgerufen vermerken",
    "Marked here": "Hier vermerkt",
    "Take back in all: lot {1}, {2}": "In allen zurücknehmen: Charge {1}, {2}",
    "Take back in all": "In allen zurücknehmen",
    "No lot was marked for all.": "Noch keine Charge wurde für alle vermerkt.",
    # The supplier's clock.
    "Whose clock is that?": "Nach wessen Uhr?",
    "Yours": "Ihrer eigenen",
}
