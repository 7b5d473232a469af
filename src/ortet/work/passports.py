"""Passport data of mother plants: what the book knows of each and what was noted besides, out and in by an open standard."""

from collections.abc import Mapping

from ortet.ledger.booking import Refused, turn
from ortet.ledger.models import MotherPlant, PassportData
from ortet.science.species import known_species, species
from ortet.tables.mcpd import BY_NAME, Passport, broken, odd, write_passports
from ortet.wood.names import parse
from ortet.wood.naming import fold
from ortet.wood.speech import say

from . import find
from .names import name_of, parts_of
from .plants import QUOTES, add_mother

__all__ = [
    "OF_THE_BOOK",
    "collection",
    "describe_passport",
    "passport",
    "passport_table",
    "passport_told",
    "take_in",
]

FIELD_COLLECTION = "20"  # STORAGE: the plants stand in the ground
OF_THE_BOOK = ("ACCENUMB", "GENUS", "SPECIES", "SPAUTHOR", "SUBTAXA", "CROPNAME", "ACCENAME", "DONORNAME", "STORAGE")  # fmt: skip
# Authorities in the standard's short forms. [memory]
AUTHORS = {
    "Actinidia deliciosa": "(A.Chev.) C.F.Liang & A.R.Ferguson",
    "Corylus avellana": "L.",
    "Cydonia oblonga": "Mill.",
    "Ficus carica": "L.",
    "Malus domestica": "Borkh.",
    "Olea europaea": "L.",
    "Prunus avium": "(L.) L.",
    "Prunus domestica": "L.",
    "Prunus persica": "(L.) Batsch",
    "Punica granatum": "L.",
    "Pyrus communis": "L.",
    "Ribes nigrum": "L.",
    "Ribes rubrum": "L.",
    "Ribes uva-crispa": "L.",
    "Sambucus nigra": "L.",
    "Vitis vinifera": "L.",
}


def _one(text: str) -> str:
    """Return a text as one value: a semicolon would part it."""
    return " ".join(text.replace(";", ",").split())


def _of_the_book(plant: MotherPlant) -> dict[str, str]:
    """Return the fields that follow from what the book holds of a plant."""
    kind = species(plant.variety.species)
    name, latin = parts_of(plant.variety), parse(f"{kind.latin} 'x'")
    if name.genus != latin.genus:  # it came under a common name
        genus, epithet, below, crossed = latin.genus, latin.species, "", latin.is_hybrid_species
    else:
        genus, epithet, below, crossed = name.genus, name.species, name.below, name.is_hybrid_species
    own = plant.source.casefold().startswith("own ")  # raised here: no donor
    remarks = [
        f"ACCENAME:selling name {_one(name.trade)}" if name.trade else "",
        f"DONORNAME:{_one(plant.source)}" if own else "",
    ]
    return {
        "ACCENUMB": plant.accession,
        "GENUS": f"×{genus}" if name.is_hybrid_genus else genus,
        "SPECIES": f"×{epithet}" if crossed else epithet or "sp.",
        "SPAUTHOR": AUTHORS.get(f"{genus} {epithet}", ""),
        "SUBTAXA": below or (f"{name.group} Group" if name.group else ""),
        "CROPNAME": kind.name,
        "ACCENAME": _one(plant.variety.name),
        "DONORNAME": "" if own else _one(plant.source),
        "STORAGE": FIELD_COLLECTION,
        "REMARKS": ";".join(filter(None, remarks)),
    }


def _noted(plant: MotherPlant) -> dict[str, str]:
    data = PassportData.objects.filter(mother=plant).first()
    return dict(data.said) if data else {}


def _both(own: Mapping[str, str], noted: Mapping[str, str]) -> dict[str, str]:
    """Return what the book writes under what was noted; authority and rank go with the species they were written for."""
    said = {**own, **noted}
    if any(said[field] != own[field] for field in ("GENUS", "SPECIES")):
        said |= {field: noted.get(field, "") for field in ("SPAUTHOR", "SUBTAXA")}
    return said


def passport(accession: str) -> dict[str, str]:
    """Return a mother plant's passport data in the standard's order, empty fields left out.

    Raises
    ------
    Unknown
        If there is no such plant.
    """
    plant = find.mother(accession)
    said = _both(_of_the_book(plant), _noted(plant))
    order = [*BY_NAME, *sorted(said.keys() - BY_NAME.keys())]
    return {name: said[name] for name in order if said.get(name)}


def passport_told(accession: str) -> list[tuple[str, str, str]]:
    """Return a plant's passport data as names, texts and what each field holds."""
    said = passport(accession).items()
    kept = say("Kept word for word: no field of the standard.")
    return [(name, text, say(BY_NAME[name].about) if name in BY_NAME else kept) for name, text in said]


def collection() -> list[dict[str, str]]:
    """Return the passport data of every mother plant, by accession; what was noted goes before what the book would write."""
    noted = dict(PassportData.objects.values_list("mother_id", "said"))
    plants = MotherPlant.objects.select_related("variety").order_by("accession")
    return [_both(_of_the_book(plant), noted.get(plant.pk, {})) for plant in plants]


def passport_table() -> str:
    """Return the collection as a file by the Multi-Crop Passport Descriptors v2.1."""
    return write_passports(collection())


def describe_passport(accession: str, said: Mapping[str, str]) -> list[str]:
    """Note passport data of a mother plant; an empty text takes out what was noted. Return what is worth a look.

    Raises
    ------
    Unknown
        If there is no such plant.
    Refused
        If a name is no field, or a text breaks the standard.
    """
    said = {name.strip().upper(): " ".join(text.split()) for name, text in said.items()}
    if unknown := [name for name in said if name not in BY_NAME]:
        raise Refused(
            say(
                "{unknown!r} is no field of the passport descriptors. Nothing was booked.", unknown=unknown[0]
            )
        )
    if "ACCENUMB" in said:
        raise Refused(say("ACCENUMB is the plant's own number in the book and stays. Nothing was booked."))
    if wrong := broken(said):
        raise Refused(say("{field}: {why} Nothing was booked.", field=wrong[0][0], why=wrong[0][1]))
    with turn():
        plant = find.mother(accession)
        own, noted = _of_the_book(plant), _noted(plant)
        for name, text in said.items():
            noted.pop(name, None)
            if text and text != own.get(name, ""):
                noted[name] = text
        try:
            told = _another(plant, own, _both(own, noted))
        except Refused as error:  # of no kind, or of several
            told = str(error)
        if told:
            raise Refused(say("{told} Nothing was booked.", told=told))
        _keep(plant, noted)
        return odd(_both(own, noted))


def _keep(plant: MotherPlant, noted: dict[str, str]) -> None:
    if noted or PassportData.objects.filter(mother=plant).exists():
        PassportData.objects.update_or_create(mother=plant, defaults={"said": noted})


def _another(plant: MotherPlant, own: Mapping[str, str], said: Mapping[str, str]) -> str:
    """Return what speaks of another variety or kind than the plant's in the book; empty where nothing does."""
    kind, written = plant.variety.species, said.get("ACCENAME", "")
    name = written.split(";")[0].strip(QUOTES + " ")
    if not name:
        return ""
    same_name = written == own["ACCENAME"] or fold(name_of(name, kind)[0]) == plant.variety.name_key
    if same_name and (
        all(said.get(field) == own[field] for field in ("GENUS", "SPECIES")) or _kind(said) == kind
    ):
        return ""
    return say(
        "accession {accession} is in the book as {variety}, {species}.",
        accession=plant.accession,
        variety=plant.variety,
        species=kind,
    )


def _kind(said: Mapping[str, str]) -> str:
    """Return which kind of wood a row speaks of."""
    genus = said["GENUS"].lstrip("×x ").strip()
    epithet = said.get("SPECIES", "").lstrip("× ").removeprefix("x ").strip()
    of = {
        key: species(key).latin.split() for key in known_species() if species(key).latin.split()[0] == genus
    }
    exact = [key for key, latin in of.items() if latin[1:] == [epithet]]
    whole_genus = [key for key, latin in of.items() if len(latin) == 1]
    crop = [key for key in of if fold(said.get("CROPNAME", "")) in (fold(key), fold(species(key).name))]
    found = exact or whole_genus or crop or list(of)
    if len(found) == 1:
        return found[0]
    if not found:
        genera = sorted({species(key).latin.split()[0] for key in known_species()})
        raise Refused(
            say(
                "genus {genus} is not known to Ortet. Known are: {genera}.",
                genus=genus,
                genera=", ".join(genera),
            )
        )
    names = ", ".join(sorted(species(key).latin for key in found))
    raise Refused(
        say(
            "{genus} {epithet} could be several kinds of wood: write one of {names}.",
            genus=genus,
            epithet=epithet or "sp.",
            names=names,
        )
    )


def take_in(row: Passport) -> tuple[MotherPlant, bool, bool]:
    """Book one row: a new mother plant, or passport data of a known one. Return the plant, is it new, is anything noted anew.

    What the row says otherwise than the book would write is kept word for word, so that it goes out as it came.

    Raises
    ------
    Refused
        If the kind of wood is not known, no name is given, or the book knows the plant as another variety.
    """
    said = dict(row.said)
    for field, most in (("ACCENUMB", 40), ("ACCENAME", 1000)):
        if len(said.get(field, "")) > most:
            raise Refused(
                say(
                    "{field} has {length} characters, {most} at most.",
                    field=field,
                    length=len(said[field]),
                    most=most,
                )
            )
    plant = MotherPlant.objects.filter(accession_key=fold(said["ACCENUMB"])).select_related("variety").first()
    name = said.get("ACCENAME", "").split(";")[0].strip(QUOTES + " ")
    is_new = plant is None
    if len(name) > 120:
        raise Refused(
            say("the first name in ACCENAME has {length} characters, 120 at most.", length=len(name))
        )
    if plant is None:
        if not name:
            raise Refused(say("ACCENAME is empty, and a mother plant is of a variety. Write its name."))
        kind = _kind(said)
        plant = add_mother(said["ACCENUMB"], name, kind, source=said.get("DONORNAME", "")[:200])
    own = _of_the_book(plant)
    if not is_new and (told := _another(plant, own, said)):
        raise Refused(told)
    before = _noted(plant)
    noted = {key: text for key, text in before.items() if key not in said}
    noted |= {key: text for key, text in said.items() if text != own.get(key, "")}
    if noted != before:
        _keep(plant, noted)
    return plant, is_new, noted != before
