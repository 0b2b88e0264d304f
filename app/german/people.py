"""German for the plain texts of templates: people, first steps, data, paper."""

from __future__ import annotations

PEOPLE: dict[str, str] = {
    # Joining and people.
    "Welcome": "Willkommen",
    "You are invited": "Sie sind eingeladen",
    "You can join <1>{1}</1>": "Sie können dazukommen: <1>{1}</1>",
    "as {1}": "als {1}",
    "Welcome to Ebbstock": "Willkommen bei Ebbstock",
    "Make your account. With it you sign in from now on.": (
        "Legen Sie Ihr Konto an. Damit melden Sie sich von nun an an."
    ),
    "You are signed in as {1}": "Sie sind angemeldet als {1}",
    "Join": "Dazukommen",
    "Not you? Sign out first, then open the link again.": (
        "Sind Sie das nicht? Melden Sie sich zuerst ab, und öffnen Sie den Link dann noch einmal."
    ),
    "Make an account": "Ein Konto anlegen",
    "What the others call you.": "Wie die anderen Sie nennen.",
    "You sign in with it.": "Damit melden Sie sich an.",
    "At least ": "Mindestens ",
    " characters. A few words in a row are good.": " Zeichen. Ein paar Wörter hintereinander sind gut.",
    "Make my account": "Mein Konto anlegen",
    "Have an account already? <1>Sign in and join</1>": (
        "Haben Sie schon ein Konto? <1>Anmelden und dazukommen</1>"
    ),
    "This link works once. Keep it to yourself.": (
        "Dieser Link gilt einmal. Behalten Sie ihn für sich."
    ),
    "People": "Personen",
    "Who is in here": "Wer dabei ist",
    "Your invite is ready": "Ihre Einladung ist fertig",
    "Give this link to one person. It works once, for 7 days, and is shown only now.": (
        "Geben Sie diesen Link einer Person. Er gilt einmal, 7 Tage lang, und wird nur jetzt gezeigt."
    ),
    "Name": "Name",
    "Role": "Rolle",
    "Change": "Ändern",
    "(you)": "(Sie)",
    "Role of {1}": "Rolle von {1}",
    "Take out {1}": "{1} herausnehmen",
    "Take out": "Herausnehmen",
    "The coordinators of {1} can see and change this household as well.": (
        "Auch die Koordination von {1} kann diesen Haushalt sehen und ändern."
    ),
    "Leave": "Verlassen",
    "Open invites": "Offene Einladungen",
    ", for {1}": ", für {1}",
    ", until {1}": ", bis {1}",
    "(from {1})": "(von {1})",
    "Take back the invite as {1}{% if one.note %} for {2}{% endif %}": (
        "Die Einladung als {1}{% if one.note %} für {2}{% endif %} zurücknehmen"
    ),
    "Invite somebody": "Jemanden einladen",
    "What will this person be?": "Was wird diese Person?",
    "This person will be a coordinator. They can do all that you can do here.": (
        "Diese Person wird mit Ihnen koordinieren. Sie kann hier alles, was Sie können."
    ),
    "Whom is it for?": "Für wen ist sie?",
    "A word for you to know it by, such as a first name. You may leave it empty.": (
        "Ein Wort, an dem Sie sie erkennen, etwa ein Vorname. Es darf leer bleiben."
    ),
    "Send it by e-mail to": "Per E-Mail senden an",
    "Leave it empty to pass the link on yourself. The address is not kept.": (
        "Lassen Sie es leer, um den Link selbst weiterzugeben. Die Adresse wird nicht aufbewahrt."
    ),
    "Make an invite": "Einladung machen",
    "Keep a copy of the data, or delete it": "Die Daten sichern oder löschen",
    # The account.
    "Your account": "Ihr Konto",
    "You sign in with {1}. <1>How you see things</1>": (
        "Sie melden sich mit {1} an. <1>Wie Sie die Seiten sehen</1>"
    ),
    "Save the name": "Namen speichern",
    "Your password": "Ihr Passwort",
    "The password so far": "Das bisherige Passwort",
    "The new password": "Das neue Passwort",
    "Other devices are signed out then.": "Andere Geräte werden dann abgemeldet.",
    "Change the password": "Passwort ändern",
    "Where you are signed in": "Wo Sie angemeldet sind",
    "(this one)": "(dieses)",
    ", since {1}, last used {2}": ", seit {1}, zuletzt benutzt {2}",
    "Sign out the {1} that is signed in since {2}": "Abmelden: {1}, angemeldet seit {2}",
    "Sign out everywhere": "Überall abmelden",
    "Do this when a device is lost or somebody may know your password. Then change the password, "
    "too.": (
        "Tun Sie das, wenn ein Gerät verloren ist oder jemand Ihr Passwort kennen könnte. Ändern "
        "Sie dann auch das Passwort."
    ),
    "Calendars": "Kalender",
    "These calendar addresses go on when you sign out. Switch one off on its page.": (
        "Diese Kalenderadressen gelten weiter, wenn Sie sich abmelden. Schalten Sie eine auf ihrer "
        "Seite ab."
    ),
    "Delete my account": "Mein Konto löschen",
    "Delete your account?": "Ihr Konto löschen?",
    "This cannot be undone. These things go at once:": (
        "Das lässt sich nicht zurücknehmen. Sofort gelöscht wird:"
    ),
    "your name, e-mail address and password": "Ihr Name, Ihre E-Mail-Adresse und Ihr Passwort",
    "your place in": "Ihr Platz bei",
    "households (you are in none)": "Haushalten (Sie sind in keinem)",
    "your calendar addresses ({1}) and your e-mail reminders": (
        "Ihre Kalenderadressen ({1}) und Ihre Erinnerungen per E-Mail"
    ),
    "What you wrote down for a household stays in its record, without your name. If you confirmed "
    "an order, the name you typed there stays with the order.": (
        "Was Sie für einen Haushalt aufgeschrieben haben, bleibt ohne Ihren Namen in der "
        "Aufzeichnung. Haben Sie eine Bestellung bestätigt, bleibt der Name, den Sie dort "
        "eingegeben haben, bei der Bestellung."
    ),
    "To keep a copy of a household’s data, open its page “People” first.": (
        "Möchten Sie eine Kopie der Daten eines Haushalts, öffnen Sie zuerst dessen Seite „Personen“."
    ),
    "Delete my account for good": "Mein Konto endgültig löschen",
    "Keep it": "Behalten",
    "New password": "Neues Passwort",
    "Choose a new password": "Ein neues Passwort wählen",
    "Save the password": "Passwort speichern",
    "All devices are signed out then. Sign in with the new password. This link works once.": (
        "Alle Geräte werden dann abgemeldet. Melden Sie sich mit dem neuen Passwort an. Dieser Link "
        "gilt einmal."
    ),
    # Data.
    "This file cannot be used": "Diese Datei ist nicht brauchbar",
    "Nothing was saved. Correct the file, then choose it again.": (
        "Es wurde nichts gespeichert. Berichtigen Sie die Datei, und wählen Sie sie noch einmal."
    ),
    "And {1} more. Correct these first.": "Und {1} weitere. Berichtigen Sie zuerst diese.",
    "Data": "Daten",
    "The data of this household": "Die Daten dieses Haushalts",
    "Keep a copy": "Eine Kopie sichern",
    "One file holds the whole record: plan settings, sessions, shelf and orders. You can read it in "
    "again here or elsewhere.": (
        "Eine Datei enthält die ganze Aufzeichnung: Plan, Sitzungen, Regal und Bestellungen. Sie "
        "können sie hier oder anderswo wieder einlesen."
    ),
    "It does not hold people, passwords, calendar addresses or reminders. It leaves out box codes "
    "and answers to orders that were not needed. It does hold health data, so keep it in a safe "
    "place.": (
        "Sie enthält keine Personen, Passwörter, Kalenderadressen oder Erinnerungen. Auch Codes auf "
        "Packungen und Antworten auf nicht nötige Bestellungen fehlen darin. Sie enthält aber Gesundheitsdaten. Bewahren Sie sie sicher auf."
    ),
    "Save the file": "Datei speichern",
    "Read a copy in": "Eine Kopie einlesen",
    "Nothing is written down here yet, so a file can take its place.": (
        "Hier ist noch nichts aufgeschrieben, also kann eine Datei an die Stelle treten."
    ),
    "The file": "Die Datei",
    "Read it in": "Einlesen",
    "Delete everything": "Alles löschen",
    "You are shown first what goes.": "Zuerst wird gezeigt, was gelöscht wird.",
    "Delete this household": "Diesen Haushalt löschen",
    "Deleted": "Gelöscht",
    "{1} is deleted": "{1} ist gelöscht",
    "Nothing of it is left here. Copies that were saved before, such as backups, are kept by "
    "whoever runs this service.": (
        "Hier ist nichts mehr davon da. Kopien von früher, etwa Sicherungen, bewahrt auf, wer "
        "diesen Dienst betreibt."
    ),
    "Go to the sign-in page": "Zur Anmeldung",
    "Delete": "Löschen",
    "Delete this household?": "Diesen Haushalt löschen?",
    "This cannot be undone. These things go at once, for everybody:": (
        "Das lässt sich nicht zurücknehmen. Sofort und für alle gelöscht wird:"
    ),
    "sessions: {1}": "Sitzungen: {1}",
    "entries of the shelf: {1}": "Einträge des Regals: {1}",
    "orders: {1}": "Bestellungen: {1}",
    "plan settings, supplier and phone numbers": "Plan, Lieferant und Telefonnummern",
    "the places of {1}": "die Plätze von {1}",
    "person": "Person",
    "people": "Personen",
    "(their accounts stay)": "(ihre Konten bleiben)",
    "calendar addresses: {1}. They stop working.": "Kalenderadressen: {1}. Sie gelten nicht mehr.",
    "choices of e-mail reminders: {1}. No more messages are sent.": (
        "gewählte Erinnerungen per E-Mail: {1}. Es werden keine Nachrichten mehr verschickt."
    ),
    "An order that your supplier has is not cancelled by this. Call them if it should not come.": (
        "Eine Bestellung, die beim Lieferanten liegt, ist damit nicht storniert. Rufen Sie dort an, "
        "wenn sie nicht kommen soll."
    ),
    "Save a copy first": "Zuerst eine Kopie speichern",
    "To delete it, write its name: ": "Zum Löschen den Namen schreiben: ",
    "Delete it for good": "Endgültig löschen",
    "Read in a file": "Eine Datei einlesen",
    "Read in": "Einlesen:",
    "a household": "einen Haushalt",
    "from a file": "aus einer Datei",
    "Each household of the file is added to {1}.": ("Jeder Haushalt der Datei kommt hinzu zu {1}."),
    "The file was saved on the page “Data” of a household, here or elsewhere.": (
        "Die Datei wurde auf der Seite „Daten“ eines Haushalts gespeichert, hier oder anderswo."
    ),
    "It is checked first. If anything in it is wrong, nothing is saved.": (
        "Sie wird zuerst geprüft. Ist etwas darin falsch, wird nichts gespeichert."
    ),
    "What are you to this household?": "Was sind Sie für diesen Haushalt?",
    # First steps.
    "Set up": "Einrichten",
    "Set up a household": "Einen Haushalt einrichten",
    "A few questions, then you see your first plan. Leave empty what you do not know. You can "
    "change everything later.": (
        "Ein paar Fragen, dann sehen Sie Ihren ersten Plan. Lassen Sie leer, was Sie nicht wissen. "
        "Sie können später alles ändern."
    ),
    "Did somebody invite you? Then open the link they sent you instead.": (
        "Hat Sie jemand eingeladen? Dann öffnen Sie stattdessen den Link von dort."
    ),
    "1. Whose supplies?": "1. Wessen Material?",
    "A name for this household": "Ein Name für diesen Haushalt",
    "Initials will do. You choose who sees it.": (
        "Anfangsbuchstaben genügen. Sie bestimmen, wer ihn sieht."
    ),
    "Who are you?": "Wer sind Sie?",
    "Which place is nearest?": "Welcher Ort ist am nächsten?",
    "It sets the clock and the public holidays.": "Er bestimmt die Uhr und die Feiertage.",
    "2. The drain plan": "2. Der Ableitungsplan",
    "Copy what your doctor or nurse wrote. If you are not sure, ask them first.": (
        "Schreiben Sie ab, was Ärztin, Arzt oder Pflegekraft aufgeschrieben hat. Sind Sie nicht "
        "sicher, fragen Sie zuerst dort."
    ),
    "Where does the tube lie?": "Wo liegt der Schlauch?",
    "How is the plan written?": "Wie ist der Plan geschrieben?",
    "From which day?": "Ab welchem Tag?",
    "If you do not know, leave today.": "Wenn Sie es nicht wissen, lassen Sie heute stehen.",
    "3. What is on the shelf now?": "3. Was liegt jetzt im Regal?",
    "How much does the bottle in one kit hold?": "Wie viel fasst die Flasche in einem Set?",
    "Other size, in mL": "Andere Größe, in ml",
    "It is printed on the bottle.": "Sie steht auf der Flasche.",
    "How many kits are there?": "Wie viele Sets sind da?",
    "Single kits, not boxes. Empty: none until you count.": (
        "Einzelne Sets, keine Packungen. Leer: keine, bis Sie zählen."
    ),
    "How many loose bottles?": "Wie viele Einzelflaschen?",
    "Bottles without a dressing pack. Empty: none.": "Flaschen ohne Verbandpack. Leer: keine.",
    "How many kits are in a box?": "Wie viele Sets sind in einer Packung?",
    "Empty: ": "Leer: ",
    "4. Who brings them?": "4. Wer bringt sie?",
    "Working days from order to delivery": "Arbeitstage von der Bestellung bis zur Lieferung",
    "Name of the supplier": "Name des Lieferanten",
    "It may stay empty.": "Es darf leer bleiben.",
    "Phone of the supplier": "Telefon des Lieferanten",
    "It may stay empty. The plan shows it when you need to call.": (
        "Es darf leer bleiben. Der Plan zeigt es, wenn Sie anrufen müssen."
    ),
    "Show my first plan": "Meinen ersten Plan zeigen",
    "Take it out": "Herausnehmen",
    # Orders and deliveries.
    "<1>Download for a spreadsheet</1> <2>Download for a supplier's system</2>": (
        "<1>Für eine Tabelle herunterladen</1> <2>Für das System eines Lieferanten herunterladen</2>"
    ),
    "Compare with a box more or less": "Mit einer Packung mehr oder weniger vergleichen",
    ", and choose": ", und wählen",
    "Other amounts": "Andere Mengen",
    "How long each amount would last if it were ordered now. Nothing is ordered here.": (
        "Wie lange jede Menge reichen würde, wenn sie jetzt bestellt würde. Hier wird nichts bestellt."
    ),
    "Amount": "Menge",
    "Probably lasts": "Reicht wahrscheinlich",
    "Against the proposal": "Gegenüber dem Vorschlag",
    "Chance to run out before {1}": "Wahrscheinlichkeit, dass es vor {1} ausgeht",
    "Choose": "Wählen",
    ". The amount is limited; ask first.": ". Die Menge ist begrenzt; fragen Sie zuerst.",
    "Use this amount: {1}": "Diese Menge nehmen: {1}",
    "Use this amount": "Diese Menge nehmen",
    "The chance counts what may happen before the goods come as well.": (
        "Die Wahrscheinlichkeit schließt ein, was geschehen kann, bevor die Ware da ist."
    ),
    "Nothing needs to be ordered now, so there is nothing to compare.": (
        "Jetzt muss nichts bestellt werden, also gibt es nichts zu vergleichen."
    ),
    "Back to the order": "Zurück zur Bestellung",
    "For the supplier": "Für den Lieferanten",
    "<1>Order to print</1> <2>For a spreadsheet</2> <3>For a supplier's system</3>": (
        "<1>Bestellung zum Drucken</1> <2>Für eine Tabelle</2> <3>Für das System eines Lieferanten</3>"
    ),
    "None of them holds a name but that of the supplier and, on paper, of the person who said yes.": (
        "Darin steht kein Name außer dem des Lieferanten und, auf Papier, dem der Person, die Ja "
        "gesagt hat."
    ),
    "Order to print": "Bestellung zum Drucken",
    "Print this page, or save it as a file with your browser's print menu. "
    "<1>Back to the order</1>": (
        "Drucken Sie diese Seite, oder speichern Sie sie mit dem Druckmenü Ihres Browsers als "
        "Datei. <1>Zurück zur Bestellung</1>"
    ),
    "To": "An",
    "Order number": "Bestellnummer",
    "Delivery day named": "Genannter Liefertag",
    "Please deliver": "Bitte liefern Sie",
    "Item code": "Artikelnummer",
    "Read the code on a box": "Den Code auf einer Packung lesen",
    "Which item is this code for?": "Zu welchem Artikel gehört dieser Code?",
    "How many single pieces are in a box with this code?": (
        "Wie viele einzelne Stücke sind in einer Packung mit diesem Code?"
    ),
    "Leave it empty for a full box. We keep your answer for the next time.": (
        "Lassen Sie es bei einer vollen Packung leer. Ihre Antwort wird für das nächste Mal behalten."
    ),
    "Code on the box": "Code auf der Packung",
    "Scan it, paste it, or type what stands under the bar code, with the numbers in brackets.": (
        "Scannen oder einfügen, oder abtippen, was unter dem Strichcode steht, mit den Zahlen in "
        "Klammern."
    ),
    "Fill in a line": "Eine Zeile ausfüllen",
    "Wrong item? Choose again": "Falscher Artikel? Noch einmal wählen",
    # Paper.
    "Empty chart": "Leere Liste",
    "All papers": "Alle Papiere",
    "Drainage chart": "Ableitungsliste",
    "The chart shows on paper and on a wide screen.": (
        "Die Liste erscheint auf Papier und auf einem breiten Bildschirm."
    ),
    "Date": "Datum",
    "Bottle 1 (mL)": "Flasche 1 (ml)",
    "Bottle 2 (mL)": "Flasche 2 (ml)",
    "Total (mL)": "Summe (ml)",
    "Notes": "Notizen",
    "Write 0 if nothing came. More than two bottles: write them in the notes.": (
        "Schreiben Sie 0, wenn nichts kam. Mehr als zwei Flaschen: in die Notizen schreiben."
    ),
    "Chart": "Liste",
    "Last day": "Letzter Tag",
    "Show these days": "Diese Tage zeigen",
    "Away from home: {1}.": "Nicht zu Hause: {1}.",
    "Each bottle (mL)": "Jede Flasche (ml)",
    "No session is written down for these days.": (
        "Für diese Tage ist keine Sitzung aufgeschrieben."
    ),
    "Sheet for counting": "Zählblatt",
    "Printed on {1}. Count single pieces, not boxes. Write down what you see.": (
        "Gedruckt am {1}. Zählen Sie einzelne Stücke, keine Packungen. Schreiben Sie auf, was Sie "
        "sehen."
    ),
    "Counted": "Gezählt",
    "All together": "Alles zusammen",
    "Paper": "Papier",
    "On paper": "Auf Papier",
    "Open a page and print it with your browser. Each fits A4 and US Letter paper.": (
        "Öffnen Sie eine Seite, und drucken Sie sie mit Ihrem Browser. Jede passt auf A4 und US Letter."
    ),
    "<1>Chart to bring along</1> <2>Past sessions with their volumes, for the clinic.</2>": (
        "<1>Liste zum Mitbringen</1> <2>Bisherige Sitzungen mit Mengen, für die Klinik.</2>"
    ),
    "<1>Empty chart</1> <2>To fill in by hand.</2>": (
        "<1>Leere Liste</1> <2>Zum Ausfüllen von Hand.</2>"
    ),
    "<1>Sheet for counting</1> <2>What lies on the shelf, with boxes to fill in.</2>": (
        "<1>Zählblatt</1> <2>Was im Regal liegt, mit Kästchen zum Ausfüllen.</2>"
    ),
}
