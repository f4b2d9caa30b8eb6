"""Files of readings as instruments write them, drawn at random from words of our own, and what is true.

The words here are not the product's: some of them its table does not know.
"""

import random
from dataclasses import dataclass, field

RISING = {"plus": "rising"}  # what is said where a file does not say which way is up
METRES = {"m": 1.0, "cm": 0.01, "mm": 0.001, "ft": 0.3048, "in": 0.0254, "km": 1000.0}
DISTANCE = {
    "en": [
        "Distance",
        "Dist",
        "Chainage",
        "Cable distance",
        "Payout",
        "Crawler travel",
        "Odometer",
        "Meterage",
    ],
    "de": ["Weg", "Entfernung", "Stationierung", "Fahrstrecke", "Kanalmeter", "Messweg", "Vortrieb"],
    "fr": ["Distance", "Abscisse", "Éloignement", "Distance parcourue", "Métrage"],
    "nl": ["Afstand", "Metrering", "Afgelegde weg"],
    "es": ["Distancia", "Recorrido", "Progresiva", "Avance"],
    "it": ["Distanza", "Progressiva", "Percorso", "Avanzamento"],
    "pl": ["Odległość", "Dystans", "Droga", "Kilometraż"],
    "cs": ["Vzdálenost", "Staničení", "Dráha", "Ujetá vzdálenost"],
    "sv": ["Avstånd", "Sträcka", "Körd längd"],
    "da": ["Afstand", "Stationering", "Kørt længde"],
    "no": ["Avstand", "Strekning", "Kjørt lengde"],
    "fi": ["Etäisyys", "Matka", "Kuljettu matka"],
    "pt": ["Distância", "Percurso", "Avanço"],
}
SLOPE = {
    "en": ["Inclination", "Slope", "Gradient", "Pitch", "Incl", "Pitch angle", "Pipe slope", "Steepness"],
    "de": ["Neigung", "Gefälle", "Längsneigung", "Neigungswinkel", "Rohrneigung", "Schräglage"],
    "fr": ["Pente", "Inclinaison", "Déclivité", "Tangage"],
    "nl": ["Helling", "Verhang", "Hellingshoek", "Langshelling"],
    "es": ["Pendiente", "Inclinación", "Cabeceo"],
    "it": ["Pendenza", "Inclinazione", "Beccheggio"],
    "pl": ["Spadek", "Nachylenie", "Pochylenie"],
    "cs": ["Sklon", "Spád", "Podélný sklon"],
    "sv": ["Lutning", "Rörlutning"],
    "da": ["Hældning", "Fald"],
    "no": ["Helning", "Fall", "Stigning"],
    "fi": ["Kaltevuus", "Viettokaltevuus"],
    "pt": ["Declive", "Inclinação", "Declividade"],
}
COUNTING = {
    "en": ["No.", "Station", "Reading", "Point", "Pos", "Counter", "ID", "Index", "Sta", "Record"],
    "de": ["Nr.", "Station", "Lfd. Nr.", "Messpunkt", "Pos.", "Satznummer", "Position"],
    "fr": ["N°", "Point", "Station", "Mesure"],
    "nl": ["Nr", "Volgnummer", "Punt", "Positie"],
    "es": ["Nº", "Punto", "Estación", "Lectura"],
    "it": ["N.", "Punto", "Stazione", "Lettura"],
    "pl": ["Lp.", "Punkt", "Stacja", "Pomiar"],
    "cs": ["Č.", "Bod", "Stanice", "Pořadí"],
    "sv": ["Nr", "Punkt", "Sektion", "Position"],
    "da": ["Nr.", "Punkt", "Station"],
    "no": ["Nr", "Punkt", "Stasjon"],
    "fi": ["Nro", "Piste", "Paalu"],
    "pt": ["N.º", "Ponto", "Estaca", "Leitura"],
}
ROLL = {
    "en": [
        "Roll",
        "Roll angle",
        "Cross slope",
        "Side tilt",
        "Lateral inclination",
        "Yaw",
        "Heading",
        "Camera tilt",
    ],
    "de": ["Rollwinkel", "Querneigung", "Kurs", "Verdrehung", "Seitenneigung", "Kameraneigung"],
    "fr": ["Roulis", "Pente transversale", "Cap", "Dévers"],
    "nl": ["Rol", "Dwarshelling", "Koers"],
    "es": ["Alabeo", "Inclinación lateral", "Pendiente transversal", "Rumbo"],
    "it": ["Rollio", "Pendenza trasversale", "Rotta"],
    "pl": ["Przechył", "Spadek poprzeczny", "Azymut"],
    "cs": ["Příčný sklon", "Náklon", "Azimut"],
    "sv": ["Krängning", "Tvärfall", "Tvärlutning"],
    "da": ["Krængning", "Tværfald", "Tværhældning"],
    "no": ["Krengning", "Tverrfall", "Kurs"],
    "fi": ["Kallistuma", "Sivukaltevuus", "Suunta"],
    "pt": ["Rolamento", "Inclinação transversal", "Rumo"],
}
LEVEL = {
    "en": ["Level", "Invert level", "Height", "Elevation"],
    "de": ["Sohlhöhe", "Höhe", "Kote"],
    "fr": ["Niveau", "Cote radier", "Altitude"],
    "nl": ["Hoogte", "Peil"],
    "es": ["Cota", "Nivel"],
    "it": ["Quota", "Livello"],
    "pl": ["Rzędna", "Wysokość"],
    "cs": ["Výška", "Kóta"],
    "sv": ["Höjd", "Nivå"],
    "da": ["Kote", "Højde"],
    "no": ["Høyde", "Kote"],
    "fi": ["Korkeus", "Taso"],
    "pt": ["Cota", "Nível"],
}
TIME = ["Time", "Zeit", "Temps", "Tijd", "Tiempo", "Tempo", "Czas", "Čas", "Tid", "Aika", "Elapsed", "t"]
BATTERY = ["Battery", "Akku", "Batterie", "Accu", "Batería", "Bateria", "Baterie", "Batteri", "Akun varaus"]
WARMTH = ["Temp", "Temperatur", "Température", "Temperatuur", "Teplota", "Lämpötila", "Temperatura"]
NOTE = ["Note", "Bemerkung", "Remarque", "Opmerking", "Uwagi", "Poznámka", "Huomautus", "Observação", "Foo"]
SLOPE_MARKS = {
    "deg": [" [°]", " (deg)", " °", "_deg", " in Grad", " (°)", " [deg]"],
    "pct": [" [%]", " %", "_pct", " (%)", " in %"],
    "permille": [" [‰]", " ‰", " in ‰", " mm/m", " [mm/m]"],
    "one_in": [" 1:n", " [1:n]", " 1 in N", " (1/n)"],
}


@dataclass
class Column:
    """One column: its name and its cells; the unit as a row below the names would have it."""

    name: str
    cells: list[str]
    unit: str = ""


@dataclass
class Made:
    """A file and what is true of it: which columns, and what each line means."""

    text: str
    separator: str
    decimal: str
    counter_column: int
    inclination_column: int
    metres: list[float]
    sizes: list[float]
    unit: str
    columns: list[Column] = field(default_factory=list)


def draw(seed: int) -> Made:
    """Return a file, the same for the same number."""
    dice = random.Random(seed)
    language = dice.choice(list(DISTANCE))
    rows = dice.choice([3, 5, 12, 30, 60])
    separator, decimal = dice.choice(
        [(";", ","), (";", "."), ("\t", ","), ("\t", "."), (",", "."), (",", ",")]
    )
    metres = _way(dice, rows)
    unit = dice.choice(["m", "m", "m", "m", "cm", "mm", "ft"])
    places = {"m": dice.choice([2, 2, 3, 1]), "ft": 1, "cm": 0, "mm": 0}[unit]
    shown = [f"{m / METRES[unit]:.{places}f}" for m in metres]
    names_unit = unit == "ft" or dice.random() < 0.7
    marks = [f" [{unit}]", f" ({unit})", f" {unit}" if unit != "in" else " (in)", f"_{unit}", f" / {unit}"]
    way = Column(dice.choice(DISTANCE[language]), shown, unit)
    kind = dice.choice(list(SLOPE_MARKS))
    sizes = _slopes(dice, rows, kind)
    fall = Column(
        dice.choice(SLOPE[language]), [_slope_text(s, kind) for s in sizes], SLOPE_MARKS[kind][0].strip(" []")
    )
    under = dice.random() < 0.15 and kind != "deg"
    if not under:
        way.name += dice.choice(marks) if names_unit else ""
        fall.name += dice.choice(SLOPE_MARKS[kind]) if dice.random() < 0.7 else ""
    columns = [way, fall, *_decoys(dice, language, metres, rows)]
    dice.shuffle(columns)
    text = _write(dice, columns, separator, decimal, under)
    true_m = [round(float(s) * METRES[unit], 9) for s in shown]
    true_size = [abs(float(c.replace("+", ""))) for c in fall.cells]
    return Made(
        text, separator, decimal, columns.index(way), columns.index(fall), true_m, true_size, kind, columns
    )


def _way(dice, rows):
    """Where the crawler was: ahead, back, there and back, by whole metres, with stops."""
    step = dice.choice([0.5, 1.0, 1.37, 2.5, 0.213])
    start = dice.choice([0.0, 0.0, 0.4, 12.0])
    ahead = [start + step * k for k in range(rows)]
    if dice.random() < 0.4:
        ahead = [m + dice.uniform(0, step / 2) for m in ahead]
    how = dice.random()
    if how < 0.12:
        return ahead[::-1]
    if how < 0.2:
        return (ahead[: rows - rows // 2] + ahead[: rows - rows // 2][::-1])[:rows]
    return ahead


def _slopes(dice, rows, kind):
    if kind == "one_in":
        return [dice.choice([1, -1]) * dice.choice([40, 60, 80, 120, 200]) for _ in range(rows)]
    size = {"deg": 3.0, "pct": 5.0, "permille": 40.0}[kind]
    return [round(dice.uniform(-size / 3, size), 2) for _ in range(rows)]


def _slope_text(size, kind):
    return f"{size}" if kind == "one_in" else f"{size:.2f}"


def _decoys(dice, language, metres, rows):
    """Columns that are neither: one that counts, times, roll, levels, warmth, batteries, another length."""
    first = dice.choice([0, 1, 1, 101])
    clock = dice.choice([0.5, 1.0, 2.0])
    lag = [m * 1.004 + 0.3 for m in metres]
    mark = dice.choice([" [m]", " (m)", ""])
    every = [
        Column(dice.choice(COUNTING[language]), [str(first + k) for k in range(rows)]),
        Column(dice.choice(COUNTING[language]), [str(10 * (first + k)) for k in range(rows)]),
        Column(
            dice.choice(TIME) + dice.choice([" [s]", "", " (s)"]),
            [f"{clock * k:.1f}" for k in range(rows)],
            "s",
        ),
        Column(dice.choice(TIME), [f"10:{k // 60:02d}:{k % 60:02d}" for k in range(rows)]),
        Column(
            dice.choice(ROLL[language]) + dice.choice([" [°]", " (deg)", "", " [%]"]),
            [f"{dice.uniform(-4, 4):.2f}" for _ in range(rows)],
            "°",
        ),
        Column(
            dice.choice(LEVEL[language]) + dice.choice([" [m]", "", " (m NN)"]),
            [f"{101.2 - 0.01 * k:.3f}" for k in range(rows)],
            "m",
        ),
        Column(
            dice.choice(BATTERY) + dice.choice([" [%]", " (V)", ""]),
            [f"{99 - k % 40}" for k in range(rows)],
            "%",
        ),
        Column(
            dice.choice(WARMTH) + dice.choice([" (°C)", " [°C]", ""]),
            [f"{11 + k % 3}.{k % 10}" for k in range(rows)],
            "°C",
        ),
        Column(dice.choice(["DN", "Diameter", "Durchmesser [mm]", "Ø", "Średnica"]), ["300"] * rows, "mm"),
        Column(
            dice.choice(["Speed (m/s)", "Geschwindigkeit [m/min]", "Vitesse"]),
            [f"{dice.uniform(0, 0.3):.2f}" for _ in range(rows)],
        ),
        Column(dice.choice(NOTE), [dice.choice(["", "joint", "wet"]) for _ in range(rows)]),
        Column("", [""] * rows),
        Column(
            dice.choice(["Cable counter", "Kabelzähler", "Compteur", "Position"]) + mark,
            [f"{m:.2f}" for m in lag],
            "m",
        ),
    ]
    return [replaced for replaced in dice.sample(every, dice.randint(0, 6))]


def _write(dice, columns, separator, decimal, under):
    quote = decimal == "," and separator == ","
    lines = []
    if dice.random() < 0.3:
        lines += dice.choice(
            [["# crawler log"], ["Instrument: 7", "", "Total distance: 41"], ["File" + separator + "a1"]]
        )
    lines.append(separator.join(c.name for c in columns))
    if under:
        lines.append(separator.join(c.unit for c in columns))
    for k in range(len(columns[0].cells)):
        cells = [c.cells[k].replace(".", decimal) if _is_number(c.cells[k]) else c.cells[k] for c in columns]
        lines.append(separator.join(f'"{cell}"' if quote and "," in cell else cell for cell in cells))
    if dice.random() < 0.2:
        lines.append(dice.choice(["End of file", "# end", "Total" + separator + "41"]))
    return dice.choice(["\n", "\r\n"]).join([*lines, ""])


def _is_number(cell):
    return cell.replace(".", "", 1).lstrip("-").isdigit()
