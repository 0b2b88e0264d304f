"""German names of countries and cities, where they differ from those of the time zone database.

References:
    Unicode CLDR 48.2, locale de: territories (display names) and time zone names (exemplar
    cities).
"""

from __future__ import annotations


def _table(rows: str) -> dict[str, str]:
    pairs = (row.strip().partition("=") for row in rows.split(";"))
    return {key: name for key, _, name in pairs if key}


COUNTRIES = _table(
    """
    AE=Vereinigte Arabische Emirate; AG=Antigua und Barbuda; AL=Albanien; AM=Armenien;
    AQ=Antarktis; AR=Argentinien; AS=Amerikanisch-Samoa; AT=Österreich; AU=Australien;
    AX=Ålandinseln; AZ=Aserbaidschan; BA=Bosnien und Herzegowina; BD=Bangladesch; BE=Belgien;
    BG=Bulgarien; BL=St. Barthélemy; BN=Brunei Darussalam; BO=Bolivien;
    BQ=Karibische Niederlande; BR=Brasilien; BV=Bouvetinsel; BW=Botsuana; CA=Kanada;
    CC=Kokosinseln; CD=Kongo-Kinshasa; CF=Zentralafrikanische Republik; CG=Kongo-Brazzaville;
    CH=Schweiz; CK=Cookinseln; CM=Kamerun; CO=Kolumbien; CU=Kuba; CV=Cabo Verde;
    CX=Weihnachtsinsel; CY=Zypern; CZ=Tschechien; DE=Deutschland; DJ=Dschibuti; DK=Dänemark;
    DO=Dominikanische Republik; DZ=Algerien; EE=Estland; EG=Ägypten; EH=Westsahara; ES=Spanien;
    ET=Äthiopien; FI=Finnland; FJ=Fidschi; FK=Falklandinseln; FM=Mikronesien; FO=Färöer;
    FR=Frankreich; GA=Gabun; GB=Vereinigtes Königreich; GE=Georgien; GF=Französisch-Guayana;
    GL=Grönland; GQ=Äquatorialguinea; GR=Griechenland;
    GS=Südgeorgien und die Südlichen Sandwichinseln; HK=Sonderverwaltungsregion Hongkong;
    HM=Heard und McDonaldinseln; HR=Kroatien; HU=Ungarn; ID=Indonesien; IE=Irland; IN=Indien;
    IO=Britisches Territorium im Indischen Ozean; IQ=Irak; IS=Island; IT=Italien; JM=Jamaika;
    JO=Jordanien; KE=Kenia; KG=Kirgisistan; KH=Kambodscha; KM=Komoren; KN=St. Kitts und Nevis;
    KP=Nordkorea; KR=Südkorea; KY=Kaimaninseln; KZ=Kasachstan; LB=Libanon; LC=St. Lucia;
    LT=Litauen; LU=Luxemburg; LV=Lettland; LY=Libyen; MA=Marokko; MD=Republik Moldau;
    MF=St. Martin; MG=Madagaskar; MH=Marshallinseln; MK=Nordmazedonien; MM=Myanmar; MN=Mongolei;
    MO=Sonderverwaltungsregion Macau; MP=Nördliche Marianen; MR=Mauretanien; MV=Malediven;
    MX=Mexiko; MZ=Mosambik; NC=Neukaledonien; NF=Norfolkinsel; NL=Niederlande; NO=Norwegen;
    NZ=Neuseeland; PF=Französisch-Polynesien; PG=Papua-Neuguinea; PH=Philippinen; PL=Polen;
    PM=St. Pierre und Miquelon; PN=Pitcairninseln; PS=Palästinensische Autonomiegebiete;
    QA=Katar; RO=Rumänien; RS=Serbien; RU=Russland; RW=Ruanda; SA=Saudi-Arabien; SB=Salomonen;
    SC=Seychellen; SE=Schweden; SG=Singapur; SH=St. Helena; SI=Slowenien;
    SJ=Spitzbergen und Jan Mayen; SK=Slowakei; SS=Südsudan; ST=São Tomé und Príncipe;
    SX=Sint Maarten; SY=Syrien; SZ=Eswatini; TC=Turks- und Caicosinseln; TD=Tschad;
    TF=Französische Süd- und Antarktisgebiete; TJ=Tadschikistan; TL=Timor-Leste; TN=Tunesien;
    TR=Türkei; TT=Trinidad und Tobago; TZ=Tansania; UM=Amerikanische Überseeinseln;
    US=Vereinigte Staaten; UZ=Usbekistan; VA=Vatikanstadt; VC=St. Vincent und die Grenadinen;
    VG=Britische Jungferninseln; VI=Amerikanische Jungferninseln; WF=Wallis und Futuna; WS=Samoa;
    YE=Jemen; ZA=Südafrika; ZM=Sambia; ZW=Simbabwe;
    """
)
"""By ISO 3166-1 alpha-2 code."""

CITIES = _table(
    """
    Europe/Tirane=Tirana; Africa/Algiers=Algier; Antarctica/DumontDUrville=Dumont-d’Urville;
    Antarctica/Syowa=Showa; Antarctica/Vostok=Wostok;
    America/Argentina/Rio_Gallegos=Río Gallegos; America/Argentina/Tucuman=Tucumán;
    Asia/Yerevan=Eriwan; Europe/Vienna=Wien; Europe/Brussels=Brüssel;
    Africa/Porto-Novo=Porto Novo; America/Araguaina=Araguaína; America/Belem=Belém;
    America/Cuiaba=Cuiabá; America/Eirunepe=Eirunepé; America/Maceio=Maceió;
    America/Noronha=Fernando de Noronha; America/Santarem=Santarém; America/Sao_Paulo=São Paulo;
    Asia/Brunei=Brunei Darussalam; America/St_Johns=St. John’s; Atlantic/Cape_Verde=Cabo Verde;
    America/Cayman=Kaimaninseln; Africa/Ndjamena=N’Djamena; Pacific/Easter=Osterinsel;
    Asia/Urumqi=Ürümqi; Indian/Christmas=Weihnachtsinsel; America/Bogota=Bogotá;
    Indian/Comoro=Komoren; America/Havana=Havanna; America/Curacao=Curaçao; Asia/Nicosia=Nikosia;
    Europe/Prague=Prag; Europe/Copenhagen=Kopenhagen; Africa/Djibouti=Dschibuti;
    Pacific/Galapagos=Galápagos; Africa/Cairo=Kairo; Africa/Addis_Ababa=Addis Abeba;
    Pacific/Fiji=Fidschi; Asia/Tbilisi=Tiflis; Europe/Busingen=Büsingen; Europe/Athens=Athen;
    America/Scoresbysund=Ittoqqortoormiit; Asia/Hong_Kong=Hongkong;
    Atlantic/Reykjavik=Reyk­ja­vík; Asia/Tehran=Teheran; Asia/Baghdad=Bagdad; Europe/Rome=Rom;
    America/Jamaica=Jamaika; Asia/Tokyo=Tokio; Asia/Aqtobe=Aktobe; Asia/Qostanay=Qostanai;
    Asia/Qyzylorda=Qysylorda; Asia/Pyongyang=Pjöngjang; Asia/Bishkek=Bischkek;
    Africa/Tripoli=Tripolis; Europe/Luxembourg=Luxemburg; Indian/Maldives=Malediven;
    America/Cancun=Cancún; America/Ciudad_Juarez=Ciudad Juárez; America/Mazatlan=Mazatlán;
    America/Mexico_City=Mexiko-Stadt; Europe/Chisinau=Chișinău; Asia/Hovd=Chowd;
    Pacific/Noumea=Nouméa; Asia/Muscat=Maskat; Asia/Karachi=Karatschi; America/Asuncion=Asunción;
    Europe/Warsaw=Warschau; Atlantic/Azores=Azoren; Europe/Lisbon=Lissabon; Asia/Qatar=Katar;
    Europe/Bucharest=Bukarest; Europe/Astrakhan=Astrachan; Asia/Chita=Tschita;
    Asia/Kamchatka=Kamtschatka; Asia/Khandyga=Chandyga; Europe/Kirov=Kirow;
    Asia/Krasnoyarsk=Krasnojarsk; Europe/Moscow=Moskau; Asia/Novokuznetsk=Nowokuznetsk;
    Asia/Novosibirsk=Nowosibirsk; Asia/Sakhalin=Sachalin; Europe/Saratov=Saratow;
    Europe/Ulyanovsk=Uljanowsk; Asia/Vladivostok=Wladiwostok; Europe/Volgograd=Wolgograd;
    Asia/Yakutsk=Jakutsk; Asia/Yekaterinburg=Jekaterinburg; Indian/Reunion=Réunion;
    Africa/Sao_Tome=São Tomé; Asia/Riyadh=Riad; Europe/Belgrade=Belgrad; Indian/Mahe=Mahé;
    Asia/Singapore=Singapur; Africa/Mogadishu=Mogadischu; Atlantic/South_Georgia=Südgeorgien;
    Atlantic/Canary=Kanaren; America/St_Barthelemy=Saint-Barthélemy;
    Atlantic/St_Helena=St. Helena; America/St_Kitts=St. Kitts; America/St_Lucia=St. Lucia;
    America/Lower_Princes=Lower Prince’s Quarter; America/Miquelon=Saint-Pierre;
    America/St_Vincent=St. Vincent; Africa/Khartoum=Khartum; Europe/Zurich=Zürich;
    Asia/Damascus=Damaskus; Asia/Taipei=Taipeh; Asia/Dushanbe=Duschanbe;
    Africa/Dar_es_Salaam=Daressalam; Africa/Lome=Lomé; Asia/Ashgabat=Aşgabat;
    America/North_Dakota/Beulah=Beulah, North Dakota;
    America/North_Dakota/Center=Center, North Dakota; America/Indiana/Knox=Knox, Indiana;
    America/Indiana/Marengo=Marengo, Indiana; America/Kentucky/Monticello=Monticello, Kentucky;
    America/North_Dakota/New_Salem=New Salem, North Dakota;
    America/Indiana/Petersburg=Petersburg, Indiana; America/Indiana/Tell_City=Tell City, Indiana;
    America/Indiana/Vevay=Vevay, Indiana; America/Indiana/Vincennes=Vincennes, Indiana;
    America/Indiana/Winamac=Winamac, Indiana; Asia/Tashkent=Taschkent; Europe/Vatican=Vatikan;
    America/St_Thomas=St. Thomas; Pacific/Wallis=Wallis & Futuna; Africa/El_Aaiun=El Aaiún;
    """
)
"""By IANA time zone."""
