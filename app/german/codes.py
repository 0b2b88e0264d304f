"""German for what is wrong with a code on a box or with a file that is read in."""

from __future__ import annotations

CODE_FAULTS: dict[str, str] = {
    "scan, paste or type the code on the box": (
        "scannen Sie den Code auf der Packung, oder fügen oder tippen Sie ihn ein"
    ),
    "it is not a GS1 code; look for another code on the box, or fill in the line by hand": (
        "das ist kein GS1-Code; suchen Sie einen anderen Code auf der Packung, oder füllen Sie die "
        "Zeile von Hand aus"
    ),
    "{where} it cannot be read as a GS1 code; scan it again, or fill in the line": (
        "das lässt sich nicht als GS1-Code lesen; scannen Sie noch einmal, oder füllen Sie die "
        "Zeile aus"
    ),
    "it breaks off; scan it again": "er bricht ab; scannen Sie noch einmal",
    "the code breaks off after ({part}); scan it again": (
        "der Code bricht nach ({part}) ab; scannen Sie noch einmal"
    ),
    "({part}) stands there twice and differs; scan one box at a time": (
        "({part}) steht zweimal verschieden da; scannen Sie eine Packung nach der anderen"
    ),
    "({part}) breaks off: it has {wanted} characters, here are {found}; scan it again": (
        "({part}) bricht ab: Es hat {wanted} Zeichen, hier sind {found}; scannen Sie noch einmal"
    ),
    "({part}) is too long: it has {wanted} characters, here are {found}; scan it again": (
        "({part}) ist zu lang: Es hat {wanted} Zeichen, hier sind {found}; scannen Sie noch einmal"
    ),
    "({part}) gives a whole number of pieces from 1 to 10000; scan it again": (
        "({part}) nennt eine ganze Zahl von Stücken von 1 bis 10000; scannen Sie noch einmal"
    ),
    "an item number has 14 digits; scan it again": (
        "eine Artikelnummer hat 14 Ziffern; scannen Sie noch einmal"
    ),
    "its last digit should be {digit}, so one digit is wrong; scan or type it again": (
        "die letzte Ziffer müsste {digit} sein, also stimmt eine Ziffer nicht; scannen oder tippen "
        "Sie noch einmal"
    ),
    "a lot has at most {most} characters; the end of the lot was not marked, "
    "so fill in the line by hand": (
        "eine Charge hat höchstens {most} Zeichen; das Ende der Charge war nicht markiert, füllen "
        "Sie also die Zeile von Hand aus"
    ),
    "it has a sign that no lot may have; scan it again": (
        "darin ist ein Zeichen, das keine Charge haben darf; scannen Sie noch einmal"
    ),
    "it should be six digits, YYMMDD; scan it again": (
        "es müssten sechs Ziffern sein, JJMMTT; scannen Sie noch einmal"
    ),
    "there is no such date; look at the box and type it in": (
        "ein solches Datum gibt es nicht; sehen Sie auf die Packung, und tippen Sie es ein"
    ),
    "every line is taken; save this delivery, then write down the rest as another one": (
        "alle Zeilen sind voll; speichern Sie diese Lieferung, und schreiben Sie den Rest als "
        "weitere auf"
    ),
    "the code has none; read the other code on the box first, or fill in the line by hand": (
        "der Code hat keine; lesen Sie zuerst den anderen Code auf der Packung, oder füllen Sie "
        "die Zeile von Hand aus"
    ),
}

FILE_FAULTS: dict[str, str] = {
    "choose a file that was saved here or written by hand in the same form": (
        "wählen Sie eine Datei, die hier gespeichert oder in derselben Form geschrieben wurde"
    ),
    "choose a file with {most} of them": "wählen Sie eine Datei mit {most} davon",
    "split it, {most} in each": "teilen Sie sie auf, je {most}",
    "split it into files of at most {most} bytes": (
        "teilen Sie sie in Dateien von höchstens {most} Byte auf"
    ),
    "save it as plain UTF-8 text": "speichern Sie sie als reinen Text in UTF-8",
    "write plain tables and lists": "schreiben Sie einfache Tabellen und Listen",
    "correct the number ({why})": "berichtigen Sie die Zahl ({why})",
    "correct it at line {line}, column {column} ({why})": (
        "berichtigen Sie Zeile {line}, Spalte {column} ({why})"
    ),
    "correct it at the end of the file ({why})": "berichtigen Sie das Ende der Datei ({why})",
    "correct it ({why})": "berichtigen Sie das ({why})",
    "this program reads format {number}": "dieses Programm liest das Format {number}",
    "each household needs its own id": "jeder Haushalt braucht eine eigene Kennung",
    "describe one in [household], or many in [[households]]": (
        "beschreiben Sie einen in [household] oder mehrere in [[households]]"
    ),
    "say who delivers and in how many business days": (
        "geben Sie an, wer liefert und in wie vielen Arbeitstagen"
    ),
    "write a table with its fields here": "schreiben Sie hier eine Tabelle mit ihren Feldern",
    "use plain text on one line, without control characters": (
        "verwenden Sie reinen Text in einer Zeile, ohne Steuerzeichen"
    ),
    "write true or false": "schreiben Sie true oder false",
    "write true, or another frequency instead": (
        "schreiben Sie true oder stattdessen eine andere Häufigkeit"
    ),
    "write local time, without Z or an offset": (
        "schreiben Sie die Ortszeit, ohne Z und ohne Abstand zu UTC"
    ),
    "use one of {words} (did you mean {word}?)": (
        "verwenden Sie eines von diesen: {words} (meinten Sie {word}?)"
    ),
    "use one of {words}, or leave it out": (
        "verwenden Sie eines von diesen, oder lassen Sie es weg: {words}"
    ),
    "use one of {words}": "verwenden Sie eines von diesen: {words}",
    "write exactly one of {words}": "schreiben Sie genau eines von diesen: {words}",
    "there is no such field (did you mean {word}?)": (
        "ein solches Feld gibt es nicht (meinten Sie {word}?)"
    ),
    "there is no such field; known: {words}": (
        "ein solches Feld gibt es nicht; bekannt sind: {words}"
    ),
    "use an IANA name such as Europe/London (did you mean {zone}?)": (
        "verwenden Sie einen IANA-Namen wie Europe/Berlin (meinten Sie {zone}?)"
    ),
    "use an IANA name such as Europe/London": "verwenden Sie einen IANA-Namen wie Europe/Berlin",
    "use a two-letter country code such as GB": (
        "verwenden Sie ein Länderkürzel aus zwei Buchstaben, etwa GB"
    ),
    "use a region code of that country ({known})": (
        "verwenden Sie ein Kürzel einer Region dieses Landes ({known})"
    ),
    "use {days}": "verwenden Sie {days}",
    "name at least one weekday, for example MO": (
        "nennen Sie mindestens einen Wochentag, zum Beispiel MO"
    ),
    "list the volume of each bottle, as ml = [480, 130] or as bottles": (
        "nennen Sie die Menge jeder Flasche, als ml = [480, 130] oder als bottles"
    ),
    "give one of {words}": "geben Sie eines von diesen an: {words}",
    "write one of {words}": "schreiben Sie eines von diesen: {words}",
    "write a list of {wanted} in brackets": "schreiben Sie in Klammern eine Liste: {wanted}",
    "write a list of tables, {name}": "schreiben Sie eine Liste von Tabellen, {name}",
    "list {wanted} only": "nennen Sie hier nur {wanted}",
    "give {wanted}": "geben Sie an: {wanted}",
    "write {wanted}": "schreiben Sie {wanted}",
}

FILE_WORDS: dict[str, str] = {
    "a text in quotes": "einen Text in Anführungszeichen",
    "a whole number": "eine ganze Zahl",
    "a number": "eine Zahl",
    "whole numbers": "ganze Zahlen",
    "codes of kits": "Nummern von Sets",
    'weekdays such as "MO"': 'Wochentage wie "MO"',
    "true or false": "true oder false",
    "a date such as 2026-03-08, without quotes": (
        "ein Datum wie 2026-03-08, ohne Anführungszeichen"
    ),
    "a time such as 15:00:00, without quotes": (
        "eine Uhrzeit wie 15:00:00, ohne Anführungszeichen"
    ),
    "a date such as 2026-03-08 or a date and time such as 2026-03-08T09:30:00": (
        "ein Datum wie 2026-03-08 oder Datum und Uhrzeit wie 2026-03-08T09:30:00"
    ),
    "unknown": "unbekannt",
    "too large": "zu groß",
    "not UTF-8 text": "kein Text in UTF-8",
    "nested too deeply": "zu tief verschachtelt",
    "not valid TOML": "kein gültiges TOML",
    "the file": "Die Datei",
    "{where} is {value}: {fix}.": "{where} – {value}: {fix}.",
    "not right": "nicht richtig",
    "one too many": "eine zu viel",
    "not usable": "nicht brauchbar",
}
