"""Thirty spreadsheets as societies have them, made with a fixed seed: what each column is meant for stands beside it.

The headings are those that people write, also such as the importer's list of words does not hold letter by letter.
"""

import csv
import io
import random
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from openpyxl import Workbook

HEADINGS: dict[str, dict[str, Sequence[str]]] = {
    "en": {
        "number": ("No.", "Accession Number", "Acc. No", "ACCESSION NO.", "Inventory no", "Object Number ", "Cat. no.", "Museum No", "Reg. No.", "#"),
        "former_number": ("Old number", "Previous No.", "Old No", "Former number(s)"),
        "name": ("Item", "Object name", "Object", "OBJECT NAME", "What is it?", "Article", "Simple name", "Item name"),
        "model": ("Pattern", "Model / pattern", "Model", "Pattern or model"),
        "description": ("Description", "Brief description", "Descripton", "Physical description", "Details"),
        "date_made": ("Date", "Date made", "When made", "Year", "Date of manufacture", "Dated", "Period made"),
        "dimensions": ("Size", "Height (mm)", "Dimensions (cm)", "Measurements", "Length in mm", "Weight, g", "Dims.", "Width (cm)"),
        "materials": ("Material", "Materials", "Made of", "Materail", "Material(s)"),
        "maker": ("Maker", "Manufacturer", "Made by", "Maker's name", "Firm"),
        "place_made": ("Place of origin", "Place made", "Where made"),
        "marks": ("Marks", "Markings", "Inscriptions", "Maker / marks", "Stamps"),
        "credit": ("Donor", "From whom", "Given by", "Source", "Acquired from", "When got", "Date acquired", "How acquired"),
        "holder": ("Worn by", "Wearer", "Used by", "Owner"),
        "remarks": ("Remarks", "Notes", "Comments", "Where kept", "Location", "Condition", "Cond.", "Value", "Photo file", "Shelf"),
    },
    "de": {
        "number": ("Inv.-Nr.", "Inventarnummer", "Inventar-Nr.", "Nr.", "Lfd. Nr.", "Objektnummer", "Inv. Nr."),
        "former_number": ("Alte Nummer", "Frühere Nr.", "alte Nr."),
        "name": ("Gegenstand", "Bezeichnung", "Objekt", "Objektbezeichnung", "Objektname"),
        "model": ("Modell", "Muster", "Modell/Muster", "Typ"),
        "description": ("Beschreibung", "Kurzbeschreibung", "Objektbeschreibung"),
        "date_made": ("Datierung", "Jahr", "Baujahr", "Herstellungsjahr", "Entstehungszeit"),
        "dimensions": ("Maße", "Größe", "Höhe (mm)", "Länge in cm", "Abmessungen", "Gewicht (g)", "Masse (H x B x T)"),
        "materials": ("Material", "Werkstoff", "Material / Technik", "Materialien"),
        "maker": ("Hersteller", "Firma", "Hersteller/Firma"),
        "place_made": ("Herstellungsort", "Entstehungsort", "Herkunftsort"),
        "marks": ("Stempel", "Beschriftung", "Zeichen", "Inschriften", "Marken"),
        "credit": ("Spender", "Herkunft", "Zugang", "Erworben von", "Provenienz", "Erwerbsdatum"),
        "holder": ("Träger", "Getragen von", "Besitzer"),
        "remarks": ("Bemerkungen", "Anmerkung", "Standort", "Lagerort", "Zustand", "Wert", "Foto", "Notizen"),
    },
    "fr": {
        "number": ("N° d’inventaire", "N° inv.", "Numéro", "Numero d'inventaire", "N°", "No d'inventaire"),
        "former_number": ("Ancien numéro", "Ancien n°", "Ancien No."),
        "name": ("Objet", "Désignation", "Designation", "Nom de l'objet", "Dénomination"),
        "model": ("Modèle", "Modele"),
        "description": ("Description", "Descriptif"),
        "date_made": ("Année", "Date", "Époque", "Date de fabrication", "Annee"),
        "dimensions": ("Dimensions", "Hauteur (mm)", "Mesures", "Poids (g)", "Longueur", "Taille"),
        "materials": ("Matière", "Matériaux", "Matière(s)", "Materiaux"),
        "maker": ("Fabricant", "Fabriqué par", "Constructeur"),
        "place_made": ("Lieu de fabrication", "Fabriqué à"),
        "marks": ("Marques", "Marquages", "Poinçons"),
        "credit": ("Donateur", "Don de", "Provenance", "Date d'acquisition", "Date d'entrée"),
        "holder": ("Porteur", "Porté par", "Utilisateur"),
        "remarks": ("Remarques", "Observations", "Emplacement", "État", "Valeur", "Commentaires"),
    },
}  # fmt: skip
TITLES = {"en": "OLD REGISTER OF THE SOCIETY, typed in 1998", "de": "Altes Verzeichnis, abgeschrieben 1998", "fr": "Ancien registre, copié en 1998"}
CELLS: dict[str, Sequence[Any]] = {
    "former_number": ("17", "A 4", "", "0042"), "name": ("Fire helmet", "Grubenhelm", "Casque de pompier", "Miner’s cap", "Tropenhelm, weiß"),
    "model": ("Pattern 1906", "M 31", ""), "description": ("black, dented at the left; visor missing", "schwarz, Riß vorn", "noir, bosselé", ""),
    "date_made": ("c. 1938", "1914-1918", "um 1900", "vers 1870", "1938", 1926, datetime(1941, 5, 17), ""),
    "dimensions": ("H 240 mm", "240", 11.5, "11 1/4 in", "24 x 33 cm", ""), "materials": ("steel, leather", "Stahl; Leder", "acier, cuir", "pith", ""),
    "maker": ("A. Miller & Sons", "Gebr. Krüger", "Établissements Lefèvre", ""), "place_made": ("Tallowick", "", "Köln"),
    "marks": ("W, II, 1939", "„FW 12“", "[…] SONS", ""), "credit": ("Mrs A. Miller, 1974", "Geschenk, 3.5.1981", "don, 1990", ""),
    "holder": ("the hose tower crew", "", "Werksfeuerwehr"), "remarks": ("see file; 2 photos", "box 7", "", "£400", "mottenfraß!", "attic?"),
}  # fmt: skip
#: numbers that spreadsheets and people spoil: they must come out sign by sign
NUMBERS = ("1974.12.{n}", "45.{n}0", "00{n}", "1974.1{n}", "2002.28.{n}", "L{n}", "1990.2.{n}a", "74/{n}", "VO.{n}")


@dataclass(frozen=True)
class Messy:
    """One spreadsheet: its file, what each column is, and the numbers as they must be read."""

    name: str
    data: bytes
    targets: list[str]
    numbers: list[str]
    heading: int


def sheets(seed: int = 1_974, count: int = 30) -> list[Messy]:
    """The thirty."""
    return [_sheet(random.Random(seed + n), n) for n in range(count)]


def _sheet(chance: random.Random, n: int) -> Messy:
    language = ("en", "en", "de", "fr")[n % 4]
    words = HEADINGS[language]
    others = chance.sample([one for one in words if one not in ("number", "name")], chance.randint(4, 9))
    if chance.random() < 0.4:
        others.append(chance.choice(["dimensions", "remarks", "credit"]))
    targets = chance.sample(["number", "name", *others], 2 + len(others))
    headings = _headings(chance, words, targets)
    numbers = [chance.choice(NUMBERS).format(n=row) for row in range(1, chance.randint(6, 25))]
    rows: list[list[Any]] = [[number if target == "number" else chance.choice(CELLS[target]) for target in targets] for number in numbers]
    head: list[list[Any]] = [[TITLES[language]], [], ["", "", "1998"]][: chance.choice((0, 0, 1, 2, 3))]
    tail = [[""] * (len(targets) + 3)] * chance.choice((0, 1, 4))
    blank = [""] * chance.choice((0, 0, 2))
    table = [*head, [*headings, *blank], *([*row, *blank] for row in rows), *tail]
    data = _workbook(chance, table, len(head)) if n % 3 == 2 else _text(chance, table)
    return Messy(f"register-{n}.{'xlsx' if n % 3 == 2 else 'csv'}", data, targets, numbers, len(head) + 1)


def _headings(chance: random.Random, words: dict[str, Sequence[str]], targets: Sequence[str]) -> list[str]:
    used: list[str] = []
    for target in targets:
        used.append(chance.choice([word for word in words[target] if word not in used]))
    return used


def _text(chance: random.Random, table: Sequence[Sequence[Any]]) -> bytes:
    out = io.StringIO(newline="")
    writer = csv.writer(out, delimiter=chance.choice(",;;\t"), lineterminator=chance.choice(("\r\n", "\n")))
    writer.writerows([cell.strftime("%d.%m.%Y") if isinstance(cell, datetime) else cell for cell in row] for row in table)
    encoding = chance.choice(("utf-8", "utf-8-sig", "cp1252", "utf-16"))
    return out.getvalue().encode(encoding, errors="replace")


def _workbook(chance: random.Random, table: Sequence[Sequence[Any]], above: int) -> bytes:
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    for row in table:
        sheet.append([cell if cell != "" else None for cell in row] or [None])
    if above:
        sheet.merge_cells(start_row=1, start_column=1, end_row=1, end_column=4)
    if chance.random() < 0.5:
        book.create_sheet("Notes").append(["nothing here"])
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()
