"""What headings mean, in the languages that such sheets are kept in.

Words are compared without case, marks and units, and with ss for ß; what is not here is said by
the person: `--map reading="hrs run"`. Words for hours that may be the meter's figure or a day's are
`figure`: the column itself shows which, or the person says.
"""

from __future__ import annotations

from collections.abc import Mapping

FIGURE = "figure"
IGNORE = "ignore"
# By meaning: what the report calls it.
MEANINGS: Mapping[str, str] = {
    "on": "the day",
    "engine": "the engine",
    "boat": "the boat, for the engine on it that day",
    "reading": "the meter's figure",
    "hours": "hours run that day",
    "minutes": "minutes run that day",
    "fuel": "fuel burned that day",
    "out": "the time it went out",
    "in": "the time it came back",
    "task": "the job done",
    "part": "the part that was looked at",
    "condition": "what was found",
    "count": "how many pieces",
    "water": "the water it ran in",
    "by": "who wrote it",
    "note": "a note",
    IGNORE: "left out, as you said",
}
# Words that --map takes beside the meanings themselves.
ALSO: Mapping[str, str] = {
    "day": "on", "date": "on", "job": "task", "found": "condition", "meter": "reading",
    "back": "in", "litres": "fuel", "who": "by", "none": IGNORE,
}  # fmt: skip

_WORDS: Mapping[str, str] = {
    "on": """date; day; on; dated; when; date done; work date; datum; tag; dag; dato; jour; le;
        fecha; dia; data; giorno; dátum""",
    "engine": """engine; engines; engine name; engine no; engine nr; engine number; engine id;
        outboard; outboard motor; motor; motor name; motor nr; motor no; motornummer; motorname;
        aussenborder; aussenbordmotor; ab motor; moteur; hors bord;
        motore; fuoribordo; fueraborda; motor fueraborda; buitenboordmotor; påhengsmotor;
        påhængsmotor; utombordare; utombordsmotor""",
    "boat": """boat; boat name; boat no; boat nr; boat number; vessel; tender; boot; bootsname;
        boot nr; bootsnummer; bateau; nom du bateau; barca; barco; bote; embarcación; båt; båtnavn;
        båd; bådnavn""",
    "reading": """reading; readings; meter; meter reading; hour meter; hourmeter; hour meter
        reading; total hours; hours total; running total; end reading; reading after; hours on
        meter; engine hours total; zählerstand; zaehlerstand; stundenzähler; stundenzaehler;
        betriebsstundenzähler; betriebsstundenzaehler; bstd zähler; stand; stand neu; endstand;
        gesamtstunden; stunden gesamt; std gesamt; betriebsstunden gesamt; compteur; compteur
        horaire; horamètre; relevé; relevé compteur; heures compteur; contaore; lettura;
        totale ore; horómetro; lectura; horas totales; urenteller; urenstand; tellerstand; stand
        urenteller; timeteller; timeteller stand; timetæller; timmätare; mätarställning""",
    "hours": """hours run; hrs run; run hours; running hours; hours ran; hours today; hours that
        day; daily hours; hours used; run time; runtime; running time; time run; duration;
        laufzeit; stunden gelaufen; std gelaufen; gelaufene stunden; tagesstunden; stunden heute;
        fahrzeit; fahrstunden; dauer; durée; heures de marche; heures du jour; ore del giorno;
        durata; horas del día; duración; draaiuren; vaaruren; gangtid; kjøretid; køretid;
        körtid""",
    FIGURE: """hours; hour; hrs; h; std; stdn; stunde; stunden; betriebsstunden; betriebsstd;
        motorstunden; bstd; engine hours; engine hrs; motor hours; heures; heures moteur; ore; ore
        motore; horas; horas motor; uren; motoruren; timer; motortimer; timmar; motortimmar""",
    "minutes": "minutes; mins; min; minuten; minuti; minutos; minuter; minutter",
    "fuel": """fuel; fuel used; fuel burned; fuel burnt; litres; liters; litre; liter; petrol;
        gasoline; gas used; gallons; gal; kraftstoff; treibstoff; benzin; sprit; verbrauch;
        carburant; essence; litres d essence; carburante; benzina; litri; combustible; gasolina;
        litros; brandstof; benzine; drivstoff; bensin; liter bensin; brændstof; bränsle""",
    "out": "out; time out; went out; hire out; ab; abfahrt; uscita; salida; ut; ud; départ",
    "in": """in; back; time in; time back; came back; hire in; returned; zurück; zurueck;
        rückkehr; rueckkehr; ankunft; retour; rientro; regreso; vuelta; terug; inn; ind""",
    "task": """task; tasks; job; jobs; job done; jobs done; work; work done; work carried out;
        service; service done; maintenance; maintenance done; what was done; done; arbeit;
        arbeiten; ausgeführte arbeit; ausgefuehrte arbeit; wartung; wartungsarbeit; tätigkeit;
        taetigkeit; erledigt; travail; travaux; entretien; intervention; lavoro; manutenzione;
        trabajo; mantenimiento; werk; werkzaamheden; onderhoud; arbeid; utført arbeid;
        vedlikehold; arbejde; vedligehold; arbete; underhåll""",
    "part": "part; component; teil; bauteil; pièce; pezzo; pieza; onderdeel; del",
    "condition": """found; finding; findings; condition; what was found; state; befund; zustand;
        gefunden; état; constat; stato; condizione; estado; hallazgo; bevinding; toestand; staat;
        tilstand; funn; fund; skick""",
    "count": """count; pieces; how many; anzahl; stück; stueck; nombre; numero; cantidad; aantal;
        antall; antal""",
    "water": """water; waters; water type; gewässer; gewaesser; wasser; revier; eau; eaux;
        acqua; acque; agua; aguas; vaarwater; vann; farvann; vand; farvand; vatten""",
    "by": """by; who; done by; logged by; written by; entered by; initials; person; mechanic;
        skipper; von; durch; wer; kürzel; kuerzel; eingetragen von; erledigt von; mechaniker; par;
        qui; fait par; da; chi; fatto da; por; quién; door; wie; gedaan door; av; hvem; utført av;
        af; vem; utfört av""",
    "note": """note; notes; remark; remarks; comment; comments; memo; bemerkung; bemerkungen;
        notiz; notizen; anmerkung; anmerkungen; kommentar; remarque; remarques; commentaire; nota;
        annotazioni; osservazioni; observaciones; comentario; opmerking; opmerkingen; notitie;
        merknad; merknader; notat; bemærkning; bemærkninger; anmärkning; anteckning""",
}
_TOTALS = """total totals sum sums subtotal sub-total average avg mean grand-total summe summen
    ergebnis gesamtergebnis teilergebnis gesamt gesamtsumme zwischensumme übertrag uebertrag
    durchschnitt mittel mittelwert schnitt somme sous-total moyenne totale somma media subtotale
    promedio suma totaal subtotaal gemiddelde gjennomsnitt gennemsnit summa genomsnitt medel
    sum-total"""
TOTALS = frozenset(_TOTALS.split())
WATERS: Mapping[str, str] = {
    word: water
    for water, words in {
        "salt": """salt saltwater sea salz salzwasser meer sel salée mare salata mar salada zout
            zoutwater zee saltvann hav saltvand saltvatten""",
        "fresh": """fresh freshwater suess süss süsswasser suesswasser douce dolce
            dulce zoet zoetwater ferskvann ferskvand sötvatten""",
        "brackish": """brackish brack brackwasser saumâtre salmastra salobre brak brakwater
            brakkvann brakvand bräckt""",
    }.items()
    for word in words.split()
}


def _by_word() -> dict[str, str]:
    found: dict[str, str] = {}
    for meaning, words in _WORDS.items():
        for word in words.split(";"):
            found[" ".join(word.split())] = meaning
    return found


BY_WORD: Mapping[str, str] = _by_word()
